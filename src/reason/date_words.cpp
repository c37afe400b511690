#include "reason/date_words.h"

#include <fmt/format.h>

#include <array>
#include <cctype>
#include <chrono>
#include <optional>

namespace lathbook::reason {

std::string in_words(Date date, DateOrder order) {
  static constexpr std::array<const char*, 12> kMonths = {"January",   "February", "March",    "April",
                                                          "May",       "June",     "July",     "August",
                                                          "September", "October",  "November", "December"};
  const std::chrono::year_month_day day(date.days());
  const char* month = kMonths.at(static_cast<unsigned>(day.month()) - 1);
  const auto number = static_cast<unsigned>(day.day());
  return order == DateOrder::kDayMonthYear ? fmt::format("{} {} {}", number, month, date.year())
                                           : fmt::format("{} {}, {}", month, number, date.year());
}

std::string dates_in_words(std::string_view text, DateOrder order) {
  constexpr std::size_t kLength = 10;
  const auto letter = [&](std::size_t at) {
    return at < text.size() && std::isalnum(static_cast<unsigned char>(text[at])) != 0;
  };
  // A full stop or colon joins only where more of the word lies beyond it. Positions before the text wrap round.
  const auto joins = [&](std::size_t at, std::size_t beyond) {
    if (at >= text.size()) return false;
    const char c = text[at];
    return letter(at) || c == '-' || c == '_' || c == '/' || ((c == '.' || c == ':') && letter(beyond));
  };
  std::string out;
  for (std::size_t i = 0; i < text.size();) {
    const auto day = text.size() - i >= kLength ? Date::parse(text.substr(i, kLength)) : std::nullopt;
    if (day && !joins(i - 1, i - 2) && !joins(i + kLength, i + kLength + 1)) {
      out += in_words(*day, order);
      i += kLength;
    } else {
      out += text[i++];
    }
  }
  return out;
}

}  // namespace lathbook::reason
