#include "dose/breathed.h"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>

#include "reason/units.h"

namespace lathbook::dose {
namespace {

template <class Spell>
void check_times(std::span<const Spell> spells, double total_min, const std::string& where, const char* what,
                 reason::Faults& faults) {
  for (std::size_t i = 0; i < spells.size(); ++i) {
    const auto at = fmt::format("{}/{}", where, i);
    const auto& one = spells[i];
    if (!(one.from_min >= 0))
      faults.push_back({at + "/from_min", fmt::format("{}", one.from_min), "is before the start", "0 or more"});
    if (!(one.to_min > one.from_min)) {
      faults.push_back({at + "/to_min", fmt::format("{}", one.to_min), "is not after from_min",
                        fmt::format("more than {}", one.from_min)});
    }
    if (one.to_min > total_min * (1 + 1e-12)) {
      faults.push_back({at + "/to_min", fmt::format("{}", one.to_min), "is after the air's last phase",
                        fmt::format("at most {} minutes", total_min)});
    }
    for (std::size_t j = 0; j < i; ++j) {
      if (std::max(one.from_min, spells[j].from_min) < std::min(one.to_min, spells[j].to_min)) {
        faults.push_back({at, fmt::format("{} to {} min", one.from_min, one.to_min),
                          fmt::format("overlaps {}/{}: {}", where, j, what), "times that do not overlap"});
      }
    }
  }
}

}  // namespace

double effective_factor(double protection, double worn) { return 1 / (1 - worn + worn / protection); }

reason::Faults check(std::span<const Stay> stays, std::span<const Mask> masks, double total_min,
                     const std::string& where) {
  reason::Faults faults;
  check_times(stays, total_min, where + "/stays", "a person in two places", faults);
  check_times(masks, total_min, where + "/masks", "two masks at once", faults);
  for (std::size_t i = 0; i < masks.size(); ++i) {
    const auto at = fmt::format("{}/masks/{}", where, i);
    if (!(masks[i].protection >= 1)) {
      faults.push_back({at + "/protection", fmt::format("{}", masks[i].protection),
                        "is below 1: no mask lets more in than none", "1 or more"});
    }
    if (!(masks[i].worn >= 0 && masks[i].worn <= 1)) {
      faults.push_back({at + "/worn", fmt::format("{}", masks[i].worn), "is no share of the time", "0 to 1"});
    }
  }
  return faults;
}

std::vector<Stretch> stretches(std::span<const Stay> stays, std::span<const Mask> masks) {
  std::vector<Stretch> out;
  for (const auto& stay : stays) {
    std::vector<double> cuts{stay.from_min, stay.to_min};
    for (const auto& mask : masks) {
      for (const double t : {mask.from_min, mask.to_min}) {
        if (t > stay.from_min && t < stay.to_min) cuts.push_back(t);
      }
    }
    std::sort(cuts.begin(), cuts.end());
    for (std::size_t i = 0; i + 1 < cuts.size(); ++i) {
      if (cuts[i + 1] <= cuts[i]) continue;
      Stretch one{stay.zone, cuts[i], cuts[i + 1], 1};
      for (const auto& mask : masks) {
        if (mask.from_min <= one.from_min && one.to_min <= mask.to_min)
          one.factor = effective_factor(mask.protection, mask.worn);
      }
      out.push_back(one);
    }
  }
  std::sort(out.begin(), out.end(), [](const Stretch& a, const Stretch& b) { return a.from_min < b.from_min; });
  return out;
}

double working_years(double f_per_ml_h) { return f_per_ml_h / units::kWorkingHoursPerYear; }
double continuous_years(double f_per_ml_h) { return f_per_ml_h / units::kHoursPerYear; }

}  // namespace lathbook::dose
