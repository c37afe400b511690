#include "book/words.h"

#include <gtest/gtest.h>

namespace lathbook::book {
namespace {

TEST(Words, EveryWordLeadsBackToItsValue) {
  for (const auto& [value, text] : words<Alike>()) EXPECT_EQ(from_word<Alike>(text), value);
  for (const auto& [value, text] : words<Fibre>()) EXPECT_EQ(word(value), text);
  EXPECT_EQ(from_word<Damage>("slight"), std::nullopt);
}

TEST(Face, TextAndBack) {
  for (const char* text : {"floor", "ceiling", "inside", "wall-1", "wall-12", "roof-3"}) {
    const auto face = Face::parse(text);
    ASSERT_TRUE(face) << text;
    EXPECT_EQ(face->text(), text);
  }
}

TEST(Face, RefusesWhatIsNotAFace) {
  for (const char* text :
       {"", "wall", "wall-0", "wall-01", "wall-", "wall-x", "floor-1", "roof", "Ceiling", "wall-99999999999"}) {
    EXPECT_FALSE(Face::parse(text)) << text;
  }
}

}  // namespace
}  // namespace lathbook::book
