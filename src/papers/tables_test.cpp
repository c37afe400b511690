#include "papers/tables.h"

#include <gtest/gtest.h>

#include <random>

#include "papers/source.h"

namespace lathbook::papers {
namespace {

TEST(CsvCell, PlainTextStaysPlain) {
  EXPECT_EQ(csv_cell("Hall ceiling"), "Hall ceiling");
  EXPECT_EQ(csv_cell(""), "");
  EXPECT_EQ(csv_cell("a - b"), "a - b");
}

TEST(CsvCell, QuotesWhatWouldBreakTheRow) {
  EXPECT_EQ(csv_cell("a,b"), "\"a,b\"");
  EXPECT_EQ(csv_cell("2\" pipe"), "\"2\"\" pipe\"");
  EXPECT_EQ(csv_cell("two\nlines"), "\"two\nlines\"");
}

TEST(CsvCell, NoFormulaGetsThrough) {
  EXPECT_EQ(csv_cell("=1+1"), "\"'=1+1\"");
  EXPECT_EQ(csv_cell("@x"), "\"'@x\"");
  EXPECT_EQ(csv_cell("-5"), "\"'-5\"");
  EXPECT_EQ(csv_cell("\t=1"), "\"'\t=1\"");
}

/// A reader of RFC 4180 for one cell.
std::string read_back(const std::string& cell) {
  if (cell.empty() || cell.front() != '"') return cell;
  std::string text;
  for (std::size_t i = 1; i + 1 < cell.size(); ++i) {
    text += cell[i];
    if (cell[i] == '"') ++i;
  }
  return text;
}

TEST(PropertyCsvCell, AnyTextReadsBack) {
  std::mt19937 random(7);
  const std::string letters = "ab ,\"\r\n'=+-@\t";
  for (int round = 0; round < 5000; ++round) {
    std::string text;
    for (std::size_t n = random() % 8; n > 0; --n) text += letters[random() % letters.size()];
    auto back = read_back(csv_cell(text));
    ASSERT_TRUE(back == text || back == "'" + text) << text;
    ASSERT_TRUE(back.empty() || std::string("=+-@\t\r").find(back.front()) == std::string::npos) << text;
  }
}

TEST(Rough, KeepsTwoDigitsAndNeverSaysNothing) {
  EXPECT_EQ(rough(0.00312), "0.0031");
  EXPECT_EQ(rough(0.0999), "0.10");
  EXPECT_EQ(rough(1), "1.0");
  EXPECT_EQ(rough(9.96), "10");
  EXPECT_EQ(rough(1640), "1,600");
  EXPECT_EQ(rough(7.62e-6), "7.6 × 10⁻⁶");
  EXPECT_EQ(rough(9.99e-13), "1.0 × 10⁻¹²");
  EXPECT_EQ(rough(0), "0");
}

}  // namespace
}  // namespace lathbook::papers
