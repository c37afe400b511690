#include "fabric/touch.h"

#include <fmt/format.h>
#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include <numbers>
#include <random>

#include "fabric/house_fixture.h"

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

}  // namespace
}  // namespace lathbook::fabric
