#include "fabric/touch.h"

#include <fmt/format.h>
#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include <algorithm>
#include <map>
#include <numbers>
#include <optional>
#include <random>
#include <set>

#include "fabric/house_fixture.h"
#include "testing/agreement.h"

namespace lathbook::fabric {
namespace {

using book::Depth;
using namespace fixture;
using ::testing::ElementsAre;
using ::testing::IsEmpty;

Plan plan_of(const House& h) {
  auto plan = Plan::build(h.storeys, h.rooms);
  if (!plan.ok()) throw std::logic_error(plan.faults().front().text());
  return *plan;
}

/// Touches as text, `cut material certainty side distance`, so that a case reads on one line.
std::vector<std::string> met(const House& h) {
  std::vector<std::string> lines;
  for (const auto& t : touches(plan_of(h), h.materials, h.cuts)) {
    lines.push_back(
        fmt::format("{} {} {} {} {:.3f}", t.cut, t.material.text, word(t.certainty), word(t.side), t.distance_m));
  }
  return lines;
}

TEST(Touch, AHoleUpThroughTheKitchenCeilingNamesTheTilesInTheBathroomAbove) {
  auto h = house();
  h.materials = {material("tiles", "bathroom", kFloor), material("coating", "kitchen", kCeiling),
                 material("hall coating", "hall", kCeiling)};
  h.cuts = {hole("kitchen", kCeiling, {3, 1}, Depth::kThrough)};
  EXPECT_THAT(met(h), ElementsAre("0 coating definite near 0.000", "0 tiles definite far 0.000"));
}

TEST(Touch, DepthDecidesHowFarACutReaches) {
  auto h = house();
  h.materials = {material("paint", "kitchen", kCeiling, book::WholeFace{}, 0),
                 material("board", "kitchen", kCeiling, book::WholeFace{}, 2), material("lagging", "void", kInside),
                 material("tiles", "bathroom", kFloor)};
  for (const auto depth : {Depth::kSurface, Depth::kLayer, Depth::kThrough})
    h.cuts.push_back(hole("kitchen", kCeiling, {1, 1}, depth));
  EXPECT_THAT(met(h),
              ElementsAre("0 paint definite near 0.000", "1 paint definite near 0.000", "1 board definite near 0.000",
                          "2 paint definite near 0.000", "2 board definite near 0.000", "2 lagging definite void 0.000",
                          "2 tiles definite far 0.000"));
}

TEST(Touch, ADownlightNamesTheLaggingInTheVoidThoughItOnlyOpensTheCeiling) {
  auto h = house();
  h.materials = {material("lagging", "void", kInside, book::LineShape{{{1, 0}, {1, 3}}, 0.1}),
                 material("tiles", "bathroom", kFloor)};
  h.cuts = {cut("open-up", "kitchen", kCeiling, book::PolygonShape{box(0.8, 1, 1.2, 1.4)}, Depth::kLayer)};
  EXPECT_THAT(met(h), ElementsAre("0 lagging definite void 0.000"));
}

TEST(Touch, TheLoftOverACeilingIsItsVoid) {
  auto h = house();
  h.materials = {material("fill", "loft", kInside), material("boards", "loft", kFloor),
                 material("felt", "loft", roof(1))};
  h.cuts = {hole("bathroom", kCeiling, {3, 1}, Depth::kThrough)};
  EXPECT_THAT(met(h), ElementsAre("0 fill definite void 0.000", "0 boards definite far 0.000"));
}

TEST(Touch, AHoleThroughAWallMeetsTheOtherSideMirrored) {
  auto h = house();
  // The kitchen's wall 2 runs from (4, 0) to (4, 3): seen from inside its left end is (4, 3). The hall's wall 4 runs
  // from (4.1, 3) to (4.1, 0): its left end is (4.1, 0).
  h.materials = {material("board", "hall", wall(4), book::SpanShape{0.5, 1.0, 0.9, 1.3})};
  h.cuts = {hole("kitchen", wall(2), {3 - 0.75, 1.1}, Depth::kThrough),
            hole("kitchen", wall(2), {0.75, 1.1}, Depth::kThrough),
            hole("kitchen", wall(2), {3 - 1.1, 1.1}, Depth::kThrough),
            hole("kitchen", wall(2), {3 - 0.75, 1.1}, Depth::kLayer)};
  EXPECT_THAT(met(h), ElementsAre("0 board definite far 0.000", "2 board possible far 0.090"));
}

TEST(Touch, WithinTheUncertaintyIsPossibleAndBeyondItIsNothing) {
  auto h = house();
  h.materials = {material("patch", "kitchen", wall(1), book::SpanShape{1, 2, 0, 1})};
  h.cuts = {hole("kitchen", wall(1), {2.14, 0.5}, Depth::kSurface, 0),
            hole("kitchen", wall(1), {2.15, 0.5}, Depth::kSurface, 0),
            hole("kitchen", wall(1), {2.16, 0.5}, Depth::kSurface, 0),
            hole("kitchen", wall(1), {2.16, 0.5}, Depth::kSurface, 100)};
  EXPECT_THAT(met(h),
              ElementsAre("0 patch possible near 0.140", "1 patch possible near 0.150", "3 patch possible near 0.110"));
}

TEST(Touch, AHoleThroughABoxedInShaftMeetsThePipeAndTheRoomBeyond) {
  House h;
  h.storeys = {{{"L"}, "ground", 0, 2.4}};
  h.rooms = {room("A", "L", box(0, 0, 3, 3)), room("S", "L", box(3, 0, 3.4, 3), book::RoomKind::kShaft),
             room("B", "L", box(3.4, 0, 6, 3))};
  h.materials = {material("lagging", "S", kInside, book::PointShape{{3.2, 1.0}}),
                 material("far lagging", "S", kInside, book::PointShape{{3.2, 2.5}}), material("board", "B", wall(4)),
                 material("back", "S", wall(2))};
  h.cuts = {hole("A", wall(2), {2.0, 1}, Depth::kThrough)};  // at y = 1
  EXPECT_THAT(met(h),
              ElementsAre("0 lagging definite void 0.000", "0 back definite void 0.000", "0 board definite far 0.000"));
}

TEST(Touch, OnlyThePartOfAMaterialThatBacksOnToTheFaceCounts) {
  auto h = house();
  // The board covers the whole wall of a hall that is longer than the kitchen: what lies past the kitchen's corner is
  // not behind it.
  h.rooms[1].outline = box(4.1, -2, 6.1, 3);
  h.materials = {material("board", "hall", wall(4), book::SpanShape{0, 1.95, 0, 2.4})};  // y -2 … -0.05
  h.cuts = {hole("kitchen", wall(2), {2.95, 1}, Depth::kThrough, 0)};                    // y 0.05
  EXPECT_THAT(met(h), IsEmpty());
}

TEST(Touch, GoneMaterialsAreNeverMet) {
  auto h = house();
  h.materials = {material("coating", "kitchen", kCeiling)};
  h.materials[0].removed_on = book::Date::parse("2024-05-01");
  h.cuts = {hole("kitchen", kCeiling, {3, 1}, Depth::kThrough)};
  EXPECT_THAT(met(h), IsEmpty());
}

TEST(Touch, AnOrdinaryRoomsContentsAreAtMostPossible) {
  auto h = house();
  h.materials = {material("boiler", "kitchen", kInside, book::PolygonShape{box(1, 1, 1.6, 1.6)})};
  h.cuts = {hole("kitchen", kCeiling, {1.2, 1.2}, Depth::kSurface),
            cut("strip", "kitchen", kInside, book::PointShape{{1.2, 1.2}}, Depth::kLayer)};
  EXPECT_THAT(met(h), ElementsAre("0 boiler possible near 0.000", "1 boiler definite near 0.000"));
}

TEST(Touch, ARoofSlopeIsTheCeilingOnlyWhereTheBookSaysSo) {
  auto h = house();
  h.rooms.push_back(room("garage", "L0", box(10, 0, 13, 6), book::RoomKind::kGarage));
  h.materials = {material("sheet", "garage", roof(1))};
  h.cuts = {hole("garage", kCeiling, {11, 1}, Depth::kLayer), hole("garage", kCeiling, {11, 1}, Depth::kThrough)};
  EXPECT_THAT(met(h), ElementsAre("0 sheet possible near 0.000", "1 sheet definite far 0.000"));
  h.rooms.back().heights = {{box(10, 0, 13, 6), 2.1, 3.0}};
  EXPECT_THAT(met(h), ElementsAre("0 sheet definite near 0.000", "1 sheet definite near 0.000"));
}

TEST(Touch, ClockwiseOutlinesKeepTheirFirstCorner) {
  auto h = house();
  h.materials = {material("board", "kitchen", wall(1), book::SpanShape{0, 1, 0, 1})};
  h.cuts = {hole("kitchen", wall(1), {0.5, 0.5}, Depth::kLayer)};
  const auto before = met(h);
  auto& outline = h.rooms[0].outline;
  std::reverse(outline.begin() + 1, outline.end());
  EXPECT_EQ(met(h), before);
  EXPECT_THAT(before, ElementsAre("0 board definite near 0.000"));
}

// ---- against rasters ------------------------------------------------------------------------------------------------

class RandomShapes {
 public:
  explicit RandomShapes(std::uint64_t seed) : random_(seed) {}
  double between(double low, double high) { return std::uniform_real_distribution<double>(low, high)(random_); }
  int below(int n) { return static_cast<int>(random_() % static_cast<std::uint64_t>(n)); }

