// data/sampling.json as plain values: how a sample is taken with the least release.
#pragma once

#include <nlohmann/json_fwd.hpp>
#include <string>
#include <string_view>
#include <vector>

#include "reason/fault.h"
#include "reason/reason.h"

namespace lathbook::catalogue {

/// What is taken, for some families or (none named) for all.
struct Taking {
  reason::Reason what;
  std::vector<std::string> families;
};

struct SamplingData {
  reason::Reasons bring;
  reason::Reasons steps;  ///< in order
  std::vector<Taking> taking;
  reason::Reason label;

  /// What is taken of a family: what holds for all, then its own.
  [[nodiscard]] reason::Reasons taking_of(std::string_view family) const;
};

/// Faults: whatever does not fit data/schemas/sampling.schema.json.
[[nodiscard]] reason::Result<SamplingData> parse_sampling(const nlohmann::json& document);

}  // namespace lathbook::catalogue
