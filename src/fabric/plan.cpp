#include "fabric/plan.h"

#include <fmt/format.h>

#include <algorithm>
#include <array>
#include <cmath>
#include <numbers>

namespace lathbook::fabric {
namespace {

using reason::Fault;
using reason::Faults;

constexpr double kLeastSpanM = 0.01;  ///< shared walls shorter than this are a corner, not a wall
constexpr double kSlackM = 1e-6;      ///< rounding of drawn figures

std::string where(Naming naming, const char* list, std::size_t index, const std::string& id, const char* field) {
  return naming == Naming::kPointer ? fmt::format("/{}/{}/{}", list, index, field) : fmt::format("{} {}", id, field);
}

Ring anticlockwise(const Ring& outline) {
  Ring ring = outline;
  if (signed_area_m2(ring) < 0) std::reverse(ring.begin() + 1, ring.end());
  return ring;
}

/// The outline's own faults; nothing that follows can be worked out when there are any.
bool outline_sound(const Ring& outline, const std::string& at, Faults& faults) {
  if (outline.size() < 3) {
    faults.push_back({at, fmt::format("{} corners", outline.size()), "is not an outline", "at least 3 corners"});
    return false;
  }
  const bool finite =
      std::all_of(outline.begin(), outline.end(), [](Point p) { return std::isfinite(p.x_m) && std::isfinite(p.y_m); });
  if (!finite) {
    faults.push_back({at, "", "has a corner that is not a number", "metres"});
    return false;
  }
  // An outline laid like a bow tie has no signed area either: only corners all in one line enclose nothing.
  const Box box = box_of(outline);
  const Point across{box.x1 - box.x0, box.y1 - box.y0};
  const auto off_line = [&](Point p) {
    const auto rising = (p.x_m - box.x0) * across.y_m - (p.y_m - box.y0) * across.x_m;
    const auto falling = (p.x_m - box.x0) * across.y_m - (box.y1 - p.y_m) * across.x_m;
    return std::pair(std::abs(rising) > 1e-9, std::abs(falling) > 1e-9);
  };
  const bool in_line = std::none_of(outline.begin(), outline.end(), [&](Point p) { return off_line(p).first; }) ||
                       std::none_of(outline.begin(), outline.end(), [&](Point p) { return off_line(p).second; });
  if (in_line) {
    faults.push_back({at, "", "has no area", "corners that enclose some floor"});
    return false;
  }
  if (const auto pair = crossing_edges(outline)) {
    const Point p = outline[pair->first];
    const Point q = outline[pair->second];
    faults.push_back(
        {at, "",
         fmt::format("crosses or touches itself: the edge from ({:g}, {:g}) and the edge from ({:g}, {:g})", p.x_m,
                     p.y_m, q.x_m, q.y_m),
         "corners in order round the room"});
    return false;
  }
  if (std::abs(signed_area_m2(outline)) < 1e-6) {
    faults.push_back({at, "", "has no area", "corners that enclose some floor"});
    return false;
  }
  return true;
}

/// Part of a room's top: a flat ceiling or a height zone.
struct Top {
  std::vector<Ring> all_of;
  std::vector<Ring> none_of;
  double low_m = 0;  ///< level
  double high_m = 0;
};

std::vector<Top> tops(const Space& space) {
  std::vector<Top> parts;
  Top flat{{space.outline}, {}, space.floor_m + space.height_m, space.floor_m + space.height_m};
  for (const auto& zone : space.zones) {
    parts.push_back({{space.outline, zone.outline}, {}, space.floor_m + zone.low_m, space.floor_m + zone.high_m});
    flat.none_of.push_back(zone.outline);
  }
  parts.push_back(std::move(flat));
  return parts;
}

/// How far the heights of two rooms overlap where both are lowest.
double levels_shared_m(const Space& a, const Space& b) {
  return std::min(a.floor_m + a.height_m, b.floor_m + b.height_m) - std::max(a.floor_m, b.floor_m);
}

/// A rectangle on a wall.
struct Patch {
  double u0, v0, u1, v1;
  [[nodiscard]] bool empty() const { return u1 - u0 < kLeastSpanM || v1 - v0 < kLeastSpanM; }
};

/// What is left of patches once `taken` is behind something nearer.
std::vector<Patch> without(const std::vector<Patch>& patches, const Patch& taken) {
  std::vector<Patch> left;
  for (const auto& p : patches) {
    const Patch common{std::max(p.u0, taken.u0), std::max(p.v0, taken.v0), std::min(p.u1, taken.u1),
                       std::min(p.v1, taken.v1)};
    if (common.empty()) {
      left.push_back(p);
      continue;
    }
    for (const Patch& rest :
         {Patch{p.u0, p.v0, common.u0, p.v1}, Patch{common.u1, p.v0, p.u1, p.v1},
          Patch{common.u0, p.v0, common.u1, common.v0}, Patch{common.u0, common.v1, common.u1, p.v1}}) {
      if (!rest.empty()) left.push_back(rest);
    }
  }
  return left;
}

Ring ring_of(const Patch& p) { return {{p.u0, p.v0}, {p.u1, p.v0}, {p.u1, p.v1}, {p.u0, p.v1}}; }

/// Whether nothing is drawn on the ground between a stretch of a wall and the one it faces.
bool is_open(const Plan& plan, std::size_t face, std::size_t other, const Patch& patch, double gap_m) {
  const auto spaces = plan.spaces();
  const FaceInfo& wall = plan.faces()[face];
  const double floor_m = spaces[wall.space].floor_m;
  const Point out{-wall.along.y_m * gap_m, wall.along.x_m * gap_m};
  const Point a = plan.in_plan(face, {patch.u0, 0});
  const Point b = plan.in_plan(face, {patch.u1, 0});
  const Ring ground{a, b, {b.x_m + out.x_m, b.y_m + out.y_m}, {a.x_m + out.x_m, a.y_m + out.y_m}};
  const Box box = box_of(ground);
  return std::none_of(spaces.begin(), spaces.end(), [&](const Space& space) {
    const auto index = static_cast<std::size_t>(&space - spaces.data());
    if (index == wall.space || index == plan.faces()[other].space || !space.box.meets(box)) return false;
    if (space.floor_m >= floor_m + patch.v1 || space.floor_m + space.wall_height_m <= floor_m + patch.v0) return false;
    const std::array both{ground, space.outline};
    double area_m2 = 0;
    for (const auto& part : overlay(both)) area_m2 += std::abs(signed_area_m2(part));
    return area_m2 > kLeastSpanM;
  });
}

/// One wall behind another, before nearer ones hide it.
struct Facing {
  std::size_t face, other;
  double gap_m;
  Patch patch;
  double shift_u_m, shift_v_m;
};

}  // namespace

reason::Result<Plan> Plan::build(std::span<const book::Storey> storeys, std::span<const book::Room> rooms,
                                 std::span<const book::Opening> openings, Naming naming) {
  Plan plan;
  Faults faults;
  plan.storeys_.assign(storeys.begin(), storeys.end());
  plan.openings_.assign(openings.begin(), openings.end());
  std::unordered_map<std::string, std::size_t> storey_by_id;
  for (std::size_t i = 0; i < storeys.size(); ++i) {
    storey_by_id.emplace(storeys[i].id.text, i);
    if (!(storeys[i].height_m > 0)) {
      faults.push_back({where(naming, "storeys", i, storeys[i].id.text, "height_m"),
                        fmt::format("{:g}", storeys[i].height_m), "puts its ceiling below its floor",
                        "a height above 0 m"});
    }
  }
  std::vector<std::size_t> room_of_space;
  for (std::size_t i = 0; i < rooms.size(); ++i) {
    const auto& room = rooms[i];
    const auto at = [&](const char* field) { return where(naming, "rooms", i, room.id.text, field); };
    const std::size_t faults_before = faults.size();
    const auto storey = storey_by_id.find(room.storey.text);
    if (storey == storey_by_id.end()) {
      std::vector<std::string> known;
      for (const auto& one : storeys) known.push_back(one.id.text);
      faults.push_back(
          {at("storey"), room.storey.text, "is not a storey", fmt::format("one of: {}", fmt::join(known, ", "))});
    }
    if (plan.space_by_id_.contains(room.id.text)) {
      faults.push_back({at("id"), room.id.text, "is used by two rooms", "each room's id once"});
    }
    if (room.height_m && !(*room.height_m > 0)) {
      faults.push_back({at("height_m"), fmt::format("{:g}", *room.height_m), "puts its ceiling below its floor",
                        "a height above 0 m"});
    }
    const bool sound = outline_sound(room.outline, at("outline"), faults);
    for (std::size_t z = 0; z < room.heights.size(); ++z) {
      const auto& zone = room.heights[z];
      const auto at_zone = at(naming == Naming::kPointer ? fmt::format("heights/{}", z).c_str()
                                                         : fmt::format("heights {}", z + 1).c_str());
      if (!(zone.low_m >= 0) || !(zone.high_m >= zone.low_m)) {
        faults.push_back({at_zone, fmt::format("{:g} to {:g} m", zone.low_m, zone.high_m), "is not a range of heights",
                          "the lower height first, neither below the floor"});
      }
      if (!outline_sound(zone.outline, at_zone, faults) || !sound) continue;
      for (const auto& p : zone.outline) {
        const double off_m = distance_to_ring_m(room.outline, p);
        if (off_m > kHealM) {
          faults.push_back({at_zone, fmt::format("({:g}, {:g})", p.x_m, p.y_m),
                            fmt::format("lies {:.2f} m outside its room", off_m),
                            fmt::format("corners within {:g} m of the room", kHealM)});
          break;
        }
      }
    }
    if (faults.size() > faults_before) continue;

    Space space;
    space.id = room.id;
    space.name = room.name;
    space.kind = room.kind;
    space.storey = storey->second;
    space.outline = anticlockwise(room.outline);
    space.floor_m = storeys[storey->second].floor_m;
    space.height_m = room.height_m.value_or(storeys[storey->second].height_m);
    if (!(space.height_m > 0)) continue;  // the storey's own fault
    space.zones = room.heights;
    space.wall_height_m = space.height_m;
    for (auto& zone : space.zones) {
      zone.outline = anticlockwise(zone.outline);
      space.wall_height_m = std::max(space.wall_height_m, zone.high_m);
    }
    space.box = box_of(space.outline);
    plan.space_by_id_.emplace(room.id.text, plan.spaces_.size());
    plan.spaces_.push_back(std::move(space));
    room_of_space.push_back(i);
    plan.add_faces(plan.spaces_.size() - 1);
  }

  for (std::size_t a = 0; a < plan.spaces_.size(); ++a) {
    for (std::size_t b = a + 1; b < plan.spaces_.size(); ++b) {
      const auto& one = plan.spaces_[a];
      const auto& two = plan.spaces_[b];
      if (!one.box.meets(two.box, -kHealM) || levels_shared_m(one, two) <= kHealM) continue;
      double deepest_m = 0;
      Point at;
      for (const auto& top_a : tops(one)) {
        for (const auto& top_b : tops(two)) {
          const double shared_m = std::min(top_a.low_m, top_b.low_m) - std::max(one.floor_m, two.floor_m);
          if (shared_m <= kHealM) continue;
          auto all_of = top_a.all_of;
          all_of.insert(all_of.end(), top_b.all_of.begin(), top_b.all_of.end());
          auto none_of = top_a.none_of;
          none_of.insert(none_of.end(), top_b.none_of.begin(), top_b.none_of.end());
          for (const auto& ring : overlay(all_of, none_of)) {
            const auto inmost = inmost_point(ring, 1e-3);
            if (2 * inmost.depth_m > deepest_m) {
              deepest_m = 2 * inmost.depth_m;
              at = inmost.at;
            }
          }
        }
      }
      if (deepest_m <= kHealM + 2e-3) continue;
      faults.push_back(
          {where(naming, "rooms", room_of_space[b], two.id.text, "outline"), "",
           fmt::format("overlaps {} by {:.2f} m near ({:.2f}, {:.2f})", one.id.text, deepest_m, at.x_m, at.y_m),
           fmt::format("rooms side by side; overlaps up to {:g} m count as a wall between", kHealM)});
    }
  }
  if (!faults.empty()) return faults;
  plan.add_walls_behind(kHealM);
  plan.add_floors_over();
  return plan;
}

void Plan::add_faces(std::size_t index) {
  Space& space = spaces_[index];
  space.first_face = faces_.size();
  const auto add = [&](book::FaceKind kind, int number, Ring outline, Point left = {}, Point along = {}) {
    FaceInfo face{index, {kind, number}, std::move(outline), {}, left, along, {}};
    face.box = box_of(face.outline);
    faces_.push_back(std::move(face));
  };
  add(book::FaceKind::kFloor, 0, space.outline);
  add(book::FaceKind::kCeiling, 0, space.outline);
  add(book::FaceKind::kInside, 0, space.outline);
  const std::size_t n = space.outline.size();
  for (std::size_t i = 0; i < n; ++i) {
    const Point right = space.outline[i];
    const Point left = space.outline[(i + 1) % n];
    const double length_m = distance_m(left, right);
    add(book::FaceKind::kWall, static_cast<int>(i) + 1,
        {{0, 0}, {length_m, 0}, {length_m, space.wall_height_m}, {0, space.wall_height_m}}, left,
        {(right.x_m - left.x_m) / length_m, (right.y_m - left.y_m) / length_m});
  }
  const int roofs = space.zones.empty() ? kRoofsWithoutZones : static_cast<int>(space.zones.size());
  for (int i = 0; i < roofs; ++i) {
    add(book::FaceKind::kRoof, i + 1,
        space.zones.empty() ? space.outline : space.zones[static_cast<std::size_t>(i)].outline);
  }
  space.face_count = faces_.size() - space.first_face;
}

/// Adds a backing and its twin seen from the other side.
void Plan::add_backing(Backing backing) {
  Backing twin = backing;
  std::swap(twin.face, twin.other);
  twin.shift_v_m = -backing.shift_v_m;
  for (auto& ring : twin.where) {
    for (auto& p : ring) p = backing.across(p);
    if (signed_area_m2(ring) < 0) std::reverse(ring.begin() + 1, ring.end());
  }
  for (Backing* one : {&backing, &twin}) {
    one->box = box_of(one->where.front());
    for (const auto& ring : one->where) {
      const Box box = box_of(ring);
      one->box = {std::min(one->box.x0, box.x0), std::min(one->box.y0, box.y0), std::max(one->box.x1, box.x1),
                  std::max(one->box.y1, box.y1)};
    }
    faces_[one->face].backings.push_back(backings_.size());
    backings_.push_back(std::move(*one));
  }
}

std::vector<std::size_t> Plan::buildings() const {
  constexpr auto kNone = static_cast<std::size_t>(-1);
  std::vector<std::size_t> building(spaces_.size(), kNone);
  std::size_t count = 0;
  for (std::size_t first = 0; first < spaces_.size(); ++first) {
    if (building[first] != kNone) continue;
    std::vector<std::size_t> open{first};
    building[first] = count;
    while (!open.empty()) {
      const Space& space = spaces_[open.back()];
      open.pop_back();
      for (std::size_t face = space.first_face; face < space.first_face + space.face_count; ++face) {
        for (const std::size_t index : faces_[face].backings) {
          const std::size_t other = faces_[backings_[index].other].space;
          if (backings_[index].outdoors || building[other] != kNone) continue;
          building[other] = count;
          open.push_back(other);
        }
      }
    }
    ++count;
  }
  return building;
}

Plan Plan::with_open_ground() const {
  Plan plan = *this;
  plan.add_walls_behind(kOutdoorsM);
  return plan;
}

std::vector<Gap> Plan::gaps() const {
  Plan plan = *this;
  plan.add_walls_behind(kDoubtfulGapM, Across::kAnything);
  std::vector<Gap> found;
  for (std::size_t i = backings_.size(); i < plan.backings_.size(); i += 2) {  // each is followed by its twin
    const auto& one = plan.backings_[i];
    found.push_back({one.face, one.other, one.thickness_m});
  }
  std::stable_sort(found.begin(), found.end(), [](const Gap& a, const Gap& b) { return a.gap_m > b.gap_m; });
  return found;
}

std::string Gap::text(const Plan& plan) const {
  const auto name = [&](std::size_t index) {
    const auto& one = plan.faces()[index];
    const auto& space = plan.spaces()[one.space];
    return fmt::format("{} of {} ({})", one.face.text(), space.id.text, space.name);
  };
  return fmt::format(
      "{} and {} are drawn {:.2f} m apart: if that is one wall, bring them within {:g} m; as it is, "
      "neither backs on to the other.",
      name(face), name(other), gap_m, kHealM);
}

/// Walls behind walls: up to `kHealM` apart they heal into one; farther only between buildings, over open ground.
void Plan::add_walls_behind(double farthest_m, Across across_what) {
  const bool outdoors = farthest_m > kHealM;
  const auto building = outdoors ? buildings() : std::vector<std::size_t>(spaces_.size());
  const double parallel = std::cos(10 * std::numbers::pi / 180);
  std::vector<Facing> facings;
  for (std::size_t a = 0; a < spaces_.size(); ++a) {
    for (std::size_t b = a + 1; b < spaces_.size(); ++b) {
      const Space& one = spaces_[a];
      const Space& two = spaces_[b];
      if (!one.box.meets(two.box, farthest_m)) continue;
      const double low_m = std::max(one.floor_m, two.floor_m);
      const double high_m = std::min(one.floor_m + one.wall_height_m, two.floor_m + two.wall_height_m);
      if (high_m - low_m < kLeastSpanM) continue;
      for (std::size_t i = 0; i < one.outline.size(); ++i) {
        const FaceInfo& wall = faces_[one.wall_face(i)];
        const double length_m = wall.outline[1].x_m;
        const Point out{-wall.along.y_m,
                        wall.along.x_m};  // seen from inside the wall runs to the right: outwards is ahead
        for (std::size_t j = 0; j < two.outline.size(); ++j) {
          const FaceInfo& opposite = faces_[two.wall_face(j)];
          if (wall.along.x_m * opposite.along.x_m + wall.along.y_m * opposite.along.y_m > -parallel) continue;
          const double opposite_length_m = opposite.outline[1].x_m;
          const auto u_of = [&](Point p) {
            return (p.x_m - wall.left.x_m) * wall.along.x_m + (p.y_m - wall.left.y_m) * wall.along.y_m;
          };
          const auto gap_of = [&](Point p) {
            return (p.x_m - wall.left.x_m) * out.x_m + (p.y_m - wall.left.y_m) * out.y_m;
          };
          const Point far_end{opposite.left.x_m + opposite_length_m * opposite.along.x_m,
                              opposite.left.y_m + opposite_length_m * opposite.along.y_m};
          const double u_left = u_of(opposite.left);
          const double u_right = u_of(far_end);
          const double u0 = std::max(0.0, u_right);
          const double u1 = std::min(length_m, u_left);
          if (u1 - u0 < kLeastSpanM) continue;
          // The gap where the two run past each other, at both ends of that stretch.
          const auto gap_at = [&](double u) {
            const double t = (u - u_left) / (u_right - u_left);
            return gap_of(opposite.left) + t * (gap_of(far_end) - gap_of(opposite.left));
          };
          const double gap0 = gap_at(u0);
          const double gap1 = gap_at(u1);
          if (std::min(gap0, gap1) < -kHealM - kSlackM || std::max(gap0, gap1) > farthest_m + kSlackM) continue;
          // Where the walls are not quite parallel, both ways round must give the same: take the mean of the two.
          const double shift_there = (wall.left.x_m - opposite.left.x_m) * opposite.along.x_m +
                                     (wall.left.y_m - opposite.left.y_m) * opposite.along.y_m;
          const double shift_u_m = (u_left + shift_there) / 2;
          facings.push_back({one.wall_face(i),
                             two.wall_face(j),
                             (gap0 + gap1) / 2,
                             {u0, low_m - one.floor_m, u1, high_m - one.floor_m},
                             shift_u_m,
                             one.floor_m - two.floor_m});
        }
      }
    }
  }
  // A wall is hidden from another by what lies in the gap between them, seen from either: a room drawn thinner than the
  // gap.
  std::stable_sort(facings.begin(), facings.end(),
                   [](const Facing& x, const Facing& y) { return std::abs(x.gap_m) < std::abs(y.gap_m); });
  std::vector<std::vector<std::pair<double, Patch>>> nearer(faces_.size());
  for (const auto& facing : facings) {
    const auto seen_from_other = [&](const Patch& p) {
      return Patch{facing.shift_u_m - p.u1, p.v0 + facing.shift_v_m, facing.shift_u_m - p.u0, p.v1 + facing.shift_v_m};
    };
    std::vector<Patch> patches{facing.patch};
    for (const auto& [gap_m, patch] : nearer[facing.face]) {
      if (std::abs(gap_m) + kLeastSpanM < std::abs(facing.gap_m)) patches = without(patches, patch);
    }
    for (const auto& [gap_m, patch] : nearer[facing.other]) {
      if (std::abs(gap_m) + kLeastSpanM >= std::abs(facing.gap_m)) continue;
      // Twice over: the mapping there and back is its own inverse up to the shift in height.
      patches = without(patches, {facing.shift_u_m - patch.u1, patch.v0 - facing.shift_v_m, facing.shift_u_m - patch.u0,
                                  patch.v1 - facing.shift_v_m});
    }
    if (patches.empty()) continue;
    const bool across = facing.gap_m > kHealM + kSlackM;
    const bool apart = building[faces_[facing.face].space] != building[faces_[facing.other].space];
    Backing backing{facing.face,      facing.other,     {},    {}, std::max(0.0, facing.gap_m), true,
                    facing.shift_u_m, facing.shift_v_m, across};
    for (const auto& patch : patches) {
      if (!across || is_open(*this, facing.face, facing.other, patch, facing.gap_m))
        backing.where.push_back(ring_of(patch));
      nearer[facing.face].emplace_back(facing.gap_m, patch);
      nearer[facing.other].emplace_back(facing.gap_m, seen_from_other(patch));
    }
    const bool wanted = !across || apart || across_what == Across::kAnything;
    if (across == outdoors && wanted && !backing.where.empty()) add_backing(std::move(backing));
  }
}

void Plan::add_floors_over() {
  for (std::size_t a = 0; a < spaces_.size(); ++a) {
    const Space& below = spaces_[a];
    std::vector<std::size_t> over;
    for (std::size_t b = 0; b < spaces_.size(); ++b) {
      if (b == a || !below.box.meets(spaces_[b].box)) continue;
      if (spaces_[b].floor_m <= below.floor_m) continue;
      if (spaces_[b].floor_m - (below.floor_m + below.wall_height_m) > kFloorBuildUpM) continue;
      over.push_back(b);
    }
    if (over.empty()) continue;
    const auto parts = tops(below);
    for (const std::size_t b : over) {
      const Space& above = spaces_[b];
      Backing backing{below.ceiling_face(), above.floor_face(), {}, {}, 0, false, 0, 0};
      for (const auto& top : parts) {
        const double least_m = above.floor_m - top.high_m;
        const double most_m = above.floor_m - top.low_m;
        if (most_m < -kHealM - kSlackM || least_m > kFloorBuildUpM + kSlackM) continue;
        auto all_of = top.all_of;
        all_of.push_back(above.outline);
        auto none_of = top.none_of;
        for (const std::size_t c : over) {
          // A room that lies wholly in between, such as a void drawn on its own storey.
          const Space& between = spaces_[c];
          if (c != b && between.floor_m >= top.low_m - kHealM &&
              between.floor_m + between.height_m <= above.floor_m + kHealM && between.floor_m < above.floor_m) {
            none_of.push_back(between.outline);
          }
        }
        for (auto& ring : overlay(all_of, none_of)) {
          backing.where.push_back(std::move(ring));
          backing.thickness_m = std::max({backing.thickness_m, 0.0, least_m});
        }
      }
      if (!backing.where.empty()) add_backing(std::move(backing));
    }
  }
}

std::optional<std::size_t> Plan::find_space(const book::RoomId& room) const {
  const auto found = space_by_id_.find(room.text);
  if (found == space_by_id_.end()) return std::nullopt;
  return found->second;
}

std::optional<std::size_t> Plan::find_face(std::size_t index, book::Face face) const {
  const Space& space = spaces_[index];
  std::size_t offset = 0;
  std::size_t first = space.first_face;
  std::size_t count = 1;
  switch (face.kind) {
    case book::FaceKind::kFloor:
      first = space.floor_face();
      break;
    case book::FaceKind::kCeiling:
      first = space.ceiling_face();
      break;
    case book::FaceKind::kInside:
      first = space.inside_face();
      break;
    case book::FaceKind::kWall:
    case book::FaceKind::kRoof:
      if (face.number < 1) return std::nullopt;
      offset = static_cast<std::size_t>(face.number - 1);
      first = face.kind == book::FaceKind::kWall ? space.wall_face(0) : space.first_roof_face();
      count = face.kind == book::FaceKind::kWall ? space.outline.size() : space.face_count - 3 - space.outline.size();
      break;
  }
  if (offset >= count) return std::nullopt;
  return first + offset;
}

std::optional<std::size_t> Plan::find_face(const book::RoomId& room, book::Face face) const {
  const auto space = find_space(room);
  return space ? find_face(*space, face) : std::nullopt;
}

Point Plan::in_plan(std::size_t face, Point p) const {
  const FaceInfo& info = faces_[face];
  if (info.face.kind != book::FaceKind::kWall) return p;
  return {info.left.x_m + p.x_m * info.along.x_m, info.left.y_m + p.x_m * info.along.y_m};
}

}  // namespace lathbook::fabric
