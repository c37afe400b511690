// What a network of zones, flows, size classes and phases is, as plain values, and which networks are refused.
//
// Zones are rooms (or the space round the work); outdoors is the word `outdoors`. Flows are in m3/h and balance in
// every zone: what comes in goes out. Phases follow one another; within one everything is constant.
#pragma once

#include <optional>
#include <string>
#include <string_view>
#include <vector>

#include "reason/fault.h"

namespace lathbook::air {

inline constexpr std::string_view kOutdoors = "outdoors";

struct Zone {
  std::string id;
  double volume_m3 = 0;
  double floor_m2 = 0;
  double start_f_per_ml = 0;
  double start_load_f_per_cm2 = 0;
};

struct Flow {
  std::string from;
  std::string to;
  double m3_per_h = 0;
};

/// Fibres of one settling speed. Shares add up to 1.
struct SizeClass {
  std::string id;
  double share = 1;
  double settling_m_per_s = 0;
};

struct Source {
  std::string zone;
  double f_per_min = 0;
};

struct Filter {
  std::string zone;
  double m3_per_h = 0;
  double efficiency = 1;
};

/// A share of the floor's load moved per hour: into the air, or away for good.
struct Rate {
  std::string zone;
  double per_h = 0;
};

struct Phase {
  double minutes = 0;
  std::vector<Source> sources;
  std::optional<std::vector<Flow>> flows;  ///< there = these replace the flows from now on
  std::vector<Filter> filtration;
  std::vector<Rate> resuspension;
  std::vector<Rate> surface_removal;
};

struct Scene {
  std::vector<Zone> zones;
  std::vector<Flow> flows;
  double outdoor_f_per_ml = 0;
  std::vector<SizeClass> classes;
  std::vector<Phase> phases;
  std::optional<double> report_every_min;
  double below_f_per_ml = 0.01;
};

/// Everything wrong with a scene, each with a JSON Pointer into it: volumes that are not above zero, negative figures,
/// repeated or unknown ids, more than a gigabyte of matrices, shares that do not add up to 1, phases of no length,
/// flows that do not balance in a zone (which, in, out and the difference), zones whose air has no way outdoors (closed
/// zones without any flow are allowed).
[[nodiscard]] reason::Faults check(const Scene& scene);

}  // namespace lathbook::air
