#include "reason/date.h"

#include <fmt/format.h>

#include <algorithm>

namespace lathbook::reason {
namespace {

std::optional<int> digits(std::string_view text) {
  int value = 0;
  for (const char c : text) {
    if (c < '0' || c > '9') return std::nullopt;
    value = value * 10 + (c - '0');
  }
  return value;
}

}  // namespace

std::optional<Date> Date::parse(std::string_view text) {
  if (text.size() != 10 || text[4] != '-' || text[7] != '-') return std::nullopt;
  const auto year = digits(text.substr(0, 4));
  const auto month = digits(text.substr(5, 2));
  const auto day = digits(text.substr(8, 2));
  if (!year || !month || !day || *year < 1000) return std::nullopt;
  const std::chrono::year_month_day when{std::chrono::year(*year), std::chrono::month(static_cast<unsigned>(*month)),
                                         std::chrono::day(static_cast<unsigned>(*day))};
  if (!when.ok()) return std::nullopt;
  return Date(std::chrono::sys_days(when));
}

std::string Date::text() const {
  const std::chrono::year_month_day when(days_);
  return fmt::format("{:04}-{:02}-{:02}", static_cast<int>(when.year()), static_cast<unsigned>(when.month()),
                     static_cast<unsigned>(when.day()));
}

int Date::year() const { return static_cast<int>(std::chrono::year_month_day(days_).year()); }

}  // namespace lathbook::reason
