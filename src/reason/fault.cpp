#include "reason/fault.h"

namespace lathbook::reason {

std::string Fault::text() const {
  std::string line;
  if (!where.empty()) line += where + ": ";
  if (!value.empty()) line += value + " ";
  line += problem;
  if (!allowed.empty()) line += "; allowed: " + allowed;
  return line;
}

Faults within(std::string_view prefix, Faults faults) {
  for (auto& fault : faults) fault.where = std::string(prefix) + fault.where;
  return faults;
}

}  // namespace lathbook::reason
