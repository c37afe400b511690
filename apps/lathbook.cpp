#include <unistd.h>

#include <chrono>
#include <cstdlib>
#include <ctime>
#include <exception>
#include <iostream>
#include <string>
#include <vector>

#include "cli/cli.h"

namespace {

std::string formatted(std::time_t when, const char* form, bool utc) {
  std::tm parts{};
  if (utc) {
    gmtime_r(&when, &parts);
  } else {
    localtime_r(&when, &parts);
  }
  char text[32];
  return {text, std::strftime(text, sizeof text, form, &parts)};
}

}  // namespace

int main(int argc, char** argv) {
  std::ios::sync_with_stdio(false);
  const auto now = std::chrono::system_clock::to_time_t(std::chrono::system_clock::now());
  const char* no_colour = std::getenv("NO_COLOR");  // NOLINT(concurrency-mt-unsafe): there is one thread yet
  const lathbook::cli::World world{std::cin,
                                   std::cout,
                                   std::cerr,
                                   isatty(STDOUT_FILENO) == 1,
                                   no_colour != nullptr && *no_colour != '\0',
                                   formatted(now, "%Y-%m-%dT%H:%M:%SZ", true),
                                   formatted(now, "%Y-%m-%d", false)};
  try {
    const int status = lathbook::cli::run(std::vector<std::string>(argv + 1, argv + argc), world);
    std::cout.flush();
    if (!std::cout) {
      std::cerr << "lathbook: the answer could not be written out whole\n";
      return 1;
    }
    // Every book is closed by now; what is left is tables in memory, which the system takes back faster than we could.
    std::_Exit(status);
  } catch (const std::exception& broken) {
    std::cerr << "lathbook: a fault of the program itself, not yours: " << broken.what() << "\n";
    return 1;
  }
}
