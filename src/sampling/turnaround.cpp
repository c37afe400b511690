#include "sampling/turnaround.h"

#include <fmt/format.h>

#include <algorithm>
#include <map>
#include <vector>

namespace lathbook::sampling {

std::optional<Turnaround> turnaround(std::span<const book::Sample> samples, std::span<const book::LabResult> results,
                                     const book::PartyId& laboratory) {
  std::map<std::string, const book::Sample*> by_id;
  for (const auto& sample : samples) by_id.emplace(sample.id.text, &sample);
  std::vector<int> days;
  for (const auto& result : results) {
    const auto found = by_id.find(result.sample.text);
    if (found == by_id.end() || !result.reported_on || !found->second->sent_on) continue;
    if (!laboratory.empty() && found->second->laboratory != laboratory) continue;
    const int taken = found->second->sent_on->days_until(*result.reported_on);
    if (taken >= 0) days.push_back(taken);
  }
  if (days.empty()) return std::nullopt;
  std::sort(days.begin(), days.end());
  const std::size_t n = days.size();
  Turnaround answer;
  answer.results = static_cast<int>(n);
  answer.median_days = 0.5 * (days[(n - 1) / 2] + days[n / 2]);
  answer.least_days = days.front();
  answer.most_days = days.back();
  const auto results_text = fmt::format("{} result{} so far came back", n, n == 1 ? "" : "s");
  answer.reasons.push_back({answer.least_days == answer.most_days
                                ? fmt::format("{} after {} days.", results_text, answer.least_days)
                                : fmt::format("{} in {} to {} days, half of them within {:g}.", results_text,
                                              answer.least_days, answer.most_days, answer.median_days),
                            "book"});
  return answer;
}

}  // namespace lathbook::sampling
