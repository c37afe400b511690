#include "fabric/touch.h"

#include <algorithm>
#include <array>
#include <cmath>
#include <unordered_map>

namespace lathbook::fabric {
namespace {

using book::FaceKind;

constexpr double kRoundingM = 1e-9;
constexpr int kMostVoidsCrossed = 4;

/// How far into the fabric a cut goes.
enum class Reach { kSurface, kNearLayers, kIntoVoid, kThrough };

Reach reach_of(const book::Cut& cut) {
  if (cut.depth == book::Depth::kThrough || cut.task == "fix-through") return Reach::kThrough;
  if (cut.task == "open-up") return Reach::kIntoVoid;
  return cut.depth == book::Depth::kSurface ? Reach::kSurface : Reach::kNearLayers;
}

bool is_void(const Space& space) { return space.kind == book::RoomKind::kVoid || space.kind == book::RoomKind::kShaft; }

/// Everything one cut meets, gathered face by face; the strongest meeting with each material is kept.
class Gatherer {
 public:
  Gatherer(const Plan& plan, const MaterialIndex& materials, double uncertainty_m)
      : plan_(plan), materials_(materials), uncertainty_m_(uncertainty_m) {}

  std::vector<Touch> gather(std::size_t cut_index, const book::Cut& cut) {
    found_.clear();
    cut_ = cut_index;
    const auto face = plan_.find_face(cut.place.room, cut.place.face);
    if (!face) return {};
    const Spread shape = spread_of(plan_, *face, cut.place.shape, cut.diameter_mm.value_or(0) / 1000);
    const Reach reach = reach_of(cut);
    near_side(*face, shape, reach);
    if (reach >= Reach::kIntoVoid) behind(*face, shape, reach, 0);

    std::vector<Touch> touches;
    touches.reserve(found_.size());
    for (auto& [material, touch] : found_) touches.push_back(touch);
    std::sort(touches.begin(), touches.end(), [](const Touch& a, const Touch& b) {
      if (a.side != b.side) return a.side < b.side;
      if (a.certainty != b.certainty) return a.certainty < b.certainty;
      if (a.distance_m != b.distance_m) return a.distance_m < b.distance_m;
      return a.material_index < b.material_index;
    });
    return touches;
  }

 private:
  const Space& space_of(std::size_t face) const { return plan_.spaces()[plan_.faces()[face].space]; }

  void meet(const MaterialIndex::Entry& entry, double apart_m, Side side, bool at_most_possible = false) {
    if (apart_m > uncertainty_m_ + kRoundingM) return;
    const bool overlap = apart_m <= kRoundingM;
    Touch touch{
        cut_, materials_.id(entry.material), overlap && !at_most_possible ? Certainty::kDefinite : Certainty::kPossible,
        side, overlap ? 0 : apart_m,         entry.material};
    const auto [at, first] = found_.emplace(entry.material, touch);
    if (first) return;
    const auto rank = [](const Touch& t) { return std::tuple(t.certainty, t.side, t.distance_m); };
    if (rank(touch) < rank(at->second)) at->second = std::move(touch);
  }

  /// The materials of one face that a shape in its coordinates meets; `through` is the way it came, if from behind.
  void meet_face(std::size_t face, const Spread& shape, Side side, const Backing* through, bool surface_only = false,
                 bool at_most_possible = false) {
    for (const auto& entry : materials_.on_face(face)) {
      if (surface_only && entry.layer != 0) continue;
      if (!entry.spread.box.meets(shape.box, uncertainty_m_)) continue;
      double apart_m = distance_m(entry.spread, shape);
      if (apart_m > uncertainty_m_ + kRoundingM) continue;
      if (through != nullptr) apart_m = distance_through(entry.spread, shape, *through, apart_m);
      meet(entry, apart_m, side, at_most_possible);
    }
  }

  /// Only what of a material lies behind the part of the face that backs on to us can be met from there. Exact for
  /// filled shapes; for points and lines the larger of the two distances, which can only be too small.
  double distance_through(const Spread& material, const Spread& shape, const Backing& from_here, double apart_m) const {
    double to_part_m = uncertainty_m_ + 1;
    double to_clipped_m = uncertainty_m_ + 1;
    for (const auto& ring : from_here.where) {
      Ring there = ring;
      for (auto& p : there) p = from_here.across(p);
      if (signed_area_m2(there) < 0) std::reverse(there.begin(), there.end());
      const Spread part = make_spread(there, true);
      if (!part.box.meets(shape.box, uncertainty_m_)) continue;
      to_part_m = std::min(to_part_m, distance_m(part, shape));
      if (!material.filled || material.radius_m > 0) continue;
      const std::array<Ring, 2> both = {material.points, there};
      for (const auto& clipped : overlay(both))
        to_clipped_m = std::min(to_clipped_m, distance_m(make_spread(clipped, true), shape));
    }
    return material.filled && material.radius_m == 0 ? to_clipped_m : std::max(apart_m, to_part_m);
  }

