#include "law/evidence_for.h"

#include <map>
#include <mutex>
#include <stdexcept>

namespace lathbook::law {

const catalogue::EvidenceData& evidence_for(const RulePack& pack) {
  const auto& written = catalogue::shipped_evidence();
  if (!pack.years && pack.id == written.rules) return written;
  if (!pack.years || pack.years->from_rules != written.rules)
    throw std::logic_error("nothing is believed of families under the rules " + pack.id);
  // Worked out when a country is first asked for, like the pack itself.
  static std::mutex mutex;
  static std::map<std::string, catalogue::EvidenceData, std::less<>> carried;
  const std::lock_guard lock(mutex);
  auto found = carried.find(pack.id);
  if (found == carried.end()) {
    const auto& years = *pack.years;
    found =
        carried.emplace(pack.id, catalogue::carried_to(written, pack.id, years.from_year, years.later_by, years.why))
            .first;
  }
  return found->second;
}

}  // namespace lathbook::law
