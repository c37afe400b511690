#include "papers/sheet.h"

#include <gtest/gtest.h>

#include <charconv>

namespace lathbook::papers {
namespace {

Sheet empty_sheet(Size size = Size::kA4) {
  return Sheet({size, "Test", "House", *reason::Date::parse("2026-11-25"), 3, "Cautions.", 9.2});
}

std::string words(int count) {
  std::string text;
  for (int i = 0; i < count; ++i) text += "word" + std::to_string(i) + " ";
  return text;
}

TEST(Sheet, SameSheetSameBytes) {
  const auto make = [] {
    auto sheet = empty_sheet();
    sheet.title("Title").heading("Heading").paragraph(words(300)).table({{"A", 1}, {"B", 2}}, {{"1", words(30)}});
    return sheet.pdf();
  };
  const auto first = make();
  const auto second = make();
  ASSERT_TRUE(first.ok() && second.ok());
  EXPECT_EQ(*first, *second);
}

TEST(Sheet, ARowLongerThanAPageGoesOnOverleaf) {
  auto sheet = empty_sheet();
  sheet.table({{"A", 1}, {"B", 1}}, {{"1", words(3000)}});
  EXPECT_GT(sheet.pages(), 3);
  EXPECT_TRUE(sheet.pdf().ok());
}

TEST(Sheet, ARowThatFitsIsNotSplit) {
  // Rows of six tenths of a page: split they would fill three pages, whole they take one each.
  int full = 0;
  for (int pages = 1; pages == 1; full += 20) {
    auto sheet = empty_sheet();
    sheet.table({{"A", 1}}, {{words(full + 20)}});
    pages = sheet.pages();
  }
  auto sheet = empty_sheet();
  const Cells row{words(full * 6 / 10)};
  sheet.table({{"A", 1}}, {row, row, row, row});
  EXPECT_EQ(sheet.pages(), 4);
}

TEST(PropertySheet, MoreWordsNeverTakeFewerPages) {
  int last = 0;
  for (int count = 50; count <= 4000; count += 350) {
    auto sheet = empty_sheet();
    sheet.paragraph(words(count));
    EXPECT_GE(sheet.pages(), last);
    last = sheet.pages();
  }
  EXPECT_GE(last, 4);
}

TEST(Sheet, BarePagesTakeNoFoot) {
  auto sheet = empty_sheet();
  sheet.bare_page([](Canvas& canvas) { EXPECT_DOUBLE_EQ(canvas.width_mm(), 210); });
  sheet.bare_page([](Canvas&) {});
  EXPECT_EQ(sheet.pages(), 2);
  EXPECT_TRUE(sheet.pdf().ok());
}

TEST(WithLanguage, TheLastTableOfObjectsPointsAtTheNewCatalogue) {
  auto sheet = empty_sheet();
  sheet.title("Title");
  const auto pdf = sheet.pdf();
  ASSERT_TRUE(pdf.ok());
  const auto start = pdf->rfind("startxref\n") + 10;
  std::size_t xref = 0;
  std::from_chars(pdf->data() + start, pdf->data() + pdf->size(), xref);
  ASSERT_EQ(pdf->substr(xref, 5), "xref\n");
  // "xref\n<number> 1\n<ten digits> 00000 n"
  const auto entry = pdf->find('\n', xref + 5) + 1;
  std::size_t object = 0;
  const auto digits = pdf->substr(entry, 10);
  std::from_chars(digits.data(), digits.data() + 10, object);
  EXPECT_NE(pdf->find("/Lang (en-GB)", object), std::string::npos);
  EXPECT_NE(pdf->find("/MarkInfo << /Marked true >>", object), std::string::npos);
  EXPECT_LT(object, xref);
}

TEST(FaultWithLanguage, OtherBytesAreABrokenInvariant) {
  EXPECT_THROW((void)with_language("not a pdf", "en"), std::logic_error);
}

}  // namespace
}  // namespace lathbook::papers