  void near_side(std::size_t face, const Spread& shape, Reach reach) {
    const bool surface = reach == Reach::kSurface;
    meet_face(face, shape, Side::kNear, nullptr, surface);
    const FaceInfo& info = plan_.faces()[face];
    const Space& space = plan_.spaces()[info.space];
    if (info.face.kind == FaceKind::kInside) return;
    inside(info.space, face, shape, Side::kNear);
    const bool ceiling = info.face.kind == FaceKind::kCeiling;
    if (!ceiling && info.face.kind != FaceKind::kRoof) return;
    // Ceiling and roof slopes of one room: the same surface where a height zone is drawn, one beyond the other where
    // not.
    const bool same_surface = !space.zones.empty();
    const bool gone_through = reach == Reach::kThrough;
    const Side side = same_surface || !gone_through ? Side::kNear : Side::kFar;
    const bool at_most_possible = !same_surface && !gone_through;
    if (!ceiling) {
      meet_face(space.ceiling_face(), shape, side, nullptr, surface, at_most_possible);
      return;
    }
    for (std::size_t roof = space.first_roof_face(); roof < space.first_face + space.face_count; ++roof) {
      meet_face(roof, shape, side, nullptr, surface, at_most_possible);
    }
  }

  /// What lies inside a space that a cut in (or come out of) one of its faces may meet.
  void inside(std::size_t space_index, std::size_t face, const Spread& shape, Side side) {
    const Space& space = plan_.spaces()[space_index];
    const auto& contents = materials_.on_face(space.inside_face());
    if (contents.empty()) return;
    Spread in_plan = shape;
    if (plan_.faces()[face].face.kind == FaceKind::kWall) {
      in_plan = make_spread({plan_.in_plan(face, {shape.box.x0, 0}), plan_.in_plan(face, {shape.box.x1, 0})}, false);
    }
    for (const auto& entry : contents) {
      if (entry.spread.box.meets(in_plan.box, uncertainty_m_))
        meet(entry, distance_m(entry.spread, in_plan), side, !space.hollow());
    }
  }

  void behind(std::size_t face, const Spread& shape, Reach reach, int voids_crossed) {
    const FaceInfo& info = plan_.faces()[face];
    const std::size_t fabric = info.face.kind == FaceKind::kRoof ? space_of(face).ceiling_face() : face;
    for (const std::size_t index : plan_.faces()[fabric].backings) {
      const Backing& backing = plan_.backings()[index];
      if (!backing.box.meets(shape.box, uncertainty_m_) || distance_to(backing, shape) > uncertainty_m_ + kRoundingM)
        continue;
      Spread there = shape;
      for (auto& p : there.points) p = backing.across(p);
      there = make_spread(std::move(there.points), shape.filled, shape.radius_m);
      arrive(backing, there, reach, voids_crossed);
    }
  }

  static double distance_to(const Backing& backing, const Spread& shape) {
    double least = std::numeric_limits<double>::infinity();
    for (const auto& ring : backing.where) least = std::min(least, distance_m(make_spread(ring, true), shape));
    return least;
  }

  void arrive(const Backing& backing, const Spread& shape, Reach reach, int voids_crossed) {
    const std::size_t space_index = plan_.faces()[backing.other].space;
    const Space& space = plan_.spaces()[space_index];
    if (!space.hollow() && reach == Reach::kIntoVoid) return;
    const Side side = is_void(space) ? Side::kVoid : Side::kFar;
    meet_face(backing.other, shape, side, &backing);
    if (backing.other == space.ceiling_face()) {
      for (std::size_t roof = space.first_roof_face(); roof < space.first_face + space.face_count; ++roof) {
        meet_face(roof, shape, side, &backing);
      }
    }
    if (!is_void(space)) {
      inside(space_index, backing.other, shape, space.hollow() ? Side::kVoid : Side::kFar);
      return;
    }
    in_the_void(space, backing.other, shape);
    if (reach == Reach::kThrough && voids_crossed < kMostVoidsCrossed)
      across_void(space, backing.other, shape, voids_crossed);
  }

  /// The stretch of a void that a hole coming in through `face` passes.
  void in_the_void(const Space& space, std::size_t face, const Spread& shape) {
    Spread swept = shape;
    const FaceInfo& info = plan_.faces()[face];
    if (info.face.kind == FaceKind::kWall) {
      const Point in{info.along.y_m * kCrossVoidM, -info.along.x_m * kCrossVoidM};
      const Point a = plan_.in_plan(face, {shape.box.x0, 0});
      const Point b = plan_.in_plan(face, {shape.box.x1, 0});
      const Point c{b.x_m + in.x_m, b.y_m + in.y_m};
      const Point d{a.x_m + in.x_m, a.y_m + in.y_m};
      swept = distance_m(a, b) > kRoundingM ? make_spread({a, b, c, d}, true) : make_spread({a, d}, false);
    }
    for (const auto& entry : materials_.on_face(space.inside_face())) {
      if (entry.spread.box.meets(swept.box, uncertainty_m_)) meet(entry, distance_m(entry.spread, swept), Side::kVoid);
    }
  }

