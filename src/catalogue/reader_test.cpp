#include "catalogue/reader.h"

#include <gmock/gmock.h>
#include <gtest/gtest.h>

namespace lathbook::catalogue {
namespace {

using ::testing::ElementsAre;

/// What `use` notes of a document called "file".
template <class Use>
std::vector<std::string> noted(std::string_view text, Use use) {
  const auto document = schema::Document::read(text);
  reason::Faults faults;
  use(Reader(document.value(), "file", faults));
  std::vector<std::string> lines;
  for (const auto& fault : faults) lines.push_back(fault.text());
  return lines;
}

TEST(Reader, ReadsEveryTypeAndNotesNothing) {
  const auto lines = noted(
      R"({"b": true, "t": "x", "n": 1.5, "w": 3, "e": 3.0, "l": ["p", "q"], "f": [0.5, 2],
    "m": [[1, 2], [3, 4]], "s": "seen", "source": "law", "sure": "memory", "faces": ["wall", "floor"], "o": {"n": 2},
    "rows": [{"n": 1}, {"n": 2}]})",
      [](const Reader& in) {
        EXPECT_TRUE(in.flag("b"));
        EXPECT_EQ(in.text("t"), "x");
        EXPECT_EQ(in.text_or_empty("absent"), "");
        EXPECT_EQ(in.number("n"), 1.5);
        EXPECT_EQ(in.number("w"), 3);
        EXPECT_EQ(in.maybe_number("absent"), std::nullopt);
        EXPECT_EQ(in.whole("w"), 3);
        EXPECT_EQ(in.whole("e"), 3);
        EXPECT_EQ(in.maybe_whole("w"), 3);
        EXPECT_THAT(in.texts("l"), ElementsAre("p", "q"));
        EXPECT_THAT(in.numbers("f"), ElementsAre(0.5, 2));
        EXPECT_THAT(in.table("m", 2), ElementsAre(ElementsAre(1, 2), ElementsAre(3, 4)));
        EXPECT_EQ(in.word_of<Sure>("s"), Sure::kSeen);
        EXPECT_EQ(in.backing().source, "law");
        EXPECT_EQ(in.backing().sure, Sure::kMemory);
        EXPECT_THAT(in.book_words<book::FaceKind>("faces"), ElementsAre(book::FaceKind::kWall, book::FaceKind::kFloor));
        EXPECT_EQ(in.inner("o").number("n"), 2);
        EXPECT_THAT(in.inner("o").names(), ElementsAre("n"));
        EXPECT_THAT(in.each("rows", [](const Reader& row) { return row.whole("n"); }), ElementsAre(1, 2));
      });
  EXPECT_THAT(lines, ElementsAre());
}

TEST(FaultReader, NamesThePlaceTheValueAndWhatIsAllowed) {
  const auto lines = noted(R"({"t": 1, "n": "1", "w": 1.5, "b": 0, "l": ["a", 2], "f": [1, "2"], "none": [],
    "m": [[1, 2], [3]], "s": "rumour", "o": {"n": {"deep": []}}, "rows": [{"n": 1}, {"k": 2}, 3]})",
                           [](const Reader& in) {
                             EXPECT_EQ(in.text("t"), "");
                             EXPECT_EQ(in.number("n"), 0);
                             EXPECT_EQ(in.whole("w"), 0);
                             EXPECT_FALSE(in.flag("b"));
                             EXPECT_THAT(in.texts("l"), ElementsAre("a"));
                             EXPECT_THAT(in.numbers("f"), ElementsAre(1));
                             EXPECT_TRUE(in.numbers("none").empty());
                             EXPECT_TRUE(in.table("m", 2).empty());
                             EXPECT_EQ(in.word_of<Sure>("s"), Sure::kSeen);
                             const auto inner = in.inner("o");
                             EXPECT_EQ(inner.number("n"), 0);
                             EXPECT_EQ(inner.inner("n").text("deep"), "");
                             EXPECT_TRUE(in.texts("t").empty());
                             EXPECT_EQ(in.each("rows", [](const Reader& row) { return row.whole("n"); }).size(), 3U);
                           });
  EXPECT_THAT(lines,
              ElementsAre("file/t: 1 is not text; allowed: text", "file/n: \"1\" is not a number; allowed: a number",
                          "file/w: 1.5 is not a whole number; allowed: a whole number",
                          "file/b: 0 is not true or false; allowed: true or false",
                          "file/l: [\"a\",2] holds something that is not text; allowed: a list of texts",
                          "file/f: [1,\"2\"] is not a list of numbers; allowed: at least one number",
                          "file/none: [] is not a list of numbers; allowed: at least one number",
                          "file/m: [[1,2],[3]] holds a row that is not so many numbers; allowed: 2 numbers to a row",
                          "file/s: \"rumour\" is not one of the words known here",
                          "file/o/n: {\"deep\":[]} is not a number; allowed: a number",
                          "file/o/n/deep: [] is not text; allowed: text", "file/t: 1 is not a list; allowed: a list",
                          "file/rows/1/n: is missing", "file/rows/2: 3 is not an object; allowed: an object"));
}

TEST(FaultReader, ReadsOnWhereAnObjectIsMissingOrIsNone) {
  const auto lines = noted(R"({"list": []})", [](const Reader& in) {
    const auto absent = in.inner("absent");
    EXPECT_FALSE(absent.has("n"));
    EXPECT_EQ(absent.whole("n"), 0);
    const auto list = in.inner("list");
    EXPECT_EQ(list.whole("n"), 0);
    EXPECT_TRUE(list.names().empty());
  });
  EXPECT_THAT(lines, ElementsAre("file/absent: is missing", "file/absent/n: is missing",
                                 "file/list: [] is not an object; allowed: an object"));
}

TEST(FaultReader, NamesAFieldThatIsNotKnown) {
  const auto lines = noted(R"({"one": 1, "tow": 2})", [](const Reader& in) { in.refuse_fields_but({"one", "two"}); });
  EXPECT_THAT(lines, ElementsAre("file/tow: 2 is a field that is not known here"));
}

}  // namespace
}  // namespace lathbook::catalogue
