// A way for a cable, a pipe or a duct from one spot on a face to another, over faces and through walls and floors, that
// meets no material without a releasing standing.
//
// A run lies on floors, ceilings and walls, square to the room: parallel to its walls on floor and ceiling, level or
// upright on walls. It passes from face to face at their shared edge, and through a wall or floor where a face backs on
// to another. Everything it does stays clear of every blocking material by the position uncertainty and half its own
// diameter, on the face it runs on, in the void behind a hole and on the far side of it: the cuts a route asks for
// (cuts_of) touch no blocking material, not even possibly. It keeps off door and window openings, and 50 mm off a
// corner with a blocking material.
//
// Between two buildings it leaves through an outer wall and crosses open ground straight to a wall that faces it, at
// most 30 m off with nothing drawn between; what is outside is not known, and the answer says so.
//
// Cost = per_m x length + per_bend x bends + for each hole its fabric's figure x (1 + hole_per_mm x diameter). A bend
// is a change of direction in space, so going through a wall from a run along it to a run along the other side is two.
// With a bend radius R there are at least 2 R of straight run between bends, and R before the first and after the last;
// elbows at a hole are excepted.
//
// Exactness: the first route is the cheapest on the grid of lines through corners, ends and the clear edges of blocking
// materials of the rooms on both sides of each face (A*, checked against brute force). Each other route is sought with
// one hole of the route before it closed, each in turn, and costs at most 1.1 times the cheapest that leaves any one of
// them closed; where that gives none, with staying within 0.3 m of earlier routes counted three times, at most 1.1
// times the cheapest so counted. Each differs truly from all before: other holes, or less than 70 % of its length
// within 0.3 m of an earlier one. Page: docs/methods/fabric.md.
#pragma once

#include <cstddef>
#include <optional>
#include <span>
#include <string_view>
#include <vector>

#include "book/book.h"
#include "fabric/plan.h"
#include "fabric/touch.h"
#include "reason/fault.h"
#include "reason/reason.h"

namespace lathbook::fabric {

/// How many times the cheapest of its kind a route other than the first may cost: finding the very cheapest of each
/// takes far longer.
inline constexpr double kOtherRouteSlack = 1.1;

/// A spot on a face, in its coordinates.
struct Spot {
  book::RoomId room;
  book::Face face;
  Point at;
};

enum class ServiceKind { kCable, kPipe, kDuct };

struct Service {
  ServiceKind kind = ServiceKind::kCable;
  double diameter_m = 0.01;
  double bend_radius_m = 0;  ///< 0: bends as it likes
};

/// Open ground: out through one outer wall, straight across, and in through another.
enum class HoleFabric { kPartition, kWall, kFloor, kOpenGround };
[[nodiscard]] std::string_view word(HoleFabric fabric);  ///< partition (up to 0.15 m thick), wall, floor, open ground

/// What a route costs, in metres of plain run unless the person says otherwise. The defaults are judgement.
struct Weights {
  double per_m = 1;
  double per_bend = 0.3;
  double hole_partition = 2;
  double hole_wall = 5;
  double hole_floor = 4;
  double hole_per_mm = 0.02;     ///< a hole's figure grows by this share for each mm of diameter
  double open_ground_per_m = 3;  ///< a metre across open ground, beside the two walls; never less than `per_m`
  [[nodiscard]] double hole(HoleFabric fabric, double diameter_m) const;
};

struct RouteRequest {
  Spot from;
  Spot to;
  Service service;
  Weights weights;
  int count = 3;
  double uncertainty_m = kUncertaintyM;
};

struct Hole {
  Spot from;
  Spot to;
  HoleFabric fabric = HoleFabric::kPartition;
  double thickness_m = 0;
  double cost = 0;
  std::size_t backing = 0;  ///< index in Plan::backings()
};

struct Route {
  double length_m = 0;
  int bends = 0;
  double cost = 0;
  std::vector<Hole> holes;
  std::vector<Spot> path;  ///< ends, bends, and both faces where it passes from one to the next
};

/// A material that alone stands in the way, and the cheapest route that would open were it released or gone.
struct Blocker {
  std::size_t material = 0;  ///< index among the materials given
  Route opens;
};

struct RouteAnswer {
  std::vector<Route> routes;         ///< cheapest first, up to `count`
  std::vector<Blocker> blocked_by;   ///< only when there is no route: cheapest opening first
  bool open_if_all_released = true;  ///< when there is no route: whether the drawing itself allows one
  reason::Reasons reasons;
};

/// `blocks[i]` says whether material i of the index may not be met. Faults: ends on rooms or faces that do not exist,
/// or off their face; an end on `inside`; a figure that is not positive.
[[nodiscard]] reason::Result<RouteAnswer> find_routes(const Plan& drawn, const MaterialIndex& materials,
                                                      const std::vector<bool>& blocks, const RouteRequest& request,
                                                      Naming naming = Naming::kId);

/// What laying a route does to the fabric: a line on each face it runs over, a hole through each wall and floor.
[[nodiscard]] std::vector<book::Cut> cuts_of(const Route& route, const Service& service);

/// A cable, pipe or duct that cuts lay.
struct LaidRun {
  Spot from;
  Spot to;
  double length_m = 0;            ///< as drawn, through the fabric included
  int holes = 0;                  ///< through walls and floors
  double diameter_m = 0;          ///< the widest of its lines and holes
  std::vector<std::size_t> cuts;  ///< that lay it, ascending
};

/// The run that cuts lay, told from what is written of them: one line each (count 1, not right through, by a task that
/// chases or clips: drill, fix-through, cut, grind), and single holes right through, that join end to end within 0.3 m.
/// Nothing for rows of holes (count above 1), separate holes, openings, lifted floors, lines that do not join, and a
/// ring that ends where it began.
[[nodiscard]] std::optional<LaidRun> laid_run(const Plan& plan, std::span<const book::Cut> cuts);

/// How much of `route` lies within 0.3 m of `other` on the same faces, 0 to 1.
[[nodiscard]] double share_along(const Plan& plan, const Route& route, const Route& other);

}  // namespace lathbook::fabric
