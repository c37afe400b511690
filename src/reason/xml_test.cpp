#include "reason/xml.h"

#include <gtest/gtest.h>

namespace lathbook::reason {
namespace {

TEST(Xml, MarkupIsSpelledOutAndControlsAreSpaces) {
  EXPECT_EQ(xml_text("a <b> & \"c\" 'd'"), "a &lt;b&gt; &amp; &quot;c&quot; 'd'");
  EXPECT_EQ(xml_text("two\tcells\r\nand\x01more\x7F"), "two cells  and more ");
  EXPECT_EQ(xml_text("&amp;"), "&amp;amp;");  // never taken for markup that is already there
  EXPECT_EQ(xml_text("Küche – 3 m²"), "Küche – 3 m²");
  EXPECT_EQ(xml_text(std::string_view("\0x", 2)), " x");
  EXPECT_EQ(xml_text(""), "");
}

}  // namespace
}  // namespace lathbook::reason
