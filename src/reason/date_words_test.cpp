#include "reason/date_words.h"

#include <gtest/gtest.h>

#include <ctime>
#include <iomanip>
#include <locale>
#include <sstream>

namespace lathbook::reason {
namespace {

TEST(DateWords, AsEachCountryReadsThem) {
  const auto day = *Date::parse("2026-03-03");
  EXPECT_EQ(in_words(day, DateOrder::kDayMonthYear), "3 March 2026");
  EXPECT_EQ(in_words(day, DateOrder::kMonthDayYear), "March 3, 2026");
}

TEST(PropertyDateWords, TheStandardLibraryReadsTheSameDayBack) {
  for (const auto& [order, form] :
       {std::pair{DateOrder::kDayMonthYear, "%d %B %Y"}, std::pair{DateOrder::kMonthDayYear, "%B %d, %Y"}}) {
    for (int after = 0; after < 40000; after += 13) {
      const auto day = Date::parse("1920-01-01")->plus_days(after);
      std::istringstream in(in_words(day, order));
      in.imbue(std::locale::classic());
      std::tm read{};
      in >> std::get_time(&read, form);
      ASSERT_FALSE(in.fail()) << in.str();
      std::ostringstream iso;
      iso << std::put_time(&read, "%Y-%m-%d");
      ASSERT_EQ(iso.str(), day.text());
      ASSERT_EQ(dates_in_words("by " + day.text() + ".", order), "by " + in_words(day, order) + ".");
    }
  }
}

TEST(DateWords, OnlyDaysThatStandByThemselvesAreRewritten) {
  const auto read = [](const char* text) { return dates_in_words(text, DateOrder::kDayMonthYear); };
  EXPECT_EQ(read("2026-12-01"), "1 December 2026");
  EXPECT_EQ(read("(2026-12-01, then 2026-12-02)"), "(1 December 2026, then 2 December 2026)");
  EXPECT_EQ(read("done 2026-12-01. Look again by 2027-12-01"), "done 1 December 2026. Look again by 1 December 2027");
  EXPECT_EQ(read("2026-12-01 14:20"), "1 December 2026 14:20");
  for (const char* kept : {"scan-2026-12-01.pdf", "2026-12-01.pdf", "2026-12-01-A", "L/2026-12-01", "12026-12-01",
                           "2026-12-011", "2026-02-30", "2026-12-01T14:20", "v:2026-12-01", ""})
    EXPECT_EQ(read(kept), kept);
}

}  // namespace
}  // namespace lathbook::reason
