// Commands that need more than the rest of the program should have to load are programs of their own: beside this one,
// or in libexec/lathbook of the same tree once installed.
#pragma once

#include <string>
#include <string_view>
#include <vector>

#include "cli/cli.h"

namespace lathbook::cli {

/// Becomes the program of this name that comes with this one, given `words`. Returns only when it cannot be started.
[[nodiscard]] int hand_over(const World& world, std::string_view program, std::vector<std::string> words);

}  // namespace lathbook::cli
