#include "reason/date.h"

#include <gtest/gtest.h>

namespace lathbook::reason {
namespace {

TEST(Date, ReadsRealDaysOnly) {
  EXPECT_TRUE(Date::parse("2024-02-29"));
  for (const char* wrong : {"2023-02-29", "2023-13-01", "2023-00-10", "2023-1-01", "23-01-01", "2023-01-32",
                            "2023/01/01", "2023-01-01 ", "", "20x3-01-01", "0999-01-01"}) {
    EXPECT_FALSE(Date::parse(wrong)) << wrong;
  }
}

TEST(Date, TextIsTheInverseOfParse) {
  for (int day = 0; day < 20000; day += 37) {
    const auto date = Date::parse("1950-01-01")->plus_days(day);
    EXPECT_EQ(Date::parse(date.text()), date);
  }
}

TEST(Date, WeekdaysAndDifferences) {
  EXPECT_EQ(Date::parse("1999-11-24")->iso_weekday(), 3U);  // a Wednesday
  EXPECT_EQ(Date::parse("2024-02-28")->days_until(*Date::parse("2024-03-01")), 2);
  EXPECT_EQ(Date::parse("2024-02-28")->year(), 2024);
}

}  // namespace
}  // namespace lathbook::reason
