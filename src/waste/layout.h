// Which pieces go into one vehicle together, whole, and where each lies.
//
// The model of a load. Pieces stand in piles on the floor, side by side, none on another pile. In a pile all pieces lie
// face to face, the largest first, in one of three ways:
//   flat     on the largest face; piled upwards; footprint the longest × the widest, height the sum of thicknesses
//            (a pile alone on the floor may also lie askew);
//   on edge  upright on a long or a short edge; piled sideways; the edge that stands up must be below the roof;
//   leaning  resting along a whole edge, tilted across the vehicle or along it: the pile's cross-section, its width by
//            the sum of thicknesses, goes into the vehicle's (shape.h); it takes the full width (or length) for its
//            own length.
// Piles are arranged by guillotine cuts: the floor is cut across into two parts, each holds a pile or is cut again.
// Nothing bends, nothing is cut, sizes are those of the wrapped pieces (give `gap_m` for the wrapping).
//
// For a set S of pieces F(S) is the set of smallest footprints (x, y) that hold S: those of S as one pile, and for
// every split of S in two (x1 + x2, max(y1, y2)) and (max(x1, x2), y1 + y2). S goes in if some (x, y) in F(S) is within
// the floor. Taking pieces out of a load that goes leaves a load that goes. Each F is kept as a staircase, so that a
// split costs as many steps as its two parts have footprints.
//
// Exact in this model up to kExactWork splits for a set (some 13 different pieces); larger sets are tried with the
// pieces in a few fixed orders, each part of a cut taking a run of them, which can only say yes. Beyond that, or when
// the work allowed has been done, the answer is kUnknown, never a guess.
#pragma once

#include <cstdint>
#include <memory>
#include <string>
#include <vector>

#include "waste/shape.h"

namespace lathbook::waste {

enum class How { kFlat, kOnEdge, kLeaning };
[[nodiscard]] const char* word(How how);

/// Inside of the load space; the door opening when there is one narrower than it.
struct Box {
  double length_m = 0;
  double width_m = 0;
  double height_m = 0;
};

/// Pieces of one size, sides in falling order.
struct Sheet {
  double length_m = 0;
  double width_m = 0;
  double thickness_m = 0;
};

/// One pile in a load. x runs along the vehicle from the door, y across it.
struct Pile {
  How how = How::kFlat;
  double x_m = 0;
  double y_m = 0;
  double size_x_m = 0;
  double size_y_m = 0;
  double height_m = 0;
  std::vector<std::size_t> sheets;  ///< kinds of sheet in the order of piling, one entry a piece
};

enum class Fits { kYes, kNo, kUnknown };

/// How many of each kind of sheet.
using Counts = std::vector<int>;

/// Splits of one set, and of all sets within it, that are worked through to settle it.
inline constexpr double kExactWork = 2e6;

/// Remembers what it has worked out for one vehicle and one list of kinds.
class Layouts {
 public:
  /// `work_limit` bounds the splits looked at over the life of the object.
  Layouts(std::vector<Sheet> kinds, Box box, std::int64_t work_limit);
  ~Layouts();
  Layouts(const Layouts&) = delete;
  Layouts& operator=(const Layouts&) = delete;

  [[nodiscard]] Fits fits(const Counts& counts);

  /// Where the pieces lie; `counts` must fit.
  [[nodiscard]] std::vector<Pile> layout(const Counts& counts);

  /// Splits looked at so far.
  [[nodiscard]] std::int64_t work() const;

 private:
  struct State;
  std::unique_ptr<State> state_;
};

}  // namespace lathbook::waste
