// Makes the papers for `lathbook papers`. A program of its own, so that no other command has to load Cairo and Pango.
#include <exception>
#include <iostream>
#include <string>
#include <vector>

#include "press/press.h"

namespace {

int fail(const lathbook::reason::Faults& faults) {
  int status = 2;
  for (const auto& fault : faults) {
    std::cerr << "lathbook: " << fault.text() << "\n";
    if (fault.kind != lathbook::reason::FaultKind::kUsage && fault.kind != lathbook::reason::FaultKind::kValue)
      status = 1;
  }
  return status;
}

}  // namespace

int main(int argc, char** argv) {
  try {
    const auto order = lathbook::press::read_order(std::vector<std::string>(argv + 1, argv + argc));
    if (!order.ok()) return fail(order.faults());
    const auto written = lathbook::press::print(*order, std::cerr);
    if (!written.ok()) return fail(written.faults());
    for (const auto& file : *written) std::cout << file.path.string() << "\n";
    std::cout.flush();
    return std::cout ? 0 : 1;
  } catch (const std::exception& broken) {
    std::cerr << "lathbook: a fault of the program itself, not yours: " << broken.what() << "\n";
    return 1;
  }
}
