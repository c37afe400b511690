#include "dose/words.h"

#include <fmt/format.h>

#include <cmath>

namespace lathbook::dose {
namespace {

/// Two significant figures, without an exponent.
std::string two_figures(double x) {
  const double unit = std::pow(10.0, std::floor(std::log10(x)) - 1);
  const double rounded = std::round(x / unit) * unit;
  return rounded >= 10 ? fmt::format("{:.0f}", rounded) : fmt::format("{:.2g}", rounded);
}

std::string bare(double per_million) {
  if (per_million >= 10'000) return two_figures(per_million / 10'000) + " in 100";
  if (per_million >= 0.1) return two_figures(per_million) + " in a million";
  if (per_million >= 1e-3) return two_figures(per_million * 1e3) + " in a billion";
  if (per_million >= 1e-6) return two_figures(per_million * 1e6) + " in a million million";
  return "less than 1 in a million million, though not nothing";
}

}  // namespace

std::string chance_in_words(double per_million) {
  if (!(per_million > 0)) return "no more than without it";
  return (per_million < 1e-6 ? "" : "about ") + bare(per_million);
}

std::string range_in_words(double low_per_million, double high_per_million) {
  if (!(high_per_million > 0)) return chance_in_words(high_per_million);
  if (!(low_per_million > 0)) return "up to " + bare(high_per_million);
  // Both in one unit where they can be: "0.02 and 4 in a million" is held side by side, "20 in a billion" is not.
  const bool in_a_million = high_per_million >= 0.1 && high_per_million < 10'000;
  if (in_a_million && low_per_million >= 1e-4)
    return fmt::format("between {} and {}", two_figures(low_per_million), bare(high_per_million));
  return "between " + bare(low_per_million) + " and " + bare(high_per_million);
}

}  // namespace lathbook::dose
