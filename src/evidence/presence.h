// How likely each material holds asbestos, of which fibres, and what may be claimed of it.
//
// **Belief.** Priors by family and years (prior.h) or as given; look-alike groups as in belief/forest.h; results as in
// belief/detection.h. A result with a stated sensitivity s and specificity c says P(none of n found | asbestos) =
// (1 - s)^n and P(none found | none) = c^n, "found" (at least one of n) being one minus these, and stands by itself
// given the state. Results without a stated sensitivity take the family's, and those of one piece share the hidden
// share of spots that hold asbestos. Results that cannot all be true as stated (a certain find against a certain
// clearance) are kept and told of; within their tree every certainty then gives way a little, a find least of all.
//
// **Range.** The belief at the low, middle and high priors of all materials together; `low` and `high` are the least
// and the greatest of the three. Belief is not monotone in the priors (a likelier member explains its own positive
// result away and so lowers its look-alikes), hence the three.
//
// **Fibres.** Which fibre it would be, given asbestos: a second state on the same forest with the same r, a group's
// shares being the mean of its members'. A positive result rules out the fibres that no result of that piece names.
//
// **Standing** (book::Standing) comes from results and dates alone, never from belief:
//   identified           a result found asbestos in the material or its piece (a clear result beside it changes
//   nothing) proven later         put in wholly after the ban year, and the years are proven none detected enough clear
//   samples of the piece: as many as `samples_needed`, and all of them together would
//                        miss asbestos that is there with a chance below `miss_at_most`
//   strongly presumed    found in a material of the same job and look, or the prior by family and years is 0.9 or more
//   presumed             everything else: the default
//
// Linear in materials and results. Checked against enumeration, against textbook figures, against a forward sampler
// (tests/tools/presence_reference.py), and that no belief releases work; docs/methods/evidence.md.
#pragma once

#include <optional>
#include <span>
#include <string>
#include <vector>

#include "book/book.h"
#include "catalogue/evidence_data.h"
#include "reason/fault.h"
#include "reason/reason.h"

namespace lathbook::evidence {

/// A prior somebody gave instead of the family's; `low <= middle <= high`, each 0 to 1.
struct GivenPrior {
  double low = 0;
  double middle = 0;
  double high = 0;
};

struct Material {
  std::string id;
  std::string family;
  book::YearRange years;
  bool years_proven = false;  ///< a paper shows when it was put in; only then can it be later than the ban
  std::string group;          ///< empty = none
  std::optional<book::Alike> alike;
  std::optional<GivenPrior> prior;
  int samples_needed = 1;  ///< clear samples that settle the piece, by family and extent (sampling/how_many.h)
};

struct Group {
  std::string id;
  std::string group;  ///< empty = none
  std::optional<book::Alike> alike;
};

/// What the laboratory said of `samples` samples of one material.
struct Result {
  std::string material;
  bool found = false;
  std::vector<book::Fibre> fibres;  ///< only when found; may be empty
  int samples = 1;
  std::optional<double> sensitivity;
  std::optional<double> specificity;
};

struct Ban {
  int year = 0;  ///< what was put in after this year, wholly, is later than the ban
  std::string source;
};

struct Question {
  std::vector<Material> materials;
  std::vector<Group> groups;
  std::vector<Result> results;
  Ban ban;
};

struct Belief {
  std::string id;
  double probability = 0;
  double low = 0;
  double high = 0;
  double prior = 0;                       ///< the material's own, before look-alikes and results
  catalogue::FibreShares fibres{};        ///< given that asbestos is there; adds up to 1
  std::vector<book::Fibre> found_fibres;  ///< named by a result of the material or its piece
  book::Standing standing = book::Standing::kPresumed;
  int clear_samples = 0;  ///< of the piece
  int samples_needed = 1;
  reason::Reasons reasons;
};

/// Results that speak against each other; all are kept.
struct Conflict {
  std::vector<std::string> materials;
  std::string text;
};

struct Answer {
  std::vector<Belief> materials;  ///< in the order of the question
  std::vector<Conflict> conflicts;
  reason::Reasons reasons;
};

/// Faults name the place as a JSON Pointer: an unknown family, years the wrong way round, a prior out of order or
/// range, a result of a material that is not there or naming fibres of a clear sample, whatever belief::make_forest
/// refuses.
[[nodiscard]] reason::Result<Answer> presence(const catalogue::EvidenceData& data, const Question& question);

}  // namespace lathbook::evidence
