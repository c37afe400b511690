// How a program that stands beside `lathbook` says what went wrong.
#pragma once

#include <iostream>

#include "reason/fault.h"

namespace lathbook::apps {

/// Prints the faults and answers the exit status they lead to: 2 for words and values, 1 for the rest.
inline int failed(const reason::Faults& faults) {
  int status = 2;
  for (const auto& fault : faults) {
    std::cerr << "lathbook: " << fault.text() << "\n";
    if (fault.kind != reason::FaultKind::kUsage && fault.kind != reason::FaultKind::kValue) status = 1;
  }
  return status;
}

}  // namespace lathbook::apps
