// The `lathbook` command: words in, text and an exit status out. Nothing is decided here that the service does not
// decide.
#pragma once

#include <iosfwd>
#include <string>
#include <vector>

namespace lathbook::cli {

/// What the command may touch of the world around it.
struct World {
  std::istream& in;
  std::ostream& out;
  std::ostream& err;
  bool terminal = false;   ///< standard output is a terminal
  bool no_colour = false;  ///< NO_COLOR is set
  std::string now;         ///< UTC, YYYY-MM-DDThh:mm:ssZ
  std::string today;       ///< the local day, YYYY-MM-DD
};

/// Runs one command; `arguments` without the program's name. Exit status: docs/calc.md.
[[nodiscard]] int run(const std::vector<std::string>& arguments, const World& world);

}  // namespace lathbook::cli
