// What a person breathed: the fibre level where they were, divided by what their mask really kept out.
//
// A mask of protection PF worn for a share w of the time lets 1 - w + w/PF of the fibres through: its effective factor
// is 1/(1 - w + w/PF). A working year is 1,920 h, a continuous year 8,760 h; both are always named.
#pragma once

#include <functional>
#include <span>
#include <string>
#include <vector>

#include "reason/fault.h"

namespace lathbook::dose {

/// In one place from one minute to another.
struct Stay {
  std::size_t zone = 0;
  double from_min = 0;
  double to_min = 0;
};

/// A mask on, for `worn` (0 to 1) of the time.
struct Mask {
  double from_min = 0;
  double to_min = 0;
  double protection = 1;  ///< 1 or more
  double worn = 1;
};

[[nodiscard]] double effective_factor(double protection, double worn);

/// Faults with pointers below `where` (`…/stays/0/to_min`): a time that runs backwards or past `total_min`, a person in
/// two places, two masks at once, a protection below 1, a share worn outside 0 to 1.
[[nodiscard]] reason::Faults check(std::span<const Stay> stays, std::span<const Mask> masks, double total_min,
                                   const std::string& where);

/// A stretch of a stay with one mask (or none): what is breathed is the level over `factor`.
struct Stretch {
  std::size_t zone = 0;
  double from_min = 0;
  double to_min = 0;
  double factor = 1;
};
/// The stays cut where masks go on and off, in order of time.
[[nodiscard]] std::vector<Stretch> stretches(std::span<const Stay> stays, std::span<const Mask> masks);

[[nodiscard]] double working_years(double f_per_ml_h);
[[nodiscard]] double continuous_years(double f_per_ml_h);

}  // namespace lathbook::dose
