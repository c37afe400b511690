// What is believed before any test under one country's rules: data/evidence.json as it stands, or carried on to a later
// ban as the pack says (`years`).
#pragma once

#include "catalogue/evidence_data.h"
#include "law/pack.h"

namespace lathbook::law {

/// The evidence for a pack inside the program; std::logic_error for another, or one that carries years from rules that
/// the data is not of.
[[nodiscard]] const catalogue::EvidenceData& evidence_for(const RulePack& pack);

}  // namespace lathbook::law
