// Does a rectangle go into a rectangle, turned any way? The question behind "flat", "leaning" and "through the door".
//
// A p × q rectangle (p ≥ q) goes into an a × b one (a ≥ b) if and only if q ≤ b and either p ≤ a, or
//   b ≥ (2 p q a + (p² − q²) √(p² + q² − a²)) / (p² + q²).
// Sources: Carver 1957; Wetzel 2000, Math. Mag. 73(3) 204–211. Checked in shape_test.cpp against printed examples, by
// turning the rectangle in small steps, and against the diagonal of the box for no thickness.
#pragma once

namespace lathbook::waste {

/// Lengths in metres that differ by less than this are the same: a nanometre, for sums of thicknesses.
inline constexpr double kSameLength_m = 1e-9;

struct Rectangle {
  double long_m = 0;
  double short_m = 0;  ///< need not be the shorter one: the functions sort
};

/// True when `inner` goes into `outer`, turned by any angle in its plane.
[[nodiscard]] bool goes_into(Rectangle inner, Rectangle outer);

}  // namespace lathbook::waste