  /// Within about 0.4 m of `centre`: a disc, a line, a star-shaped outline.
  book::Shape shape(Point centre) {
    switch (below(3)) {
      case 0:
        return book::PointShape{centre};
      case 1:
        return book::LineShape{{near(centre), near(centre), near(centre)}, between(0.02, 0.2)};
      default: {
        std::vector<Point> ring;
        const int n = 3 + below(5);
        for (int i = 0; i < n; ++i) {
          const double angle = 2 * std::numbers::pi * (i + between(0, 0.8)) / n;
          const double r = between(0.1, 0.4);
          ring.push_back({centre.x_m + r * std::cos(angle), centre.y_m + r * std::sin(angle)});
        }
        return book::PolygonShape{ring};
      }
    }
  }

 private:
  Point near(Point p) { return {p.x_m + between(-0.4, 0.4), p.y_m + between(-0.4, 0.4)}; }
  std::mt19937_64 random_;
};

/// Whether a shape holds a point, worked out apart from the code under test.
bool holds(const book::Shape& shape, double diameter_m, Point p) {
  if (const auto* point = std::get_if<book::PointShape>(&shape)) {
    return std::hypot(p.x_m - point->at.x_m, p.y_m - point->at.y_m) <= diameter_m / 2;
  }
  if (const auto* line = std::get_if<book::LineShape>(&shape)) {
    for (std::size_t i = 1; i < line->points.size(); ++i) {
      const Point a = line->points[i - 1];
      const Point b = line->points[i];
      for (int k = 0; k <= 200; ++k) {
        const double t = k / 200.0;
        if (std::hypot(a.x_m + t * (b.x_m - a.x_m) - p.x_m, a.y_m + t * (b.y_m - a.y_m) - p.y_m) <=
            std::max(line->width_m, diameter_m) / 2)
          return true;
      }
    }
    return false;
  }
  const auto& ring = std::get<book::PolygonShape>(shape).outline;
  double winding = 0;
  for (std::size_t i = 0; i < ring.size(); ++i) {
    const Point a{ring[i].x_m - p.x_m, ring[i].y_m - p.y_m};
    const Point b{ring[(i + 1) % ring.size()].x_m - p.x_m, ring[(i + 1) % ring.size()].y_m - p.y_m};
    winding += std::atan2(a.x_m * b.y_m - a.y_m * b.x_m, a.x_m * b.x_m + a.y_m * b.y_m);
  }
  return std::abs(winding) > std::numbers::pi;
}

constexpr double kPixelM = 0.02;

std::vector<Point> raster(const book::Shape& shape, double diameter_m, Point centre, double reach_m) {
  std::vector<Point> pixels;
  for (double x = -reach_m; x <= reach_m; x += kPixelM) {
    for (double y = -reach_m; y <= reach_m; y += kPixelM) {
      const Point p{centre.x_m + x, centre.y_m + y};
      if (holds(shape, diameter_m, p)) pixels.push_back(p);
    }
  }
  return pixels;
}

double apart_m(const std::vector<Point>& a, const std::vector<Point>& b) {
  double least = 1e9;
  for (const auto& p : a) {
    for (const auto& q : b)
      least = std::min(least, (p.x_m - q.x_m) * (p.x_m - q.x_m) + (p.y_m - q.y_m) * (p.y_m - q.y_m));
  }
  return std::sqrt(least);
}

/// What the touches say of one material: its distance, or nothing.
std::optional<double> told_m(const House& h) {
  const auto all = touches(plan_of(h), h.materials, h.cuts, 0.5);
  if (all.empty()) return std::nullopt;
  EXPECT_EQ(all.size(), 1U);
  EXPECT_EQ(all[0].certainty == Certainty::kDefinite, all[0].distance_m == 0);
  return all[0].distance_m;
}

void compare(std::optional<double> told, double brute_m, const char* what, int i, testing::Agreement& agreement) {
  // Pixels lie inside their shapes: the raster can only be too far, by a pixel or so at either end.
  if (told) {
    EXPECT_LE(*told, brute_m + 1e-9) << what << i;
    EXPECT_GE(*told, brute_m - 2.5 * kPixelM) << what << i;
    agreement.apart(*told - brute_m, 2.5 * kPixelM);
  } else {
    EXPECT_GT(brute_m, 0.5) << what << i;
  }
}

TEST(PropertyTouch, DistancesOnTheNearFaceAreThoseOfARaster) {
  testing::Agreement agreement("fabric_touch_near");
  RandomShapes random(20);
  int met = 0;
  for (int i = 0; i < 150; ++i) {
    auto h = house();
    const Point a{1.5, 1.5};
    const Point b{1.5 + random.between(-1, 1), 1.5 + random.between(-0.5, 0.5)};
    h.materials = {material("m", "kitchen", kFloor, random.shape(a))};
    if (std::holds_alternative<book::PointShape>(h.materials[0].place.shape))
      h.materials[0].place.shape = book::PolygonShape{box(1.4, 1.3, 1.6, 1.7)};
    h.cuts = {cut("drill", "kitchen", kFloor, random.shape(b), Depth::kLayer)};
    h.cuts[0].diameter_mm = 60;
    const auto told = told_m(h);
    met += told.has_value();
    compare(told, apart_m(raster(h.materials[0].place.shape, 0, a, 0.8), raster(h.cuts[0].place.shape, 0.06, b, 0.8)),
            "near ", i, agreement);
  }
  EXPECT_GT(met, 50);
}

TEST(PropertyTouch, ThroughAFloorOnlyThePartOverTheRoomCounts) {
  testing::Agreement agreement("fabric_touch_floor");
  RandomShapes random(21);
  int met = 0;
  for (int i = 0; i < 120; ++i) {
    auto h = house();
    h.rooms.erase(h.rooms.begin() + 3);  // no void
    const Point a{4.05 + random.between(-0.3, 0.3), 1.5};
    const Point b{3.6 + random.between(-0.6, 0.3), 1.5 + random.between(-0.5, 0.5)};
    book::Shape shape = random.shape(a);
    while (!std::holds_alternative<book::PolygonShape>(shape)) shape = random.shape(a);
    h.materials = {material("m", "bathroom", kFloor, shape)};
    h.cuts = {hole("kitchen", kCeiling, b, Depth::kThrough, 60)};
    auto pixels = raster(shape, 0, a, 0.5);
    std::erase_if(
        pixels, [](Point p) { return p.x_m > 4; });  // over the partition or the hall: not behind the kitchen's ceiling
    if (pixels.empty()) continue;
    const auto told = told_m(h);
    met += told.has_value();
    compare(told, apart_m(pixels, raster(h.cuts[0].place.shape, 0.06, b, 0.1)), "far ", i, agreement);
  }
  EXPECT_GT(met, 40);
}

TEST(PropertyTouch, ThroughAWallPlacesAreComparedInSpace) {
  testing::Agreement agreement("fabric_touch_wall");
  RandomShapes random(22);
  int met = 0;
  for (int i = 0; i < 120; ++i) {
    auto h = house();
    h.rooms[1].outline = box(4.1, -1, 6.1, 2.5);  // longer one way, shorter the other
    h.storeys.push_back({{"LH"}, "half a step down", -0.4, 2.6});
    h.rooms[1].storey = {"LH"};
    // In space: y along the shared wall, z up. The hall's wall 4 has its left end at y = -1; the kitchen's wall 2 at y
    // = 3.
    const Point a{random.between(0.6, 3.0), random.between(0.6, 1.8)};
    const Point b{random.between(0.6, 2.6), random.between(0.5, 1.8)};
    book::Shape shape = random.shape(a);
    while (!std::holds_alternative<book::PolygonShape>(shape)) shape = random.shape(a);
    h.materials = {material("m", "hall", wall(4), shape)};
    h.cuts = {hole("kitchen", wall(2), b, Depth::kThrough, 60)};
    std::vector<Point> there;
    for (const auto& p : raster(shape, 0, a, 0.5)) {
      const Point in_space{-1 + p.x_m, -0.4 + p.y_m};
      if (in_space.x_m >= 0 && in_space.x_m <= 2.5 && in_space.y_m >= 0 && in_space.y_m <= 2.2)
        there.push_back(in_space);
    }
    std::vector<Point> here;
    for (const auto& p : raster(h.cuts[0].place.shape, 0.06, b, 0.1)) here.push_back({3 - p.x_m, p.y_m});
    if (there.empty()) continue;
    const auto told = told_m(h);
    met += told.has_value();
    compare(told, apart_m(there, here), "wall ", i, agreement);
  }
  EXPECT_GT(met, 30);
}

// ---- what must not change anything
// -------------------------------------------------------------------------------------

House full_house(std::uint64_t seed) {
  RandomShapes random(seed);
  auto h = house();
  h.rooms[0].heights = {{box(0, 0, 4, 1), 1.8, 2.4}};
  const std::vector<std::pair<std::string, book::Face>> spots = {
      {"kitchen", kFloor}, {"kitchen", kCeiling}, {"kitchen", wall(2)},   {"kitchen", roof(1)}, {"hall", wall(4)},
      {"hall", kCeiling},  {"bathroom", kFloor},  {"bathroom", kCeiling}, {"void", kInside},    {"loft", kInside},
      {"loft", kFloor},    {"kitchen", wall(1)},  {"bathroom", wall(3)}};
  const auto place = [&](const std::pair<std::string, book::Face>& spot) {
    const bool in_hall = spot.first == "hall";
    if (spot.second.kind == FaceKind::kWall)
      return random.shape({random.between(0.5, in_hall ? 2.5 : 3), random.between(0.5, 1.9)});
    return random.shape({random.between(in_hall ? 4.5 : 0.5, in_hall ? 5.7 : 3.5), random.between(0.5, 2.5)});
  };
  for (int i = 0; i < 30; ++i) {
    const auto& spot = spots[static_cast<std::size_t>(random.below(static_cast<int>(spots.size())))];
    h.materials.push_back(material("M" + std::to_string(i), spot.first, spot.second,
                                   random.below(6) == 0 ? book::Shape(book::WholeFace{}) : place(spot),
                                   random.below(2)));
  }
  for (int i = 0; i < 30; ++i) {
    const auto& spot = spots[static_cast<std::size_t>(random.below(static_cast<int>(spots.size())))];
    h.cuts.push_back(cut(random.below(4) == 0 ? "open-up" : "drill", spot.first, spot.second, place(spot),
                         static_cast<Depth>(random.below(3))));
    h.cuts.back().diameter_mm = 30;
  }
  return h;
}

/// Touches by cut and material with everything else about them, in an order of their own.
std::map<std::pair<std::size_t, std::string>, std::string> facts(const House& h) {
  std::map<std::pair<std::size_t, std::string>, std::string> all;
  for (const auto& t : touches(plan_of(h), h.materials, h.cuts)) {
    all[{t.cut, t.material.text}] = fmt::format("{} {} {:.6f}", word(t.certainty), word(t.side), t.distance_m);
  }
  return all;
}

TEST(PropertyTouch, MovingTurningAndMirroringTheHouseChangesNothing) {
  std::size_t met = 0;
  for (std::uint64_t seed = 1; seed <= 12; ++seed) {
    const auto h = full_house(seed);
    const auto as_drawn = facts(h);
    met += as_drawn.size();
    EXPECT_EQ(facts(turned(h, 0.0, {100, -50})), as_drawn) << seed;
    EXPECT_EQ(facts(turned(h, 1.1, {-7, 3})), as_drawn) << seed;
    EXPECT_EQ(facts(turned(h, -2.6, {20, 20})), as_drawn) << seed;
    EXPECT_EQ(facts(mirrored(h)), as_drawn) << seed;
  }
  EXPECT_GT(met, 200U);
}

TEST(PropertyTouch, AllRoomsDrawnClockwiseChangesNothing) {
  for (std::uint64_t seed = 1; seed <= 12; ++seed) {
    auto h = full_house(seed);
    const auto as_drawn = facts(h);
    for (auto& one : h.rooms) std::reverse(one.outline.begin() + 1, one.outline.end());
    EXPECT_EQ(facts(h), as_drawn) << seed;
  }
}

TEST(PropertyTouch, DeeperAndLessCertainNeverMeetsLess) {
  for (std::uint64_t seed = 30; seed <= 36; ++seed) {
    auto h = full_house(seed);
    const auto plan = plan_of(h);
    std::set<std::pair<std::size_t, std::string>> before;
    for (const auto depth : {Depth::kSurface, Depth::kLayer, Depth::kThrough}) {
      for (auto& one : h.cuts) one.depth = depth;
      std::set<std::pair<std::size_t, std::string>> now;
      for (const auto& t : touches(plan, h.materials, h.cuts)) now.emplace(t.cut, t.material.text);
      EXPECT_TRUE(std::includes(now.begin(), now.end(), before.begin(), before.end()));
      before = std::move(now);
    }
    std::set<std::pair<std::size_t, std::string>> wider;
    for (const auto& t : touches(plan, h.materials, h.cuts, 0.3)) wider.emplace(t.cut, t.material.text);
    EXPECT_TRUE(std::includes(wider.begin(), wider.end(), before.begin(), before.end()));
  }
}

}  // namespace
}  // namespace lathbook::fabric
