// data/taking.json as plain values: what to bring, how a sample is taken, how long a laboratory takes.
#pragma once

#include <nlohmann/json_fwd.hpp>
#include <string>
#include <vector>

#include "reason/fault.h"
#include "reason/reason.h"

namespace lathbook::catalogue {

struct LayerNote {
  std::vector<std::string> families;
  reason::Reason note;
};

struct TakingData {
  reason::Reasons bring;
  reason::Reasons steps;  ///< in the order one does them
  std::vector<LayerNote> layers;
  reason::Reason someone_else;
  int laboratory_days_usual = 0;  ///< calendar days from posting to report
  int laboratory_days_slow = 0;
  std::string laboratory_days_source;
};

/// Faults: whatever does not fit data/schemas/taking.schema.json.
[[nodiscard]] reason::Result<TakingData> parse_taking(const nlohmann::json& document);

}  // namespace lathbook::catalogue
