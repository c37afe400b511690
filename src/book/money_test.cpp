#include "book/money.h"

#include <gtest/gtest.h>

namespace lathbook::book {
namespace {

TEST(Money, IsWrittenAsPeopleWriteIt) {
  EXPECT_EQ(money_text(0, "GBP"), "£0");
  EXPECT_EQ(money_text(4350, "GBP"), "£43.50");
  EXPECT_EQ(money_text(-1205, "EUR"), "-€12.05");
  EXPECT_EQ(money_text(100000000, "USD"), "$1,000,000");
  EXPECT_EQ(money_text(125000, "CHF"), "1,250 CHF");
}

}  // namespace
}  // namespace lathbook::book
