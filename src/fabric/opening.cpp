#include "fabric/opening.h"

#include <algorithm>
#include <optional>

namespace lathbook::fabric {
namespace {

constexpr double kWindowHeadM = 2.1;  ///< a window's top, unless the room is lower
constexpr double kSlackM = 1e-6;
constexpr double kPairM = 1.3;  ///< a door wider than this has two leaves

Ring square(Point middle, double half_m) {
  const auto [x, y] = middle;
  return {{x - half_m, y - half_m}, {x + half_m, y - half_m}, {x + half_m, y + half_m}, {x - half_m, y + half_m}};
}

std::optional<std::size_t> wall_near(const Space& space, Point at) {
  std::optional<std::size_t> nearest;
  double nearest_m = kHealM + kSlackM;
  for (std::size_t i = 0; i < space.outline.size(); ++i) {
    const double off_m = distance_to_segment_m(at, space.outline[i], space.outline[(i + 1) % space.outline.size()]);
    if (off_m < nearest_m) {
      nearest_m = off_m;
      nearest = space.wall_face(i);
    }
  }
  return nearest;
}

}  // namespace

std::vector<OpeningOn> faces_of(const Plan& plan, const book::Opening& opening) {
  std::vector<OpeningOn> out;
  if (!opening.at) return out;
  const auto from = plan.find_space(opening.from);
  for (const auto& room : {opening.from, opening.to}) {
    const auto index = plan.find_space(room);
    if (!index) continue;
    const Space& space = plan.spaces()[*index];
    if (opening.kind == book::OpeningKind::kHatch || opening.kind == book::OpeningKind::kStair) {
      const auto other = plan.find_space(room == opening.from ? opening.to : opening.from);
      const bool above = other && plan.spaces()[*other].floor_m < space.floor_m;
      out.push_back({above ? space.floor_face() : space.ceiling_face(), square(*opening.at, opening.width_m / 2)});
      continue;
    }
    const auto wall = wall_near(space, *opening.at);
    if (!wall) continue;
    const FaceInfo& info = plan.faces()[*wall];
    const double u =
        (opening.at->x_m - info.left.x_m) * info.along.x_m + (opening.at->y_m - info.left.y_m) * info.along.y_m;
    double sill_m = 0;
    if (opening.sill_m) {
      sill_m = *opening.sill_m + (from ? plan.spaces()[*from].floor_m : space.floor_m) - space.floor_m;
    } else if (opening.kind != book::OpeningKind::kDoor) {
      sill_m = std::max(std::min(kWindowHeadM, info.box.y1), opening.height_m) - opening.height_m;
    }
    const double half_m = opening.width_m / 2;
    const double head_m = sill_m + opening.height_m;
    out.push_back({*wall, {{u - half_m, sill_m}, {u + half_m, sill_m}, {u + half_m, head_m}, {u - half_m, head_m}}});
  }
  return out;
}

std::vector<Leaf> leaves_of(const Plan& plan, const book::Opening& opening) {
  if (opening.kind != book::OpeningKind::kDoor) return {};
  for (const auto& on : faces_of(plan, opening)) {
    const FaceInfo& wall = plan.faces()[on.face];
    const bool from_inside = plan.spaces()[wall.space].id == opening.from;
    const double left = on.outline[0].x_m;
    const double right = on.outline[1].x_m;
    const double wide = right - left;
    auto hung = opening.hung;
    if (!hung && wide > kPairM) hung = book::Hung::kBoth;
    const bool at_left = !hung         ? left < wall.box.x1 - right
                         : from_inside ? *hung == book::Hung::kLeft
                                       : *hung == book::Hung::kRight;
    const auto opens = opening.opens.value_or(opening.to.empty() ? book::Opens::kIn : book::Opens::kOut);
    const double into = (opens == book::Opens::kIn) == from_inside ? 1 : -1;  // of the room this wall belongs to
    const auto leaf = [&](double at, double towards, double length) {
      const auto point = [&](double u, double v) {
        const Point foot = plan.in_plan(on.face, {u, 0});
        return Point{foot.x_m + wall.along.y_m * v, foot.y_m - wall.along.x_m * v};
      };
      return Leaf{point(at, 0), point(at, into * length), point(at + towards * length, 0)};
    };
    if (hung == book::Hung::kBoth) return {leaf(left, 1, wide / 2), leaf(right, -1, wide / 2)};
    return {at_left ? leaf(left, 1, wide) : leaf(right, -1, wide)};
  }
  return {};
}

}  // namespace lathbook::fabric
