// How long a laboratory takes, from what the book records of earlier samples.
//
// Days from sent to reported. Samples still out count too, as "at least so long": the share still out after t days is
// the product-limit estimate (Kaplan and Meier 1958), S(t) = product over report times t_i <= t of (1 - reported_i /
// still out just before t_i), and a quantile is the first t with S(t) <= 1 - q. Leaving them out would make a slow
// laboratory look quick. With fewer than three reports, the fallback. Checked in turnaround_test.cpp.
#pragma once

#include <optional>
#include <span>

#include "reason/date.h"
#include "reason/reason.h"

namespace lathbook::sampling {

struct SentSample {
  reason::Date sent;
  std::optional<reason::Date> reported;  ///< absent = still out
};

struct Turnaround {
  int usual_days = 0;  ///< half are back by then
  int slow_days = 0;   ///< nine in ten are back by then; at least so long when not even the record says
  int reports = 0;     ///< how many it rests on; 0 = the fallback
  reason::Reason reason;
};

struct UsualDays {
  int usual = 5;
  int slow = 10;
  std::string source;
};

/// Samples reported or still out at a day before they were sent are left out.
[[nodiscard]] Turnaround turnaround(std::span<const SentSample> samples, reason::Date today, const UsualDays& fallback);

}  // namespace lathbook::sampling
