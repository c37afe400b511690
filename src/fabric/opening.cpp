#include "fabric/opening.h"

#include <algorithm>
#include <optional>

namespace lathbook::fabric {
namespace {

constexpr double kWindowHeadM = 2.1;  ///< a window's top, unless the room is lower
constexpr double kSlackM = 1e-6;

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

}  // namespace lathbook::fabric
