// Makes the papers for `lathbook papers`. A program of its own, so that no other command has to load Cairo and Pango.
#include <exception>
#include <iostream>
#include <string>
#include <vector>

#include "failed.h"
#include "press/press.h"

int main(int argc, char** argv) {
  try {
    const auto order = lathbook::press::read_order(std::vector<std::string>(argv + 1, argv + argc));
    if (!order.ok()) return lathbook::apps::failed(order.faults());
    const auto written = lathbook::press::print(*order, std::cerr);
    if (!written.ok()) return lathbook::apps::failed(written.faults());
    for (const auto& file : *written) std::cout << file.path.string() << "\n";
    std::cout.flush();
    return std::cout ? 0 : 1;
  } catch (const std::exception& broken) {
    std::cerr << "lathbook: a fault of the program itself, not yours: " << broken.what() << "\n";
    return 1;
  }
}
