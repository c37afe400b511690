#include "sampling/how_many.h"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>

#include "belief/detection.h"

namespace lathbook::sampling {

Needed samples_needed(const catalogue::FamilyEvidence& family, const std::optional<book::Extent>& extent,
                      double miss_at_most) {
  const auto& rule = family.samples;
  Needed needed;
  needed.by_rule = rule.minimum;
  std::string by_extent;
  const auto one_for_every = [&](const std::optional<double>& each, book::Unit unit, const char* name) {
    if (!each || !extent || extent->unit != unit) return;
    // 25.0000001 m2 of 25 are one sample, not two: plans are not that exact.
    const int count = static_cast<int>(std::ceil(extent->amount / *each - 1e-6));
    needed.by_rule = std::max(needed.by_rule, count);
    by_extent = fmt::format(", one for every {:g} {}", *each, name);
  };
  one_for_every(rule.m2_each, book::Unit::kM2, "m²");
  one_for_every(rule.m_each, book::Unit::kM, "m");

  std::optional<belief::Patchiness> patchiness;
  if (family.patchiness) patchiness = {family.patchiness->mean, family.patchiness->strength};
  const belief::Detection detection{1 - family.false_negative, patchiness};
  needed.by_chance = belief::samples_for(detection, miss_at_most).value_or(needed.by_rule);
  needed.samples = std::max(needed.by_rule, needed.by_chance);
  needed.miss_chance = belief::miss_chance(detection, needed.samples);
  needed.reasons.push_back(
      {fmt::format("The survey guide asks for at least {}{}: {} here.", rule.minimum, by_extent, needed.by_rule),
       rule.source});
  needed.reasons.push_back(
      {fmt::format(
           "{} clear sample{} would miss asbestos that is there with a chance of {:.2g} %; below {:g} % is asked for.",
           needed.samples, needed.samples == 1 ? "" : "s", 100 * needed.miss_chance, 100 * miss_at_most),
       family.detection_source});
  return needed;
}

}  // namespace lathbook::sampling
