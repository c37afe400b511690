// What a room needs before it is gone back into after a removal, as a country's rules have it: one entry of the
// `clearance` list of a rule pack (docs/formats/rule-pack.md). Read by `law`, held against a certificate by
// `clearance`.
#pragma once

#include <optional>
#include <string>
#include <utility>
#include <vector>

#include "catalogue/catalogue.h"

namespace lathbook::catalogue {

/// One stage, in the order in which they are done.
struct ClearanceStage {
  std::string name;                   ///< "the visual inspection"
  std::vector<std::string> known_by;  ///< words a certificate may call it by, lower case
};

/// What is asked of the air test. A figure that is absent is not judged.
struct ClearanceAir {
  bool required = false;      ///< false: only judged where samples are on the paper
  double below_f_per_ml = 0;  ///< every sample must be below this
  std::optional<double> litres;
  std::optional<double> fields;
  std::optional<double> filter_mm;  ///< the exposed circle must be wider than this
  bool more_for_area = false;       ///< the number of samples grows with the floor (clearance::samples_needed); else 1
};

struct ClearanceRules {
  std::string certificate;         ///< what the paper is called: "the certificate of the four-stage clearance"
  std::string by;                  ///< who gives it: "an accredited, independent analyst"
  std::vector<std::string> roles;  ///< what such a firm may be written down as (Party::role); of any other it is void
  std::vector<ClearanceStage> stages;
  ClearanceAir air;
  std::vector<std::pair<std::string, Backing>> reasons;  ///< why, as told with every answer
  /// That whoever gives it had no part in the removal; absent: not asked.
  std::optional<std::pair<std::string, Backing>> independent = std::nullopt;
};

}  // namespace lathbook::catalogue
