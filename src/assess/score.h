// How readily a material lets go of fibre in the state it is in (material score), and how much that matters where it is
// (priority score).
//
// Material score = product + damage + surface + fibre type, 2 to 12 (HSG264 table 2; the same table in MDHS100):
//
//   product   1 composites, cement, textured coating   2 board, paper, rope, cloth   3 lagging, sprays, loose fill
//   damage    0 none   1 low   2 medium   3 high
//   surface   0 composite that holds its fibre   1 sealed board, any cement   2 unsealed board, sealed lagging   3
//   unsealed lagging fibre     1 chrysotile   2 other amphiboles   3 crocidolite, or not known
//
// Bands: 10 and more high, 7 to 9 medium, 5 and 6 low, 4 and less very low.
//
// Priority score = sum of four group averages, each 0 to 3 (HSG227, appendix), 0 to 12. How averages are rounded is a
// named setting, because practice differs; the arithmetic is on whole numbers, so 1.5 is never 1.4999.
//
// Checked in tests/published/material_score.csv and priority_score.csv, and by exhaustive properties.
#pragma once

#include <optional>
#include <span>
#include <string_view>
#include <vector>

#include "book/book.h"
#include "catalogue/catalogue.h"
#include "reason/fault.h"
#include "reason/reason.h"

namespace lathbook::assess {

enum class Band { kVeryLow, kLow, kMedium, kHigh };

/// "very low", "low", "medium", "high".
[[nodiscard]] std::string_view word(Band band);

/// The band of a total from 2 to 12.
[[nodiscard]] Band band_of(int total);

/// The four numbers of a material assessment: product 1–3, damage 0–3, surface 0–3, fibre 1–3.
struct MaterialFactors {
  int product = 1;
  int damage = 0;
  int surface = 0;
  int fibre = 3;
  bool operator==(const MaterialFactors&) const = default;
};

struct MaterialScore {
  MaterialFactors factors;
  int total = 0;
  Band band = Band::kVeryLow;
  reason::Reasons reasons;
};

/// The score of four numbers. Faults: each number outside its range, by name.
[[nodiscard]] reason::Result<MaterialScore> material_score(const MaterialFactors& factors);

/// A material in words.
struct MaterialState {
  const catalogue::Family& family;
  book::Damage damage = book::Damage::kNone;
  std::optional<book::Surface> surface;  ///< absent: the family's usual one
  std::span<const book::Fibre> fibres;   ///< found in it; empty = not known
  /// Types found in analysed look-alikes of the same job and look, or a reasoned argument that another type was nearly
  /// always used. Only read when `fibres` is empty; empty as well = scored as crocidolite.
  std::span<const book::Fibre> argued_fibres = {};
};

/// The score of a material in words. Fault: a family that is not suspect has no score.
[[nodiscard]] reason::Result<MaterialScore> material_score(const MaterialState& state);

/// The surface score of a word for a family. Cement scores 1 whatever its face; a composite is held to 0 or 1; board
/// scores 1, 2, 3 for sealed, unsealed, bare; lagging and sprays 2, 3, 3. A word that does not fit a family (board as
/// "composite") is read as sealed.
[[nodiscard]] int surface_score(const catalogue::Family& family, book::Surface surface);

/// 1, 2 or 3 for one fibre type.
[[nodiscard]] int fibre_score(book::Fibre fibre);

/// What becomes of a group's average before the groups are added.
enum class Rounding {
  kUp,      ///< to the next whole number (the guide's examples)
  kHalfUp,  ///< to the nearest whole number, halves up
  kNone,    ///< kept as it is
};
[[nodiscard]] std::string_view word(Rounding rounding);
[[nodiscard]] std::optional<Rounding> rounding_from_word(std::string_view text);

/// A score in sixths: every average of one, two or three whole numbers is a whole number of sixths.
struct Sixths {
  int count = 0;
  [[nodiscard]] double value() const { return count / 6.0; }
  [[nodiscard]] bool whole() const { return count % 6 == 0; }
  auto operator<=>(const Sixths&) const = default;
};

struct PriorityScore {
  Sixths activity;
  Sixths disturbance;
  Sixths exposure;
  Sixths maintenance;
  Sixths total;
  reason::Reasons reasons;
};

/// The priority score. Faults: a group with the wrong count (activity 1 or 2, disturbance 3, exposure 3, maintenance
/// 2), a factor outside 0 to 3.
[[nodiscard]] reason::Result<PriorityScore> priority_score(const book::PriorityFactors& factors,
                                                           Rounding rounding = Rounding::kUp);

}  // namespace lathbook::assess
