// A limit of fibre in the air of those at work, as a country's rules have it: one entry of the `air_limits` list of a
// rule pack (docs/formats/rule-pack.md). Read by `law`, held against what was in the air by `event`.
#pragma once

#include <string>

#include "catalogue/catalogue.h"

namespace lathbook::catalogue {

struct AirLimit {
  std::string id;
  std::string name;  ///< the time it is a mean over, in words: "ten minutes"
  double f_per_ml = 0;
  double minutes = 0;  ///< 10, 240 or 480
  Backing backing;
};

}  // namespace lathbook::catalogue
