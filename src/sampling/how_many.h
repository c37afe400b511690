// How many samples settle a piece: enough that, all of them clear, it may be said that no asbestos was detected.
//
//   needed = the larger of  (a) the survey guide's number for the family: its minimum, and one for every so many square
//                               metres or metres of run, rounded up
//                           (b) the fewest samples that would all miss asbestos that is there with a chance below
//                               `miss_at_most` (5 %), given how patchy the family is (belief/detection.h)
//
// Extent in another unit than the rule's, or none at all, leaves the minimum. Source of the numbers:
// data/evidence.json. Checked in how_many_test.cpp.
#pragma once

#include <optional>

#include "book/book.h"
#include "catalogue/evidence_data.h"
#include "reason/reason.h"

namespace lathbook::sampling {

struct Needed {
  int samples = 1;
  int by_rule = 1;         ///< (a)
  int by_chance = 1;       ///< (b)
  double miss_chance = 0;  ///< of `samples` samples
  reason::Reasons reasons;
};

/// `samples` alone, for whoever asks of a whole house and would throw the words away.
[[nodiscard]] int how_many_samples(const catalogue::FamilyEvidence& family, const std::optional<book::Extent>& extent,
                                   double miss_at_most);

[[nodiscard]] Needed samples_needed(const catalogue::FamilyEvidence& family, const std::optional<book::Extent>& extent,
                                    double miss_at_most);

}  // namespace lathbook::sampling
