// The `lathbook` command: words in, text and an exit status out. Nothing is decided here that the service does not
// decide.
#pragma once

#include <functional>
#include <iosfwd>
#include <optional>
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
  /// Asks at the terminal without showing what is typed; nothing when there is no terminal or nothing was typed.
  std::function<std::optional<std::string>(const std::string& question)> ask_secret;
};

/// Runs one command; `arguments` without the program's name. Exit status: docs/calc.md.
[[nodiscard]] int run(const std::vector<std::string>& arguments, const World& world);

}  // namespace lathbook::cli
