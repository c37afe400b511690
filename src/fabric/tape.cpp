#include "fabric/tape.h"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>
#include <tuple>
#include <vector>

namespace lathbook::fabric {
namespace {

constexpr double kSlackM = 1e-9;
constexpr double kAsideM = 1e-6;       ///< how far a tape is moved aside to see whether it passes a corner
constexpr double kTellM = 0.05;        ///< nearer than this reads 0.0
const double kApart = std::sqrt(0.5);  ///< sine of the least angle between the two walls, 45 degrees

double cross(Point a, Point b) { return a.x_m * b.y_m - a.y_m * b.x_m; }
Point from_to(Point a, Point b) { return {b.x_m - a.x_m, b.y_m - a.y_m}; }

Point nearest_on(Point a, Point b, Point p) {
  const Point along = from_to(a, b);
  const Point to = from_to(a, p);
  const double length2 = along.x_m * along.x_m + along.y_m * along.y_m;
  const double f = std::clamp((to.x_m * along.x_m + to.y_m * along.y_m) / length2, 0.0, 1.0);
  return {a.x_m + f * along.x_m, a.y_m + f * along.y_m};
}

/// The place of an outline nearest to a point: the point itself when it lies inside.
Point into(const Ring& outline, Point p) {
  if (covers(outline, p)) return p;
  Point nearest = outline.front();
  for (std::size_t i = 0; i < outline.size(); ++i) {
    const Point on = nearest_on(outline[i], outline[(i + 1) % outline.size()], p);
    if (distance_m(on, p) < distance_m(nearest, p)) nearest = on;
  }
  return nearest;
}

bool cross_each_other(Point a, Point b, Point c, Point d) {
  const auto side = [](Point from, Point to, Point of) { return cross(from_to(from, to), from_to(from, of)); };
  return side(a, b, c) * side(a, b, d) < 0 && side(c, d, a) * side(c, d, b) < 0;
}

/// No other edge lies between a spot and its foot on an edge. A tape may touch a corner or lie along a wall: it is free
/// when it is on one side of itself or the other.
bool free_between(const Ring& outline, Point p, Point foot, std::size_t edge, Point along) {
  for (const double shift_m : {kAsideM, -kAsideM}) {
    const Point a{p.x_m + shift_m * along.x_m, p.y_m + shift_m * along.y_m};
    const Point b{foot.x_m + shift_m * along.x_m, foot.y_m + shift_m * along.y_m};
    bool free = true;
    for (std::size_t j = 0; free && j < outline.size(); ++j)
      free = j == edge || !cross_each_other(a, b, outline[j], outline[(j + 1) % outline.size()]);
    if (free) return true;
  }
  return false;
}

/// How far a spot is from the walls that have it on their inner side.
std::vector<OffWall> off_walls(const Plan& plan, const Space& space, Point p) {
  std::vector<OffWall> list;
  const Ring& outline = space.outline;
  for (std::size_t i = 0; i < outline.size(); ++i) {
    const std::size_t face = space.wall_face(i);
    const FaceInfo& wall = plan.faces()[face];
    // The room lies to the right of a wall walked from its left end.
    const Point from_left = from_to(wall.left, p);
    const double off_m = cross(from_left, wall.along);
    if (off_m < -kSlackM) continue;
    const double u = from_left.x_m * wall.along.x_m + from_left.y_m * wall.along.y_m;
    const Point foot{wall.left.x_m + u * wall.along.x_m, wall.left.y_m + u * wall.along.y_m};
    const bool reached = u >= -kSlackM && u <= wall.box.x1 + kSlackM && free_between(outline, p, foot, i, wall.along);
    list.push_back({face, std::max(0.0, off_m), reached});
  }
  return list;
}

std::array<OffWall, 2> two_walls(const Plan& plan, const Space& space, Point p) {
  const auto list = off_walls(plan, space, p);
  std::array<OffWall, 2> best{};
  auto least = std::tuple(3, 0.0);
  for (std::size_t i = 0; i < list.size(); ++i) {
    for (std::size_t j = i + 1; j < list.size(); ++j) {
      const double apart = std::abs(cross(plan.faces()[list[i].face].along, plan.faces()[list[j].face].along));
      const int unreached = (list[i].reached ? 0 : 1) + (list[j].reached ? 0 : 1);
      const auto cost = apart >= kApart - kSlackM ? std::tuple(unreached, list[i].distance_m + list[j].distance_m)
                                                  : std::tuple(3, -apart);
      if (cost >= least) continue;
      least = cost;
      best = {list[i], list[j]};
    }
  }
  if (best[1].distance_m < best[0].distance_m) std::swap(best[0], best[1]);
  return best;
}

enum class Side { kLeft, kRight, kTop, kBottom };

Side side_of(const FaceInfo& wall) {
  const Point out{-wall.along.y_m, wall.along.x_m};
  if (std::abs(out.x_m) > std::abs(out.y_m)) return out.x_m > 0 ? Side::kRight : Side::kLeft;
  return out.y_m > 0 ? Side::kTop : Side::kBottom;
}

const char* words_of(Side side) {
  switch (side) {
    case Side::kLeft:
      return "left on the plan";
    case Side::kRight:
      return "right on the plan";
    case Side::kTop:
      return "at the top of the plan";
    case Side::kBottom:
      return "at the bottom of the plan";
  }
  return "";
}

}  // namespace

Taped taped(const Plan& plan, std::size_t face, Point at) {
  const FaceInfo& info = plan.faces()[face];
  if (info.face.kind == book::FaceKind::kWall)
    return AlongWall{face, std::clamp(at.x_m, 0.0, info.box.x1), std::clamp(at.y_m, 0.0, info.box.y1)};
  const Space& space = plan.spaces()[info.space];
  return two_walls(plan, space, into(space.outline, at));
}

std::string wall_text(const Plan& plan, std::size_t face) {
  const FaceInfo& wall = plan.faces()[face];
  const Space& space = plan.spaces()[wall.space];
  const Side side = side_of(wall);
  int alike = 0;
  for (std::size_t i = 0; i < space.outline.size(); ++i)
    alike += side_of(plan.faces()[space.wall_face(i)]) == side ? 1 : 0;
  return fmt::format("wall {} ({}{})", wall.face.number, words_of(side),
                     alike > 1 ? fmt::format(", {:.1f} m long", wall.box.x1) : "");
}

std::string taped_text(const Plan& plan, std::size_t face, Point at) {
  const Taped told = taped(plan, face, at);
  if (const auto* along = std::get_if<AlongWall>(&told)) {
    return fmt::format("{}: {} its left end (seen from inside the room), {}", wall_text(plan, along->face),
                       along->from_left_m < kTellM ? "at" : fmt::format("{:.1f} m from", along->from_left_m),
                       along->up_m < kTellM ? "at the floor" : fmt::format("{:.1f} m up", along->up_m));
  }
  const auto& two = std::get<1>(told);
  if (two[0].distance_m < kTellM && two[1].distance_m < kTellM && two[0].reached && two[1].reached)
    return fmt::format("at the corner of {} and {}", wall_text(plan, two[0].face), wall_text(plan, two[1].face));
  std::string text;
  for (const auto& off : two) {
    if (!text.empty()) text += ", ";
    text += off.distance_m < kTellM ? "at " : fmt::format("{:.1f} m from ", off.distance_m);
    text += (off.reached ? "" : "the line of ") + wall_text(plan, off.face);
  }
  if (plan.faces()[face].face.kind == book::FaceKind::kRoof) text += ", measured level";
  return text;
}

}  // namespace lathbook::fabric
