#include "evidence/prior.h"

#include <algorithm>

namespace lathbook::evidence {
namespace {

struct Level {
  double low;
  double middle;
  double high;
};

Level in_year(const std::vector<catalogue::YearKnot>& knots, int year) {
  const auto level = [](const catalogue::YearKnot& knot) { return Level{knot.low, knot.middle, knot.high}; };
  if (year <= knots.front().year) return level(knots.front());
  if (year >= knots.back().year) return level(knots.back());
  const auto after = std::find_if(knots.begin(), knots.end(), [&](const auto& knot) { return knot.year > year; });
  const auto& b = *after;
  const auto& a = *std::prev(after);
  const double t = static_cast<double>(year - a.year) / (b.year - a.year);
  return {a.low + t * (b.low - a.low), a.middle + t * (b.middle - a.middle), a.high + t * (b.high - a.high)};
}

const catalogue::FibreShares& shares_in(const std::vector<catalogue::FibresFrom>& rows, int year) {
  const auto later = std::find_if(rows.begin() + 1, rows.end(), [&](const auto& row) { return row.year > year; });
  return std::prev(later)->shares;
}

}  // namespace

Prior prior_of(const catalogue::FamilyEvidence& family, book::YearRange years, double fibre_floor) {
  Prior prior;
  double weight = 0;
  for (int year = years.from; year <= years.to; ++year) {
    const auto level = in_year(family.years, year);
    prior.low += level.low;
    prior.middle += level.middle;
    prior.high += level.high;
    const auto& shares = shares_in(family.fibres, year);
    for (std::size_t f = 0; f < shares.size(); ++f) prior.fibres[f] += level.middle * shares[f];
    weight += level.middle;
  }
  const double count = years.to - years.from + 1;
  prior.low /= count;
  prior.middle /= count;
  prior.high /= count;
  for (auto& share : prior.fibres) {
    share = (1 - fibre_floor) * share / weight + fibre_floor / static_cast<double>(catalogue::kFibreCount);
  }
  return prior;
}

}  // namespace lathbook::evidence
