// Where a door, window, vent, hatch or stair lies on the faces of the rooms it joins.
//
// A hatch or stair is a square of its width on the ceiling of the lower room and the floor of the upper one; without an
// upper room, on the ceiling. Anything else is a rectangle on the wall nearest to it, of each room it joins, and on
// none that is farther off than a wall is thick (0.3 m). Its lower edge is its sill, above the floor of `from`; where
// none is written down, doors stand on the floor, and the top of a window or vent is at 2.1 m (common practice), lower
// in a lower room, and as much higher as it is tall.
//
// Routes keep off these shapes (route.h) and the page draws them.
#pragma once

#include <cstddef>
#include <vector>

#include "book/book.h"
#include "fabric/plan.h"

namespace lathbook::fabric {

struct OpeningOn {
  std::size_t face = 0;  ///< index in Plan::faces()
  Ring outline;          ///< in face coordinates; may reach past the wall's ends where it is drawn so
};

/// At most one face a room, `from` first. Nothing when its place is not written down.
[[nodiscard]] std::vector<OpeningOn> faces_of(const Plan& plan, const book::Opening& opening);

/// One leaf of a door, as plans draw it: standing open at a right angle to its wall, with the quarter circle its free
/// edge draws (common practice).
struct Leaf {
  Point hinge;
  Point open;  ///< its free edge when it stands open
  Point shut;  ///< and when it is shut
};

/// The leaves of a door in plan, in metres; none for anything else, or where its place is not written down. Where
/// nobody has said how it hangs: a pair when it is wider than 1.3 m, else at the end nearest a corner of the room it
/// leads from; into the room it leads to, and of a door to outdoors into the house.
[[nodiscard]] std::vector<Leaf> leaves_of(const Plan& plan, const book::Opening& opening);

}  // namespace lathbook::fabric
