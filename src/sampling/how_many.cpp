#include "sampling/how_many.h"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>

#include "belief/detection.h"

namespace lathbook::sampling {
namespace {

struct ByRule {
  int samples = 1;
  std::optional<double> each;  ///< one sample for so many `unit`, where that was counted
  const char* unit = "";
};

ByRule by_rule(const catalogue::SampleRule& rule, const std::optional<book::Extent>& extent) {
  ByRule out{rule.minimum, {}, ""};
  const auto one_for_every = [&](const std::optional<double>& each, book::Unit unit, const char* name) {
    if (!each || !extent || extent->unit != unit) return;
    // 25.0000001 m2 of 25 are one sample, not two: plans are not that exact.
    const int count = static_cast<int>(std::ceil(extent->amount / *each - 1e-6));
    out = {std::max(rule.minimum, count), each, name};
  };
  one_for_every(rule.m2_each, book::Unit::kM2, "m²");
  one_for_every(rule.m_each, book::Unit::kM, "m");
  return out;
}

belief::Detection detection_of(const catalogue::FamilyEvidence& family) {
  std::optional<belief::Patchiness> patchiness;
  if (family.patchiness) patchiness = {family.patchiness->mean, family.patchiness->strength};
  return {1 - family.false_negative, patchiness};
}

}  // namespace

int how_many_samples(const catalogue::FamilyEvidence& family, const std::optional<book::Extent>& extent,
                     double miss_at_most) {
  const int rule = by_rule(family.samples, extent).samples;
  return std::max(rule, belief::samples_for(detection_of(family), miss_at_most).value_or(rule));
}

Needed samples_needed(const catalogue::FamilyEvidence& family, const std::optional<book::Extent>& extent,
                      double miss_at_most) {
  const auto rule = by_rule(family.samples, extent);
  const auto detection = detection_of(family);
  Needed needed;
  needed.by_rule = rule.samples;
  needed.by_chance = belief::samples_for(detection, miss_at_most).value_or(rule.samples);
  needed.samples = std::max(needed.by_rule, needed.by_chance);
  needed.miss_chance = belief::miss_chance(detection, needed.samples);
  const auto by_extent = rule.each ? fmt::format(", one for every {:g} {}", *rule.each, rule.unit) : "";
  needed.reasons.push_back({fmt::format("The survey guide asks for at least {}{}: {} here.", family.samples.minimum,
                                        by_extent, needed.by_rule),
                            family.samples.source});
  needed.reasons.push_back(
      {fmt::format(
           "{} clear sample{} would miss asbestos that is there with a chance of {:.2g} %; below {:g} % is asked for.",
           needed.samples, needed.samples == 1 ? "" : "s", 100 * needed.miss_chance, 100 * miss_at_most),
       family.detection_source});
  return needed;
}

}  // namespace lathbook::sampling
