#include "book/money.h"

#include <fmt/format.h>

#include <array>
#include <cstdlib>
#include <utility>

namespace lathbook::book {

std::string money_text(Money minor_units, std::string_view currency) {
  static constexpr std::array<std::pair<std::string_view, std::string_view>, 6> kSigns = {
      {{"GBP", "£"}, {"EUR", "€"}, {"USD", "$"}, {"AUD", "A$"}, {"NZD", "NZ$"}, {"CAD", "C$"}}};
  const auto amount = static_cast<std::uint64_t>(std::llabs(minor_units));
  std::string digits = std::to_string(amount / 100);
  for (auto at = static_cast<int>(digits.size()) - 3; at > 0; at -= 3) digits.insert(static_cast<std::size_t>(at), ",");
  if (amount % 100 != 0) digits += fmt::format(".{:02}", amount % 100);
  const std::string minus = minor_units < 0 ? "-" : "";
  for (const auto& [code, sign] : kSigns) {
    if (code == currency) return fmt::format("{}{}{}", minus, sign, digits);
  }
  return fmt::format("{}{} {}", minus, digits, currency);
}

}  // namespace lathbook::book
