// Serves the page for `lathbook serve`. A program of its own, so that no other command has to load a web server and the
// cryptography that comes with it.
#include <exception>
#include <iostream>
#include <string>
#include <vector>

#include "failed.h"
#include "http/start.h"

int main(int argc, char** argv) {
  try {
    const auto wanted = lathbook::http::read_start(std::vector<std::string>(argv + 1, argv + argc));
    if (!wanted.ok()) return lathbook::apps::failed(wanted.faults());
    const auto served = lathbook::http::start(*wanted, std::cout);
    return served.ok() ? 0 : lathbook::apps::failed(served.faults());
  } catch (const std::exception& broken) {
    std::cerr << "lathbook: a fault of the program itself, not yours: " << broken.what() << "\n";
    return 1;
  }
}
