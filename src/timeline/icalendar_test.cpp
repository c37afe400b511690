#include "timeline/icalendar.h"

#include <gmock/gmock.h>
#include <gtest/gtest.h>

namespace lathbook::timeline {
namespace {

using ::testing::HasSubstr;
using ::testing::Not;

Date day(const char* text) { return *Date::parse(text); }

TEST(ICalendar, WholeDaysWithReminders) {
  const std::vector<CalendarEntry> entries = {{.key = "J3",
                                               .summary = "Rewire; the hall, mostly",
                                               .description = "Line one\nline two",
                                               .first = day("2025-03-01"),
                                               .end = day("2025-03-04"),
                                               .remind_days_before = {14, 1}}};
  const auto text = icalendar(entries, {.book_key = "abc", .written_at = "20250101T120000Z"});
  EXPECT_THAT(text, HasSubstr("BEGIN:VCALENDAR\r\nVERSION:2.0\r\nPRODID:"));
  EXPECT_THAT(text, HasSubstr("UID:J3@abc\r\n"));
  EXPECT_THAT(text, HasSubstr("DTSTAMP:20250101T120000Z\r\n"));
  EXPECT_THAT(text, HasSubstr("DTSTART;VALUE=DATE:20250301\r\nDTEND;VALUE=DATE:20250304\r\n"));
  EXPECT_THAT(text, HasSubstr("SUMMARY:Rewire\\; the hall\\, mostly\r\n"));
  EXPECT_THAT(text, HasSubstr("DESCRIPTION:Line one\\nline two\r\n"));
  EXPECT_THAT(text, HasSubstr("TRIGGER:-P14D\r\n"));
  EXPECT_THAT(text, HasSubstr("TRIGGER:-P1D\r\n"));
}

TEST(ICalendar, NoLengthIsOneDay) {
  const std::vector<CalendarEntry> entries = {{.key = "a",
                                               .summary = "b",
                                               .description = "",
                                               .first = day("2024-12-31"),
                                               .end = day("2024-12-31"),
                                               .remind_days_before = {}}};
  EXPECT_THAT(icalendar(entries, {}), HasSubstr("DTEND;VALUE=DATE:20250101\r\n"));
}

TEST(PropertyICalendar, FoldedLinesAreShortWholeAndJoinBack) {
  std::string line = "DESCRIPTION:";
  for (int i = 0; i < 60; ++i) line += i % 3 == 0 ? "é" : (i % 3 == 1 ? "plain words " : "…");
  const auto text = folded(line);
  std::string joined;
  for (std::size_t at = 0; at < text.size();) {
    const auto end = text.find("\r\n", at);
    ASSERT_NE(end, std::string::npos);
    EXPECT_LE(end - at, 75U);
    const auto begin = at == 0 ? at : at + 1;
    EXPECT_NE(static_cast<unsigned char>(text[begin]) & 0xC0, 0x80) << "a character was split";
    joined += text.substr(begin, end - begin);
    at = end + 2;
  }
  EXPECT_EQ(joined, line);
}

TEST(FaultICalendar, ControlCharactersDoNotBreakTheFile) {
  EXPECT_EQ(escaped_text("a\r\nBEGIN:VEVENT\x01"), "a\\nBEGIN:VEVENT ");
  EXPECT_THAT(icalendar(std::vector<CalendarEntry>{{.key = "k",
                                                    .summary = "x\r\nEND:VCALENDAR",
                                                    .description = "",
                                                    .first = day("2025-01-01"),
                                                    .end = day("2025-01-02"),
                                                    .remind_days_before = {}}},
                        {}),
              Not(HasSubstr("\r\nEND:VCALENDAR\r\nDESC")));
}

}  // namespace
}  // namespace lathbook::timeline
