#include "assess/score.h"

#include <fmt/format.h>

#include <algorithm>
#include <array>
#include <numeric>

#include "book/words.h"

namespace lathbook::assess {
namespace {

using reason::Fault;
using reason::Faults;

constexpr const char* kTable = "hsg264";
constexpr const char* kPriorityTable = "hsg227";

void check_range(Faults& faults, const char* name, int value, int low, int high) {
  if (value >= low && value <= high) return;
  faults.push_back({fmt::format("/{}", name), std::to_string(value), value < low ? "is too small" : "is too large",
                    fmt::format("a whole number from {} to {}", low, high)});
}

/// Total and band of factors known to be in range.
MaterialScore added_up(const MaterialFactors& factors) {
  MaterialScore score;
  score.factors = factors;
  score.total = factors.product + factors.damage + factors.surface + factors.fibre;
  score.band = band_of(score.total);
  score.reasons.push_back(
      {fmt::format("Product {} + damage {} + surface {} + fibre type {} = {} of 12: {} potential to release fibre.",
                   factors.product, factors.damage, factors.surface, factors.fibre, score.total, word(score.band)),
       kTable});
  return score;
}

int worst_fibre_score(std::span<const book::Fibre> fibres) {
  int worst = 1;
  for (const auto fibre : fibres) worst = std::max(worst, fibre_score(fibre));
  return worst;
}

/// Averages are held in sixths, so that the rounding below is on whole numbers.
Sixths average(const std::vector<int>& factors) {
  const int sum = std::accumulate(factors.begin(), factors.end(), 0);
  return {6 * sum / static_cast<int>(factors.size())};
}

Sixths rounded(Sixths value, Rounding rounding) {
  switch (rounding) {
    case Rounding::kUp:
      return {(value.count + 5) / 6 * 6};
    case Rounding::kHalfUp:
      return {(value.count + 3) / 6 * 6};
    case Rounding::kNone:
      break;
  }
  return value;
}

void check_group(Faults& faults, const char* name, const std::vector<int>& factors, std::size_t least, std::size_t most,
                 const char* meaning) {
  if (factors.size() < least || factors.size() > most) {
    faults.push_back(
        {fmt::format("/{}", name), fmt::format("[{}]", fmt::join(factors, ",")), "has the wrong number of entries",
         fmt::format("{} from 0 to 3: {}", least == most ? std::to_string(least) : fmt::format("{} or {}", least, most),
                     meaning)});
  }
  for (std::size_t i = 0; i < factors.size(); ++i)
    check_range(faults, fmt::format("{}/{}", name, i).c_str(), factors[i], 0, 3);
}

}  // namespace

std::string_view word(Band band) {
  constexpr std::array<std::string_view, 4> kWords = {"very low", "low", "medium", "high"};
  return kWords.at(static_cast<std::size_t>(band));
}

Band band_of(int total) {
  if (total >= 10) return Band::kHigh;
  if (total >= 7) return Band::kMedium;
  if (total >= 5) return Band::kLow;
  return Band::kVeryLow;
}

int fibre_score(book::Fibre fibre) {
  switch (fibre) {
    case book::Fibre::kChrysotile:
      return 1;
    case book::Fibre::kCrocidolite:
      return 3;
    default:
      return 2;
  }
}

int surface_score(const catalogue::Family& family, book::Surface surface) {
  const auto at = static_cast<std::size_t>(surface);
  using Scores = std::array<int, 4>;  // composite, sealed, unsealed, bare
  constexpr Scores kCement = {1, 1, 1, 1};
  constexpr Scores kComposite = {0, 1, 1, 1};
  constexpr Scores kBoard = {1, 1, 2, 3};
  constexpr Scores kLagging = {2, 2, 3, 3};
  if (family.legal_kind == catalogue::LegalKind::kCement) return kCement.at(at);
  if (family.product_score == 1) return kComposite.at(at);
  return family.product_score == 2 ? kBoard.at(at) : kLagging.at(at);
}

reason::Result<MaterialScore> material_score(const MaterialFactors& factors) {
  Faults faults;
  check_range(faults, "product", factors.product, 1, 3);
  check_range(faults, "damage", factors.damage, 0, 3);
  check_range(faults, "surface", factors.surface, 0, 3);
  check_range(faults, "fibre", factors.fibre, 1, 3);
  if (!faults.empty()) return faults;
  return added_up(factors);
}

reason::Result<MaterialScore> material_score(const MaterialState& state) {
  const auto& family = state.family;
  if (!family.suspect)
    return Fault{"/family", family.id, "is not a suspect family, so it has no score", "a suspect family"};
  const auto surface = state.surface.value_or(family.default_surface);
  const auto& types = state.fibres.empty() ? state.argued_fibres : state.fibres;
  MaterialFactors factors;
  factors.product = family.product_score;
  factors.damage = static_cast<int>(state.damage);
  factors.surface = surface_score(family, surface);
  factors.fibre = types.empty() ? 3 : worst_fibre_score(types);
  auto score = added_up(factors);
  score.reasons.push_back(
      {fmt::format("{}: product type {}.", family.name, factors.product), family.product_score_backing.source});
  score.reasons.push_back(
      {fmt::format("Surface {}: {}.",
                   state.surface ? "as given, " + std::string(book::word(surface))
                                 : "not given, so the usual one, " + std::string(book::word(surface)),
                   factors.surface),
       kTable});
  if (types.empty()) {
    score.reasons.push_back({"Fibre type not known: scored as crocidolite.", kTable});
  } else if (state.fibres.empty()) {
    score.reasons.push_back({"Fibre type taken from analysed look-alikes.", kTable});
  } else if (types.size() > 1) {
    score.reasons.push_back({"Mixed fibre types: the highest-scoring one counts.", kTable});
  }
  return score;
}

std::string_view word(Rounding rounding) {
  constexpr std::array<std::string_view, 3> kWords = {"up", "half-up", "none"};
  return kWords.at(static_cast<std::size_t>(rounding));
}

std::optional<Rounding> rounding_from_word(std::string_view text) {
  for (const auto one : {Rounding::kUp, Rounding::kHalfUp, Rounding::kNone}) {
    if (word(one) == text) return one;
  }
  return std::nullopt;
}

reason::Result<PriorityScore> priority_score(const book::PriorityFactors& factors, Rounding rounding) {
  Faults faults;
  check_group(faults, "activity", factors.activity, 1, 2, "main use, secondary use");
  check_group(faults, "disturbance", factors.disturbance, 3, 3, "location, accessibility, extent");
  check_group(faults, "exposure", factors.exposure, 3, 3, "occupants, frequency, time");
  check_group(faults, "maintenance", factors.maintenance, 2, 2, "type, frequency");
  if (!faults.empty()) return faults;
  PriorityScore score;
  score.activity = rounded(average(factors.activity), rounding);
  score.disturbance = rounded(average(factors.disturbance), rounding);
  score.exposure = rounded(average(factors.exposure), rounding);
  score.maintenance = rounded(average(factors.maintenance), rounding);
  score.total = {score.activity.count + score.disturbance.count + score.exposure.count + score.maintenance.count};
  score.reasons.push_back(
      {fmt::format("Activity {:.4g} + disturbance {:.4g} + exposure {:.4g} + maintenance {:.4g} = {:.4g} of 12.",
                   score.activity.value(), score.disturbance.value(), score.exposure.value(), score.maintenance.value(),
                   score.total.value()),
       kPriorityTable});
  constexpr std::array<const char*, 3> kHow = {"Group averages are rounded up before they are added.",
                                               "Group averages are rounded to the nearest whole number, halves up.",
                                               "Group averages are added as they are."};
  score.reasons.push_back({kHow.at(static_cast<std::size_t>(rounding)), kPriorityTable});
  return score;
}

}  // namespace lathbook::assess
