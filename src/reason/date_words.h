// Days as people read them, in the order of the book's country. Papers for people are written so; CSV, JSON and
// iCalendar keep ISO 8601 (reason/date.h). The months have their English names, as all of the program's words are
// English.
#pragma once

#include <string>
#include <string_view>

#include "reason/date.h"

namespace lathbook::reason {

/// In what order a country's papers write a day: "3 March 2026" or "March 3, 2026".
enum class DateOrder { kDayMonthYear, kMonthDayYear };

[[nodiscard]] std::string in_words(Date date, DateOrder order);

/// A text for people with every day in it that stands by itself as `YYYY-MM-DD` written as people read it. What is part
/// of a longer run of letters, digits or -_/.: (a file's name, a laboratory's number) stays as it is, and so does a day
/// that does not exist.
[[nodiscard]] std::string dates_in_words(std::string_view text, DateOrder order);

}  // namespace lathbook::reason
