// What is not known about a disturbance, as distributions: data/air.json. Every row names its source or that it is
// judgement.
#pragma once

#include <optional>
#include <string>
#include <string_view>
#include <vector>

#include "catalogue/catalogue.h"
#include "reason/fault.h"

namespace lathbook::catalogue {

/// A figure known to a factor: median and the factor one standard deviation is worth on a log scale.
struct Lognormal {
  double geometric_mean = 1;
  double geometric_sd = 1;
  Backing backing;
};

/// Equally likely anywhere in a range.
struct Uniform {
  double low = 0;
  double high = 1;
  Backing backing;
};

struct AirData {
  struct Limit {
    std::string id;
    double f_per_ml = 0;
    double minutes = 0;  ///< averaging time; 0 = none
    Backing backing;
  };
  struct Emission {
    std::string task;
    bool per_hole = false;  ///< else per minute
    Lognormal fibres;
  };
  struct EmissionGroup {
    std::string group;
    std::vector<std::string> families;
    std::vector<Emission> tasks;
  };
  struct Named {
    std::string id;  ///< a control, a place, a state, an activity, a respirator
    Lognormal value;
  };
  struct FibreSize {
    std::vector<book::Fibre> types;
    double density_g_per_cm3 = 3;
    Lognormal diameter_um;
    Lognormal length_um;
    double median_known_to = 1.3;  ///< geometric sd of the medians themselves
  };
  struct CleanUp {
    std::string task;
    Uniform removed;
    double minutes = 15;  ///< in which that share goes
  };
  struct Context {
    std::string what;
    double f_per_ml = 0;
    double hours = 0;
    Backing backing;
  };
  struct Everyday {
    std::string what;
    double per_million = 0;
    Backing backing;
  };

  std::vector<Limit> limits;
  std::vector<EmissionGroup> emission;
  std::vector<Named> controls;
  std::vector<Named> air_change_per_h;
  Lognormal window_open_factor;
  std::vector<Named> exchange_m3_per_h;
  double near_field_m3 = 1;
  double near_field_floor_m2 = 1;
  Lognormal near_field_m3_per_min;
  std::vector<FibreSize> fibres;
  Lognormal settling_factor;
  std::vector<Named> resuspension_per_h;
  std::vector<CleanUp> clean_up;
  std::vector<Named> masks;  ///< those whose protection is not in respirators.json
  Uniform beard_divides;
  std::vector<Context> context;
  std::vector<Everyday> everyday;
};

[[nodiscard]] reason::Result<AirData> parse_air_data(std::string_view text);

/// The shipped data, which must parse (std::logic_error otherwise).
[[nodiscard]] const AirData& shipped_air_data();

/// Fibres let go by a task on a family; nullptr when the data has none (tasks that clean rather than cut).
[[nodiscard]] const AirData::Emission* emission_of(const AirData& data, std::string_view family, std::string_view task);
[[nodiscard]] const Lognormal* named(const std::vector<AirData::Named>& rows, std::string_view id);

}  // namespace lathbook::catalogue
