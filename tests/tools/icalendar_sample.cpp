// Prints the calendar that icalendar_reference.py reads back.
#include <iostream>
#include <string>
#include <vector>

#include "timeline/icalendar.h"

int main() {
  using namespace lathbook::timeline;
  const auto day = [](const char* text) { return *Date::parse(text); };
  const std::vector<CalendarEntry> entries = {
      {.key = "J3",
       .summary = "Rewire; the hall, mostly",
       .description = "Line one\nline two \\ three",
       .first = day("2025-03-01"),
       .end = day("2025-03-04"),
       .remind_days_before = {14, 1}},
      {.key = "look-again-M7",
       .summary = "Look again at the garage roof – édgès, corners and every fixing along the whole north side of it",
       .description = "",
       .first = day("2026-01-31"),
       .end = day("2026-01-31"),
       .remind_days_before = {7}},
      {.key = "licence-P2",
       .summary = "Licence runs out",
       .description = std::string(400, 'x'),
       .first = day("2028-02-29"),
       .end = day("2028-03-01"),
       .remind_days_before = {}},
  };
  std::cout << icalendar(entries, {.book_key = "book-1", .written_at = "20250101T120000Z"});
}
