// Where a spot of a face is, told for a tape measure held inside its room.
//
// On a wall: metres from its left end as seen from inside, and up from the floor: the face's own coordinates. On a
// floor, ceiling, roof or inside: the distances, square to them, of the two nearest walls whose directions differ by at
// least 45 degrees; a tape from the spot meets each within its length with no other wall between. Where an outline has
// no two such walls, a wall's line carried on stands in for it, and where no two differ that much, the two that differ
// most. Both walls have the spot on their inner side, so that two distances are one spot; two always exist, because the
// walls that can be seen from a spot surround it. Told to 0.1 m: with 45 degrees or more between, the spot read back
// is at most 0.13 m off, less than the position uncertainty. Checked in tape_test.cpp by reading the words back.
#pragma once

#include <array>
#include <cstddef>
#include <string>
#include <variant>

#include "fabric/plan.h"

namespace lathbook::fabric {

/// Distance from a wall, square to it. [m]
struct OffWall {
  std::size_t face = 0;  ///< the wall, into Plan::faces()
  double distance_m = 0;
  bool reached = true;  ///< false: measured to the wall's line carried on beyond its ends or past another wall
};

struct AlongWall {
  std::size_t face = 0;
  double from_left_m = 0;  ///< of the left end as seen from inside the room
  double up_m = 0;         ///< above the room's floor
};

using Taped = std::variant<AlongWall, std::array<OffWall, 2>>;

/// `at` in the face's coordinates; one drawn off its room is moved to the nearest place of the room first (things may
/// be drawn off their face by the position uncertainty).
[[nodiscard]] Taped taped(const Plan& plan, std::size_t face, Point at);

/// "wall 2 (left on the plan)"; with its length where another wall of the room is on that side too.
[[nodiscard]] std::string wall_text(const Plan& plan, std::size_t face);

/// "wall 2 (left on the plan): 1.2 m from its left end (seen from inside the room), 1.5 m up", or
/// "0.8 m from wall 4 (left on the plan), 1.1 m from wall 3 (at the top of the plan)"; on a roof "measured level".
[[nodiscard]] std::string taped_text(const Plan& plan, std::size_t face, Point at);

}  // namespace lathbook::fabric
