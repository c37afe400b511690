#include "sampling/turnaround.h"

#include <fmt/format.h>

#include <algorithm>
#include <map>

namespace lathbook::sampling {

Turnaround turnaround(std::span<const SentSample> samples, reason::Date today, const UsualDays& fallback) {
  struct Day {
    int reported = 0;
    int still_out = 0;
  };
  std::map<int, Day> days;
  int reports = 0;
  int at_risk = 0;
  for (const auto& sample : samples) {
    const int waited = sample.sent.days_until(sample.reported.value_or(today));
    if (waited < 0) continue;
    ++at_risk;
    if (sample.reported) {
      ++days[waited].reported;
      ++reports;
    } else {
      ++days[waited].still_out;
    }
  }
  constexpr int kEnough = 3;
  if (reports < kEnough) {
    return {fallback.usual,
            fallback.slow,
            0,
            {fmt::format("Fewer than {} reports are on record, so the usual {} to {} days are taken.", kEnough,
                         fallback.usual, fallback.slow),
             fallback.source}};
  }
  Turnaround result;
  result.reports = reports;
  double out = 1;
  std::optional<int> usual;
  std::optional<int> slow;
  for (const auto& [day, count] : days) {
    out *= 1 - static_cast<double>(count.reported) / at_risk;
    at_risk -= count.reported + count.still_out;
    constexpr double kRounding = 1e-12;
    if (!usual && out <= 0.5 + kRounding) usual = day;
    if (!slow && out <= 0.1 + kRounding) slow = day;
  }
  const int longest = days.rbegin()->first;
  result.usual_days = usual.value_or(longest);
  result.slow_days = slow.value_or(longest);
  result.reason = {fmt::format("Of {} reports on record half came within {} days, nine in ten within {}.", reports,
                               result.usual_days, result.slow_days),
                   "book"};
  return result;
}

}  // namespace lathbook::sampling
