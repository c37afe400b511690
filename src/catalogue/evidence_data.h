// data/evidence.json as plain values: what is believed of a family before any test, how a test can miss, how many
// samples.
//
// The years are those of the rules named in the file (Great Britain); a country without data of its own carries them on
// to its own ban (`carried_to`). Every row says where it comes from and how sure that is; most curves are our own
// judgement hung on dates that a source gives (`anchors`).
#pragma once

#include <array>
#include <optional>
#include <string>
#include <string_view>
#include <vector>

#include "book/book.h"
#include "reason/fault.h"

namespace lathbook::catalogue {

inline constexpr std::size_t kFibreCount = 6;

/// A share for each book::Fibre, in the order of the enumeration; adds up to 1.
using FibreShares = std::array<double, kFibreCount>;

/// Probability of asbestos for a thing of this look put in during `year`; straight lines between knots, flat outside.
struct YearKnot {
  int year = 0;
  double low = 0;
  double middle = 0;
  double high = 0;
};

struct FibresFrom {
  int year = 0;
  FibreShares shares{};
};

struct BetaShare {
  double mean = 1;
  double strength = 1;
};

/// How many samples settle a piece: at least `minimum`, and one for every so many square metres or metres of run.
struct SampleRule {
  int minimum = 1;
  std::optional<double> m2_each;
  std::optional<double> m_each;
  std::string source;
};

enum class TakeYourself { kNo, kIfSound, kIfSoundAndNotOverhead };

struct FamilyEvidence {
  std::string id;
  std::vector<YearKnot> years;
  std::string why;
  std::string source;
  std::vector<std::string> anchors;
  std::vector<FibresFrom> fibres;
  std::string fibres_source;
  double false_negative = 0;
  std::optional<BetaShare> patchiness;
  std::string detection_source;
  SampleRule samples;
  TakeYourself take_yourself = TakeYourself::kNo;
  std::string take_why;
  std::string take_source;
};

/// The share of postal kits found positive: only a band the priors have to lie in (checked in a test), never used to
/// compute.
struct KitShare {
  std::string family;
  double positive = 0;
};

struct EvidenceData {
  std::string rules;
  double specificity = 1;
  double fibre_floor = 0;
  double little_doubt = 1;
  double miss_at_most = 0.05;
  std::vector<FamilyEvidence> families;
  std::vector<KitShare> kits;
  book::YearRange kit_years;
  double kit_factor = 1;

  /// The family called `id`, or nullptr.
  [[nodiscard]] const FamilyEvidence* find(std::string_view id) const;
};

/// Reads the text of such a file. Faults: whatever does not fit data/schemas/evidence.schema.json, years out of order,
/// low above middle or middle above high, shares that do not add up to 1, a family given twice.
[[nodiscard]] reason::Result<EvidenceData> parse_evidence(std::string_view text);

/// The shipped data, which must parse (std::logic_error otherwise).
[[nodiscard]] const EvidenceData& shipped_evidence();

/// The same data for a country whose ban came later: each family's knots from `from_year` on, `later_by` years later,
/// and `why` in place of its history. Where use falls off from `from_year` on, nothing becomes less likely in any year.
[[nodiscard]] EvidenceData carried_to(EvidenceData data, std::string rules, int from_year, int later_by,
                                      const std::string& why);

}  // namespace lathbook::catalogue
