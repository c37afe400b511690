// How often a test that draws at random does so: a few times in every run, as often as promised in `./test --long`.
#pragma once

#include <cstdlib>

namespace lathbook::testing {

[[nodiscard]] inline int times(int usual, int in_a_long_run) {
  return std::getenv("LATHBOOK_LONG") != nullptr ? in_a_long_run : usual;
}

}  // namespace lathbook::testing
