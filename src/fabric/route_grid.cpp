#include "fabric/route_grid.h"

#include <algorithm>
#include <cmath>
#include <numbers>

#include "fabric/opening.h"

namespace lathbook::fabric {
namespace {

using book::FaceKind;

constexpr double kSameLineM = 1e-6;
constexpr double kBeyondClearM = 1e-4;  ///< lines keep this much more than the clearance asked for
constexpr double kOffCornerM = 0.05;    ///< a run keeps this far off a corner behind which a blocking material begins
constexpr double kPartitionM = 0.15;    ///< thicker than this is a wall
constexpr int kMostVoidsCrossed = 4;

Owner both(Owner a, Owner b) {
  if (a == kFree || a == b) return b;
  if (b == kFree) return a;
  return a == kNever || b == kNever ? kNever : kSeveral;
}

Point turned(Point p, double angle) {
  const double c = std::cos(angle);
  const double s = std::sin(angle);
  return {c * p.x_m - s * p.y_m, s * p.x_m + c * p.y_m};
}

void tidy(std::vector<double>& lines, double low, double high) {
  std::sort(lines.begin(), lines.end());
  std::vector<double> kept;
  for (const double one : lines) {
    if (one < low - kSameLineM || one > high + kSameLineM) continue;
    if (kept.empty() || one - kept.back() > kSameLineM) kept.push_back(one);
  }
  lines = std::move(kept);
}

std::optional<std::size_t> line_at(const std::vector<double>& lines, double value) {
  const auto found = std::lower_bound(lines.begin(), lines.end(), value - 2 * kSameLineM);
  if (found == lines.end() || *found > value + 2 * kSameLineM) return std::nullopt;
  return static_cast<std::size_t>(found - lines.begin());
}

bool is_void(const Space& space) { return space.kind == book::RoomKind::kVoid || space.kind == book::RoomKind::kShaft; }

bool properly_cross(Point a, Point b, Point c, Point d) {
  const auto side = [](Point p, Point q, Point r) {
    return (q.x_m - p.x_m) * (r.y_m - p.y_m) - (q.y_m - p.y_m) * (r.x_m - p.x_m);
  };
  const double abc = side(a, b, c);
  const double abd = side(a, b, d);
  const double cda = side(c, d, a);
  const double cdb = side(c, d, b);
  constexpr double kFlat = 1e-9;
  return ((abc > kFlat && abd < -kFlat) || (abc < -kFlat && abd > kFlat)) &&
         ((cda > kFlat && cdb < -kFlat) || (cda < -kFlat && cdb > kFlat));
}

bool is_upright(const Spread& shape) {
  return shape.points.size() == 4 && std::all_of(shape.points.begin(), shape.points.end(), [&](Point p) {
           const auto at = [](double value, double one, double other) {
             return std::min(std::abs(value - one), std::abs(value - other)) < kSameLineM;
           };
           return at(p.x_m, shape.box.x0 + shape.radius_m, shape.box.x1 - shape.radius_m) &&
                  at(p.y_m, shape.box.y0 + shape.radius_m, shape.box.y1 - shape.radius_m);
         });
}

/// The bare geometry of a shape that is a point, a level or upright stroke, or an upright rectangle, as most are.
std::optional<Box> plain_core(const Spread& shape) {
  const double r = shape.radius_m;
  const Box core{shape.box.x0 + r, shape.box.y0 + r, shape.box.x1 - r, shape.box.y1 - r};
  const bool stroke = shape.points.size() <= 2 && std::min(core.x1 - core.x0, core.y1 - core.y0) < kSameLineM;
  if (stroke || (shape.filled && is_upright(shape))) return core;
  return std::nullopt;
}

/// Whether a run from a to b stays on a face's outline.
bool on_outline(const Ring& outline, Point a, Point b) {
  if (!covers(outline, a) || !covers(outline, b) || !covers(outline, {(a.x_m + b.x_m) / 2, (a.y_m + b.y_m) / 2}))
    return false;
  for (std::size_t i = 0; i < outline.size(); ++i) {
    if (properly_cross(a, b, outline[i], outline[(i + 1) % outline.size()])) return false;
  }
  return true;
}

}  // namespace

HoleFabric RouteGrid::fabric_of(const Backing& backing) {
  if (backing.outdoors) return HoleFabric::kOpenGround;
  if (!backing.wall) return HoleFabric::kFloor;
  return backing.thickness_m > kPartitionM + kSameLineM ? HoleFabric::kWall : HoleFabric::kPartition;
}

std::size_t RouteGrid::run_face(const Plan& plan, std::size_t face) {
  const FaceInfo& info = plan.faces()[face];
  return info.face.kind == FaceKind::kRoof ? plan.spaces()[info.space].ceiling_face() : face;
}

RouteGrid::RouteGrid(const Plan& plan, const MaterialIndex& materials, const std::vector<bool>& blocks,
                     const RouteRequest& request)
    : plan_(plan),
      materials_(materials),
      blocks_(blocks),
      clear_m_(request.uncertainty_m + request.service.diameter_m / 2),
      radius_m_(request.service.diameter_m / 2),
      obstacles_(plan.faces().size()),
      grids_(plan.faces().size()) {
  choose_frames();
  gather_obstacles();
  add_ghosts();
  add_openings();
  gather_lines(request);
}

/// Each room's axes: the mean direction of its walls, a quarter turn being nothing, weighted by their length. Rooms
/// whose axes agree share them exactly.
void RouteGrid::choose_frames() {
  std::vector<double> kinds;
  for (const auto& space : plan_.spaces()) {
    double c = 0;
    double s = 0;
    for (std::size_t i = 0; i < space.outline.size(); ++i) {
      const Point a = space.outline[i];
      const Point b = space.outline[(i + 1) % space.outline.size()];
      const double angle = 4 * std::atan2(b.y_m - a.y_m, b.x_m - a.x_m);
      c += distance_m(a, b) * std::cos(angle);
      s += distance_m(a, b) * std::sin(angle);
    }
    double angle = std::atan2(s, c) / 4;
    for (const double kind : kinds) {
      if (std::abs(std::remainder(angle - kind, std::numbers::pi / 2)) < kSameLineM) {
        angle = kind;
        break;
      }
    }
    if (std::find(kinds.begin(), kinds.end(), angle) == kinds.end()) kinds.push_back(angle);
    frame_.push_back(angle);
    for (std::size_t i = 0; i < space.outline.size(); ++i) {
      const Point along = turned(plan_.faces()[space.wall_face(i)].along, -angle);
      if (std::min(std::abs(along.x_m), std::abs(along.y_m)) > kSameLineM) square_ = false;
    }
  }
  if (kinds.size() > 1) square_ = false;
}

Point3 RouteGrid::in_frame(Point3 p) const {
  const Point q = turned({p.x, p.y}, -frame_.front());
  return {q.x_m, q.y_m, p.z};
}

RouteGrid::Portal RouteGrid::portal(std::size_t number, const Pass& pass) const {
  const Backing& backing = plan_.backings()[number];
  const FaceGrid& grid = grids_[backing.face];
  constexpr double kFar = std::numeric_limits<double>::infinity();
  Portal portal{{kFar, kFar, kFar}, {-kFar, -kFar, -kFar}, kNever};
  const auto widen = [&](Point3 p) {
    portal.low = {std::min(portal.low.x, p.x), std::min(portal.low.y, p.y), std::min(portal.low.z, p.z)};
    portal.high = {std::max(portal.high.x, p.x), std::max(portal.high.y, p.y), std::max(portal.high.z, p.z)};
  };
  if (grid.built && pass.released == kFree && !pass.everything) {
    const auto& of_face = plan_.faces()[backing.face].backings;
    const auto at = static_cast<std::size_t>(std::find(of_face.begin(), of_face.end(), number) - of_face.begin());
    for (std::size_t node = 0; node < grid.size(); ++node) {
      if (grid.holes[at][node] != kFree || grid.node[node] != kFree) continue;
      widen(grid.places[node]);
      portal.shut = kFree;
    }
    return portal;
  }
  portal.shut = kFree;
  for (const auto& ring : backing.where) {
    for (const auto& p : ring) widen(place(backing.face, p));
  }
  const auto covered = [&](std::size_t face, const Box& box) {
    for (const auto& o : obstacles_[face]) {
      const auto shape = o.shape.filled ? as_box(o.shape.points) : std::nullopt;
      if (!shape) continue;
      const Box reach = shape->grown(o.clear_m);
      if (reach.x0 <= box.x0 && reach.y0 <= box.y0 && reach.x1 >= box.x1 && reach.y1 >= box.y1)
        portal.shut = both(portal.shut, o.owner);
    }
  };
  covered(backing.face, backing.box);
  covered(backing.other, plan_.backings()[number ^ 1].box);
  return portal;
}

/// A point of a face in space, turned into the frame of a square house.
Point3 RouteGrid::place(std::size_t face, Point p) const {
  const FaceInfo& info = plan_.faces()[face];
  const Space& space = plan_.spaces()[info.space];
  const Point foot = plan_.in_plan(face, p);
  const double up_m = info.face.kind == FaceKind::kWall      ? p.y_m
                      : info.face.kind == FaceKind::kCeiling ? space.wall_height_m
                                                             : 0;
  const Point3 there{foot.x_m, foot.y_m, space.floor_m + up_m};
  return square_ ? in_frame(there) : there;
}

Point RouteGrid::to_grid(std::size_t face, Point p) const {
  const FaceInfo& info = plan_.faces()[face];
  return info.face.kind == FaceKind::kWall ? p : turned(p, -frame_[info.space]);
}

Point RouteGrid::from_grid(std::size_t face, Point p) const {
  const FaceInfo& info = plan_.faces()[face];
  return info.face.kind == FaceKind::kWall ? p : turned(p, frame_[info.space]);
}

Spread RouteGrid::to_grid(std::size_t face, const Spread& shape) const {
  auto points = shape.points;
  for (auto& p : points) p = to_grid(face, p);
  return make_spread(std::move(points), shape.filled, shape.radius_m);
}

/// What lies inside a room, as a band up the wall it lies against.
Spread RouteGrid::inside_on_wall(const Spread& shape, std::size_t wall) const {
  const FaceInfo& info = plan_.faces()[wall];
  double low = std::numeric_limits<double>::infinity();
  double high = -low;
  for (const auto& p : shape.points) {
    const double u = (p.x_m - info.left.x_m) * info.along.x_m + (p.y_m - info.left.y_m) * info.along.y_m;
    low = std::min(low, u - shape.radius_m);
    high = std::max(high, u + shape.radius_m);
  }
  return make_spread({{low, 0}, {high, 0}, {high, info.box.y1}, {low, info.box.y1}}, true);
}

/// Everything that blocks on a face: on it, on the other name of the same surface, and what lies inside against it.
void RouteGrid::append_face(std::size_t face, std::vector<Obstacle>& to) const {
  const FaceInfo& info = plan_.faces()[face];
  const Space& space = plan_.spaces()[info.space];
  const auto take = [&](std::size_t from) {
    for (const auto& entry : materials_.on_face(from)) {
      if (blocks_[entry.material]) to.push_back({entry.spread, static_cast<Owner>(entry.material) + 1, clear_m_});
    }
  };
  take(face);
  if (info.face.kind == FaceKind::kCeiling) {
    for (std::size_t roof = space.first_roof_face(); roof < space.first_face + space.face_count; ++roof) take(roof);
  }
  for (const auto& entry : materials_.on_face(space.inside_face())) {
    if (!blocks_[entry.material]) continue;
    const Owner owner = static_cast<Owner>(entry.material) + 1;
    if (info.face.kind != FaceKind::kWall) {
      to.push_back({entry.spread, owner, clear_m_});
      continue;
    }
    const Point a = info.left;
    const Point b = plan_.in_plan(face, {info.box.x1, 0});
    // Shallow enough that a hole could reach it also counts in a shaft.
    const double reach_m = clear_m_ + (is_void(space) ? kCrossVoidM : 0);
    if (distance_m(entry.spread, a, b) <= reach_m) to.push_back({inside_on_wall(entry.spread, face), owner, clear_m_});
  }
}

void RouteGrid::gather_obstacles() {
  for (const auto& space : plan_.spaces()) {
    append_face(space.floor_face(), obstacles_[space.floor_face()]);
    append_face(space.ceiling_face(), obstacles_[space.ceiling_face()]);
    for (std::size_t i = 0; i < space.outline.size(); ++i)
      append_face(space.wall_face(i), obstacles_[space.wall_face(i)]);
  }
}

/// A blocking material that reaches a corner keeps runs on the next face 50 mm off that stretch of it.
void RouteGrid::add_ghosts() {
  const double clear_m = kOffCornerM + radius_m_;
  std::vector<std::pair<std::size_t, Obstacle>> ghosts;
  const auto add = [&](std::size_t face, Point a, Point b, Owner owner) {
    ghosts.push_back({face, {make_spread({a, b}, false), owner, clear_m}});
  };
  for (const auto& space : plan_.spaces()) {
    const std::size_t n = space.outline.size();
    for (std::size_t i = 0; i < n; ++i) {
      const std::size_t wall = space.wall_face(i);
      const FaceInfo& info = plan_.faces()[wall];
      const double length_m = info.box.x1;
      const double top_m = info.box.y1;
      const auto u_of = [&](Point p) {
        return std::clamp((p.x_m - info.left.x_m) * info.along.x_m + (p.y_m - info.left.y_m) * info.along.y_m, 0.0,
                          length_m);
      };
      for (const bool ceiling : {false, true}) {
        const std::size_t flat = ceiling ? space.ceiling_face() : space.floor_face();
        const double v = ceiling ? top_m : 0;
        for (const auto& o : obstacles_[flat]) {
          if (distance_m(o.shape, plan_.in_plan(wall, {0, 0}), plan_.in_plan(wall, {length_m, 0})) >= clear_m) continue;
          double low = length_m;
          double high = 0;
          for (const auto& p : o.shape.points) {
            low = std::min(low, u_of(p) - o.shape.radius_m);
            high = std::max(high, u_of(p) + o.shape.radius_m);
          }
          add(wall, {low, v}, {high, v}, o.owner);
        }
        for (const auto& o : obstacles_[wall]) {
          const bool reaches = ceiling ? o.shape.box.y1 > top_m - clear_m : o.shape.box.y0 < clear_m;
          if (reaches)
            add(flat, plan_.in_plan(wall, {o.shape.box.x0, 0}), plan_.in_plan(wall, {o.shape.box.x1, 0}), o.owner);
        }
      }
      const std::size_t next = space.wall_face((i + 1) % n);
      const double next_length_m = plan_.faces()[next].box.x1;
      for (const auto& o : obstacles_[wall]) {
        if (o.shape.box.x0 < clear_m)
          add(next, {next_length_m, o.shape.box.y0}, {next_length_m, o.shape.box.y1}, o.owner);
      }
      for (const auto& o : obstacles_[next]) {
        if (o.shape.box.x1 > next_length_m - clear_m) add(wall, {0, o.shape.box.y0}, {0, o.shape.box.y1}, o.owner);
      }
    }
  }
  for (auto& [face, ghost] : ghosts) obstacles_[face].push_back(std::move(ghost));
}

void RouteGrid::add_openings() {
  for (const auto& opening : plan_.openings()) {
    if (opening.kind == book::OpeningKind::kVent) continue;
    for (auto& one : faces_of(plan_, opening))
      obstacles_[one.face].push_back({make_spread(std::move(one.outline), true), kNever, radius_m_});
  }
}

/// Lines through a point of a face's grid, in every face of its room.
void RouteGrid::add_lines(std::size_t face, Point p) {
  const FaceInfo& info = plan_.faces()[face];
  Lines& lines = lines_[info.space];
  Point q = p;
  if (info.face.kind == FaceKind::kWall) {
    lines.z.push_back(plan_.spaces()[info.space].floor_m + p.y_m);
    q = turned(plan_.in_plan(face, p), -frame_[info.space]);
    // Along a wall that lies square to the room only one of the two is new.
    const Point along = turned(info.along, -frame_[info.space]);
    if (std::abs(along.x_m) > kSameLineM) lines.x.push_back(q.x_m);
    if (std::abs(along.y_m) > kSameLineM) lines.y.push_back(q.y_m);
    return;
  }
  lines.x.push_back(q.x_m);
  lines.y.push_back(q.y_m);
}

void RouteGrid::gather_lines(const RouteRequest& request) {
  lines_.resize(plan_.spaces().size());
  const double margin_m = kOffCornerM + radius_m_ + kBeyondClearM;
  for (std::size_t s = 0; s < plan_.spaces().size(); ++s) {
    const Space& space = plan_.spaces()[s];
    Lines& lines = lines_[s];
    for (const auto& p : space.outline) {
      const Point q = turned(p, -frame_[s]);
      for (const double by : {0.0, -margin_m, margin_m}) {
        lines.x.push_back(q.x_m + by);
        lines.y.push_back(q.y_m + by);
      }
    }
    const double top_m = space.floor_m + space.wall_height_m;
    lines.z.insert(lines.z.end(), {space.floor_m, space.floor_m + margin_m, top_m - margin_m, top_m});
    const auto add = [&](std::size_t face) {
      for (const auto& o : obstacles_[face]) {
        const double clear_m = o.shape.radius_m + o.clear_m + kBeyondClearM;
        const Spread shape = to_grid(face, o.shape);
        // The clear lines of its box, and of every corner of an outline that is no upright rectangle.
        const double r = o.shape.radius_m;
        std::vector<Point> lows{{shape.box.x0 + r, shape.box.y0 + r}};
        std::vector<Point> highs{{shape.box.x1 - r, shape.box.y1 - r}};
        if (shape.points.size() > 2 && shape.points.size() <= 12 && !is_upright(shape)) {
          lows.insert(lows.end(), shape.points.begin(), shape.points.end());
          highs.insert(highs.end(), shape.points.begin(), shape.points.end());
        }
        for (const auto& [points, by] : {std::pair(&lows, -clear_m), std::pair(&highs, clear_m)}) {
          for (const auto& p : *points) add_lines(face, {p.x_m + by, p.y_m + by});
        }
      }
    };
    add(space.floor_face());
    add(space.ceiling_face());
    for (std::size_t i = 0; i < space.outline.size(); ++i) add(space.wall_face(i));
  }
  // The ends' lines run through the whole house, so that a straight run stays straight from room to room.
  const double stand_off_m = 2 * request.service.bend_radius_m;
  for (const Spot* spot : {&request.from, &request.to}) {
    const auto face = plan_.find_face(spot->room, spot->face);
    const Point end = to_grid(*face, spot->at);
    for (const double by : {0.0, -stand_off_m, stand_off_m}) add_lines(*face, {end.x_m + by, end.y_m + by});
    const Point plan_point = plan_.in_plan(*face, spot->at);
    for (std::size_t s = 0; s < plan_.spaces().size(); ++s) {
      if (frame_[s] != frame_[plan_.faces()[*face].space]) continue;
      const Point q = turned(plan_point, -frame_[s]);
      lines_[s].x.push_back(q.x_m);
      lines_[s].y.push_back(q.y_m);
      if (spot->face.kind == FaceKind::kWall)
        lines_[s].z.push_back(plan_.spaces()[plan_.faces()[*face].space].floor_m + spot->at.y_m);
    }
  }
  // Rooms that lie askew to each other share no lines: they share the middle of each stretch where they meet.
  for (const auto& backing : plan_.backings()) {
    if (frame_[plan_.faces()[backing.face].space] == frame_[plan_.faces()[backing.other].space]) continue;
    for (const auto& ring : backing.where) {
      const Point middle = inmost_point(ring).at;
      add_lines(backing.face, to_grid(backing.face, middle));
      add_lines(backing.other, to_grid(backing.other, backing.across(middle)));
    }
  }
}

/// What a hole through a backing meets, in coordinates of its near face: the far face, and on across voids.
std::vector<RouteGrid::Obstacle> RouteGrid::behind(const Backing& backing, int voids_crossed) const {
  std::vector<Obstacle> met;
  append_face(backing.other, met);
  const FaceInfo& info = plan_.faces()[backing.other];
  const Space& space = plan_.spaces()[info.space];
  const auto add = [&](std::vector<Obstacle> more) {
    met.insert(met.end(), std::make_move_iterator(more.begin()), std::make_move_iterator(more.end()));
  };
  const auto add_far = [&](std::size_t opposite, auto map) {
    std::vector<Obstacle> more;
    append_face(opposite, more);
    for (const std::size_t index : plan_.faces()[opposite].backings) {
      for (auto& o : behind(plan_.backings()[index], voids_crossed + 1)) more.push_back(std::move(o));
    }
    for (auto& o : more) {
      for (auto& p : o.shape.points) p = map(p);
      o.shape = make_spread(std::move(o.shape.points), o.shape.filled, o.shape.radius_m);
    }
    add(std::move(more));
  };
  if (is_void(space) && voids_crossed < kMostVoidsCrossed) {
    if (!backing.wall) {
      const std::size_t opposite = backing.other == space.floor_face() ? space.ceiling_face() : space.floor_face();
      if (space.height_m <= kCrossVoidM) add_far(opposite, [](Point p) { return p; });
    } else {
      for (std::size_t edge = 0; edge < space.outline.size(); ++edge) {
        const std::size_t other = space.wall_face(edge);
        const FaceInfo& wall = plan_.faces()[other];
        if (other == backing.other || info.along.x_m * wall.along.x_m + info.along.y_m * wall.along.y_m > -0.98)
          continue;
        const double deep_m =
            (wall.left.x_m - info.left.x_m) * info.along.y_m - (wall.left.y_m - info.left.y_m) * info.along.x_m;
        if (deep_m < 0 || deep_m > kCrossVoidM) continue;
        const double shift_m =
            (info.left.x_m - wall.left.x_m) * wall.along.x_m + (info.left.y_m - wall.left.y_m) * wall.along.y_m;
        add_far(other, [shift_m](Point p) { return Point{shift_m - p.x_m, p.y_m}; });
      }
    }
  }
  if (backing.wall) {
    for (auto& o : met) {
      for (auto& p : o.shape.points) p = {backing.shift_u_m - p.x_m, p.y_m - backing.shift_v_m};
      o.shape = make_spread(std::move(o.shape.points), o.shape.filled, o.shape.radius_m);
    }
  }
  return met;
}

void RouteGrid::build_lines(std::size_t face, FaceGrid& grid) const {
  const FaceInfo& info = plan_.faces()[face];
  std::vector<std::size_t> rooms{info.space};
  for (const std::size_t index : info.backings) {
    const std::size_t other = plan_.faces()[plan_.backings()[index].other].space;
    if (frame_[other] == frame_[info.space]) rooms.push_back(other);
  }
  const bool wall = info.face.kind == FaceKind::kWall;
  const double floor_m = plan_.spaces()[info.space].floor_m;
  for (const std::size_t room : rooms) {
    const Lines& lines = lines_[room];
    if (!wall) {
      grid.xs.insert(grid.xs.end(), lines.x.begin(), lines.x.end());
      grid.ys.insert(grid.ys.end(), lines.y.begin(), lines.y.end());
      continue;
    }
    const Point left = turned(info.left, -frame_[info.space]);
    const Point along = turned(info.along, -frame_[info.space]);
    if (std::abs(along.x_m) > kSameLineM) {
      for (const double x : lines.x) grid.xs.push_back((x - left.x_m) / along.x_m);
    }
    if (std::abs(along.y_m) > kSameLineM) {
      for (const double y : lines.y) grid.xs.push_back((y - left.y_m) / along.y_m);
    }
    for (const double z : lines.z) grid.ys.push_back(z - floor_m);
  }
  Ring outline = info.outline;
  for (auto& p : outline) p = to_grid(face, p);
  const Box box = box_of(outline);
  tidy(grid.xs, box.x0, box.x1);
  tidy(grid.ys, box.y0, box.y1);
}

void RouteGrid::mark(std::size_t face, FaceGrid& grid, const Obstacle& obstacle) const {
  const Spread shape = to_grid(face, obstacle.shape);
  const double near_m = obstacle.clear_m + kBeyondClearM / 2;
  const Box box = shape.box.grown(near_m);
  const auto first = [](const std::vector<double>& lines, double low) {
    const auto at = static_cast<std::size_t>(std::lower_bound(lines.begin(), lines.end(), low) - lines.begin());
    return at == 0 ? at : at - 1;  // the stretch before may still come near
  };
  const auto core = plain_core(shape);
  // A stretch of the grid from low to high, level or upright or of no length.
  const auto is_near = [&](Point low, Point high) {
    if (!core) return distance_m(shape, low, high) < near_m;
    const double dx = std::max({0.0, core->x0 - high.x_m, low.x_m - core->x1});
    const double dy = std::max({0.0, core->y0 - high.y_m, low.y_m - core->y1});
    const double reach_m = near_m + shape.radius_m;
    return dx * dx + dy * dy < reach_m * reach_m;
  };
  const std::size_t nx = grid.xs.size();
  for (std::size_t iy = first(grid.ys, box.y0); iy < grid.ys.size() && grid.ys[iy] <= box.y1; ++iy) {
    for (std::size_t ix = first(grid.xs, box.x0); ix < nx && grid.xs[ix] <= box.x1; ++ix) {
      const std::size_t node = iy * nx + ix;
      const Point p{grid.xs[ix], grid.ys[iy]};
      if (is_near(p, p)) grid.node[node] = both(grid.node[node], obstacle.owner);
      if (ix + 1 < nx && is_near(p, {grid.xs[ix + 1], p.y_m}))
        grid.right[node] = both(grid.right[node], obstacle.owner);
      if (iy + 1 < grid.ys.size() && is_near(p, {p.x_m, grid.ys[iy + 1]}))
        grid.up[node] = both(grid.up[node], obstacle.owner);
    }
  }
}

void RouteGrid::mark_holes(std::size_t face, FaceGrid& grid, std::size_t of_face) const {
  const Backing& backing = plan_.backings()[plan_.faces()[face].backings[of_face]];
  auto& owners = grid.holes[of_face];
  owners.assign(grid.size(), kNever);
  const double margin_m = kOffCornerM + radius_m_;
  const std::size_t nx = grid.xs.size();
  for (const auto& ring : backing.where) {
    const auto upright = as_box(ring);
    const Box room = upright.value_or(Box{}).grown(-margin_m);
    for (std::size_t node = 0; node < owners.size(); ++node) {
      const Point p = from_grid(face, {grid.xs[node % nx], grid.ys[node / nx]});
      if (upright) {
        if (p.x_m >= room.x0 && p.x_m <= room.x1 && p.y_m >= room.y0 && p.y_m <= room.y1) owners[node] = kFree;
        continue;
      }
      if (owners[node] == kFree || !covers(ring, p)) continue;
      double edge_m = std::numeric_limits<double>::infinity();
      for (std::size_t i = 0; i < ring.size(); ++i)
        edge_m = std::min(edge_m, distance_to_segment_m(p, ring[i], ring[(i + 1) % ring.size()]));
      if (edge_m >= margin_m) owners[node] = kFree;
    }
  }
  for (const auto& obstacle : behind(backing, 0)) {
    const Spread shape = to_grid(face, obstacle.shape);
    const double near_m = obstacle.clear_m + kBeyondClearM / 2;
    for (std::size_t node = 0; node < owners.size(); ++node) {
      if (owners[node] == kNever) continue;
      const Point p{grid.xs[node % nx], grid.ys[node / nx]};
      if (shape.box.grown(near_m).meets({p.x_m, p.y_m, p.x_m, p.y_m}) && distance_m(shape, p, p) < near_m)
        owners[node] = both(owners[node], obstacle.owner);
    }
  }
}

int RouteGrid::direction_id(Point3 d) {
  for (std::size_t i = 0; i < directions_.size(); ++i) {
    const Point3& known = directions_[i];
    if (std::abs(known.x - d.x) + std::abs(known.y - d.y) + std::abs(known.z - d.z) < kSameLineM)
      return static_cast<int>(i);
  }
  directions_.push_back(d);
  return static_cast<int>(directions_.size()) - 1;
}

void RouteGrid::build(std::size_t face) {
  FaceGrid& grid = grids_[face];
  grid.built = true;
  const FaceInfo& info = plan_.faces()[face];
  const Space& space = plan_.spaces()[info.space];
  build_lines(face, grid);
  const std::size_t n = grid.size();
  const std::size_t nx = grid.xs.size();
  grid.node.assign(n, kFree);
  grid.right.assign(n, kFree);
  grid.up.assign(n, kFree);
  const bool wall = info.face.kind == FaceKind::kWall;
  if (!wall) {
    grid.edges.assign(n, {-1, -1});
    const bool upright = as_box(info.outline).has_value();  // its lines end at its box
    for (std::size_t node = 0; node < n; ++node) {
      const std::size_t ix = node % nx;
      const std::size_t iy = node / nx;
      const Point p = from_grid(face, {grid.xs[ix], grid.ys[iy]});
      if (!upright && !covers(info.outline, p)) {
        grid.node[node] = grid.right[node] = grid.up[node] = kNever;
        continue;
      }
      if (!upright && ix + 1 < nx && !on_outline(info.outline, p, from_grid(face, {grid.xs[ix + 1], grid.ys[iy]})))
        grid.right[node] = kNever;
      if (!upright && iy + 1 < grid.ys.size() &&
          !on_outline(info.outline, p, from_grid(face, {grid.xs[ix], grid.ys[iy + 1]})))
        grid.up[node] = kNever;
      std::size_t found = 0;
      for (std::size_t i = 0; i < space.outline.size() && found < 2; ++i) {
        const Point a = space.outline[i];
        const Point b = space.outline[(i + 1) % space.outline.size()];
        const bool beside = p.x_m < std::min(a.x_m, b.x_m) - kSameLineM ||
                            p.x_m > std::max(a.x_m, b.x_m) + kSameLineM ||
                            p.y_m < std::min(a.y_m, b.y_m) - kSameLineM || p.y_m > std::max(a.y_m, b.y_m) + kSameLineM;
        if (!beside && distance_to_segment_m(p, a, b) < kSameLineM)
          grid.edges[node][found++] = static_cast<std::int16_t>(i);
      }
    }
  }
  for (const auto& obstacle : obstacles_[face]) mark(face, grid, obstacle);
  grid.places.reserve(n);
  for (std::size_t node = 0; node < n; ++node)
    grid.places.push_back(place(face, from_grid(face, {grid.xs[node % nx], grid.ys[node / nx]})));
  grid.meetings.resize(info.backings.size());
  grid.holes.resize(info.backings.size());
  for (std::size_t i = 0; i < info.backings.size(); ++i) mark_holes(face, grid, i);

  Point3 x{info.along.x_m, info.along.y_m, 0};
  Point3 y{0, 0, 1};
  Point3 out{-info.along.y_m, info.along.x_m, 0};
  if (!wall) {
    const Point ex = turned({1, 0}, frame_[info.space]);
    x = {ex.x_m, ex.y_m, 0};
    y = {-ex.y_m, ex.x_m, 0};
    out = {0, 0, info.face.kind == FaceKind::kFloor ? -1.0 : 1.0};
  }
  const auto opposite = [](Point3 d) { return Point3{-d.x, -d.y, -d.z}; };
  if (square_) {
    x = in_frame(x);
    y = in_frame(y);
    out = in_frame(out);
  }
  grid.directions = {direction_id(x),           direction_id(opposite(x)), direction_id(y),
                     direction_id(opposite(y)), direction_id(out),         direction_id(opposite(out))};
}

std::optional<NodeRef> RouteGrid::node_at(std::size_t face, Point p) {
  const FaceGrid& g = grid(face);
  const Point q = to_grid(face, p);
  const auto ix = line_at(g.xs, q.x_m);
  const auto iy = line_at(g.ys, q.y_m);
  if (!ix || !iy) return std::nullopt;
  return NodeRef{face, *iy * g.xs.size() + *ix};
}

Point RouteGrid::at(NodeRef node) {
  const FaceGrid& g = grid(node.face);
  return from_grid(node.face, {g.xs[node.node % g.xs.size()], g.ys[node.node / g.xs.size()]});
}

void RouteGrid::at_edge(NodeRef node, std::vector<NodeRef>& out) {
  const FaceInfo& info = plan_.faces()[node.face];
  const Space& space = plan_.spaces()[info.space];
  const FaceGrid& g = grid(node.face);
  const auto add = [&](std::size_t face, Point p) {
    if (const auto there = node_at(face, p)) out.push_back(*there);
  };
  if (info.face.kind != FaceKind::kWall) {
    const double v = info.face.kind == FaceKind::kFloor ? 0 : space.wall_height_m;
    const Point p = at(node);
    for (const auto edge : g.edges[node.node]) {
      if (edge < 0) continue;
      const std::size_t wall = space.wall_face(static_cast<std::size_t>(edge));
      add(wall, {distance_m(p, plan_.faces()[wall].left), v});
    }
    return;
  }
  const std::size_t nx = g.xs.size();
  const std::size_t ix = node.node % nx;
  const std::size_t iy = node.node / nx;
  const std::size_t edge = static_cast<std::size_t>(info.face.number - 1);
  const std::size_t corners = space.outline.size();
  const Point p = at(node);
  if (iy == 0) add(space.floor_face(), plan_.in_plan(node.face, p));
  if (iy + 1 == g.ys.size()) add(space.ceiling_face(), plan_.in_plan(node.face, p));
  if (ix == 0) {
    const std::size_t next = space.wall_face((edge + 1) % corners);
    add(next, {plan_.faces()[next].box.x1, p.y_m});
  }
  if (ix + 1 == nx) add(space.wall_face((edge + corners - 1) % corners), {0, p.y_m});
}

void RouteGrid::meet_lines(std::size_t face, std::size_t of_face) {
  const Backing& backing = plan_.backings()[plan_.faces()[face].backings[of_face]];
  const FaceGrid& other = grid(backing.other);
  FaceGrid& here = grids_[face];
  auto& meeting = here.meetings[of_face];
  meeting.built = true;
  const bool askew = !backing.wall && frame_[plan_.faces()[face].space] != frame_[plan_.faces()[backing.other].space];
  if (askew) return;
  const auto meet = [](const std::vector<double>& lines, const std::vector<double>& others, auto map) {
    std::vector<std::int32_t> met;
    met.reserve(lines.size());
    for (const double line : lines) {
      const auto at = line_at(others, map(line));
      met.push_back(at ? static_cast<std::int32_t>(*at) : -1);
    }
    return met;
  };
  meeting.x = meet(here.xs, other.xs, [&](double u) { return backing.wall ? backing.shift_u_m - u : u; });
  meeting.y = meet(here.ys, other.ys, [&](double v) { return backing.wall ? v + backing.shift_v_m : v; });
}

std::optional<NodeRef> RouteGrid::through(NodeRef node, std::size_t of_face) {
  const Backing& backing = plan_.backings()[plan_.faces()[node.face].backings[of_face]];
  if (!grid(node.face).meetings[of_face].built) meet_lines(node.face, of_face);
  const FaceGrid& here = grids_[node.face];
  const auto& meeting = here.meetings[of_face];
  if (meeting.x.empty()) return node_at(backing.other, backing.across(at(node)));
  const std::size_t nx = here.xs.size();
  const auto x = meeting.x[node.node % nx];
  const auto y = meeting.y[node.node / nx];
  if (x < 0 || y < 0) return std::nullopt;
  return NodeRef{backing.other,
                 static_cast<std::size_t>(y) * grids_[backing.other].xs.size() + static_cast<std::size_t>(x)};
}

std::optional<NodeRef> RouteGrid::across_void(NodeRef node) {
  const FaceInfo& info = plan_.faces()[node.face];
  const Space& space = plan_.spaces()[info.space];
  if (!is_void(space) || space.wall_height_m > kCrossVoidM || info.face.kind == FaceKind::kWall) return std::nullopt;
  return node_at(info.face.kind == FaceKind::kFloor ? space.ceiling_face() : space.floor_face(), at(node));
}

}  // namespace lathbook::fabric
