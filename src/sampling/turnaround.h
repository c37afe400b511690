// How long a laboratory takes, from what has been recorded: days from sending a sample to its result.
#pragma once

#include <optional>
#include <span>

#include "book/book.h"
#include "reason/reason.h"

namespace lathbook::sampling {

struct Turnaround {
  int results = 0;
  double median_days = 0;
  int least_days = 0;
  int most_days = 0;
  reason::Reasons reasons;
};

/// Over all samples with both dates, or those of one laboratory; empty when there is none. A report dated before the
/// sample was sent is left out.
[[nodiscard]] std::optional<Turnaround> turnaround(std::span<const book::Sample> samples,
                                                   std::span<const book::LabResult> results,
                                                   const book::PartyId& laboratory = {});

}  // namespace lathbook::sampling
