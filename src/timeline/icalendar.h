// A calendar file other programs can take in: whole-day entries with reminders.
//
// RFC 5545: lines end in CR LF and are folded at 75 octets without splitting a character; text escapes \ ; , and line
// breaks; a whole-day event has DTSTART;VALUE=DATE and an end that is the first day it no longer holds. UIDs are made
// from the entry's key and the book's, so that taking the file in again updates entries instead of doubling them.
// Checked with python3-icalendar in tests/tools/icalendar_reference.py.
#pragma once

#include <optional>
#include <span>
#include <string>
#include <string_view>
#include <vector>

#include "reason/date.h"

namespace lathbook::timeline {

using reason::Date;

struct CalendarEntry {
  std::string key;  ///< unique in the calendar and stable, such as `J3` or `look-again-M7`
  std::string summary;
  std::string description;
  Date first;
  Date end;                             ///< first day it no longer holds; `first` itself = a single day
  std::vector<int> remind_days_before;  ///< one reminder for each
};

struct CalendarStamp {
  std::string product = "-//Lathbook//Lathbook//EN";
  std::string book_key;                         ///< makes UIDs unique between books
  std::string written_at = "19700101T000000Z";  ///< DTSTAMP: when the file was made, `YYYYMMDDThhmmssZ`
};

[[nodiscard]] std::string icalendar(std::span<const CalendarEntry> entries, const CalendarStamp& stamp);

/// One logical line folded as RFC 5545 section 3.1 wants, with its line end.
[[nodiscard]] std::string folded(std::string_view line);

/// Text as a property value, section 3.3.11.
[[nodiscard]] std::string escaped_text(std::string_view text);

}  // namespace lathbook::timeline