  void across_void(const Space& space, std::size_t face, const Spread& shape, int voids_crossed) {
    const FaceInfo& info = plan_.faces()[face];
    if (info.face.kind != FaceKind::kWall) {
      if (space.height_m > kCrossVoidM) return;
      const std::size_t opposite = face == space.floor_face() ? space.ceiling_face() : space.floor_face();
      meet_face(opposite, shape, Side::kVoid, nullptr);
      behind(opposite, shape, Reach::kThrough, voids_crossed + 1);
      return;
    }
    for (std::size_t edge = 0; edge < space.outline.size(); ++edge) {
      const std::size_t other = space.wall_face(edge);
      const FaceInfo& wall = plan_.faces()[other];
      const double facing = info.along.x_m * wall.along.x_m + info.along.y_m * wall.along.y_m;
      if (other == face || facing > -0.98) continue;
      const double deep_m =
          (wall.left.x_m - info.left.x_m) * info.along.y_m - (wall.left.y_m - info.left.y_m) * info.along.x_m;
      if (deep_m < 0 || deep_m > kCrossVoidM) continue;
      const double shift_m =
          (info.left.x_m - wall.left.x_m) * wall.along.x_m + (info.left.y_m - wall.left.y_m) * wall.along.y_m;
      Spread there = shape;
      for (auto& p : there.points) p.x_m = shift_m - p.x_m;
      there = make_spread(std::move(there.points), shape.filled, shape.radius_m);
      if (!there.box.meets(wall.box, uncertainty_m_)) continue;
      meet_face(other, there, Side::kVoid, nullptr);
      behind(other, there, Reach::kThrough, voids_crossed + 1);
    }
  }

  const Plan& plan_;
  const MaterialIndex& materials_;
  double uncertainty_m_;
  std::size_t cut_ = 0;
  std::unordered_map<std::size_t, Touch> found_;
};

}  // namespace

std::string_view word(Certainty certainty) { return certainty == Certainty::kDefinite ? "definite" : "possible"; }

std::string_view word(Side side) {
  switch (side) {
    case Side::kNear:
      return "near";
    case Side::kVoid:
      return "void";
    case Side::kFar:
      return "far";
  }
  return {};
}

Spread spread_of(const Plan& plan, std::size_t face, const book::Shape& shape, double diameter_m) {
  struct Maker {
    const Ring& whole;
    double diameter_m;
    Spread operator()(const book::WholeFace&) const { return make_spread(whole, true); }
    Spread operator()(const book::PointShape& point) const { return make_spread({point.at}, false, diameter_m / 2); }
    Spread operator()(const book::LineShape& line) const {
      return make_spread(line.points, false, std::max(line.width_m, diameter_m) / 2);
    }
    Spread operator()(const book::PolygonShape& polygon) const { return make_spread(polygon.outline, true); }
    Spread operator()(const book::SpanShape& span) const {
      return make_spread({{span.left_m, span.low_m},
                          {span.right_m, span.low_m},
                          {span.right_m, span.high_m},
                          {span.left_m, span.high_m}},
                         true);
    }
  };
  return std::visit(Maker{plan.faces()[face].outline, diameter_m}, shape);
}

MaterialIndex::MaterialIndex(const Plan& plan, std::span<const book::Material> materials)
    : by_face_(plan.faces().size()) {
  ids_.reserve(materials.size());
  for (std::size_t i = 0; i < materials.size(); ++i) {
    const auto& material = materials[i];
    ids_.push_back(material.id);
    if (material.removed_on) continue;
    const auto face = plan.find_face(material.place.room, material.place.face);
    if (!face) {
      unplaced_.push_back(i);
      continue;
    }
    by_face_[*face].push_back({i, *face, material.layer, spread_of(plan, *face, material.place.shape)});
  }
}

std::vector<Touch> touches(const Plan& plan, const MaterialIndex& materials, std::span<const book::Cut> cuts,
                           double uncertainty_m) {
  Gatherer gatherer(plan, materials, uncertainty_m);
  std::vector<Touch> all;
  for (std::size_t i = 0; i < cuts.size(); ++i) {
    for (auto& touch : gatherer.gather(i, cuts[i])) all.push_back(std::move(touch));
  }
  return all;
}

std::vector<Touch> touches(const Plan& plan, std::span<const book::Material> materials, std::span<const book::Cut> cuts,
                           double uncertainty_m) {
  return touches(plan, MaterialIndex(plan, materials), cuts, uncertainty_m);
}

}  // namespace lathbook::fabric
