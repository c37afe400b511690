#include "fabric/plan.h"

#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include "fabric/house_fixture.h"

namespace lathbook::fabric {
namespace {

using namespace fixture;

Plan plan_of(const House& h) {
  auto plan = Plan::build(h.storeys, h.rooms);
  if (!plan.ok()) throw std::logic_error(plan.faults().front().text());
  return *plan;
}

struct Behind {
  std::string face, other;
  double thickness_m = 0;
  double u0 = 0, u1 = 0, v0 = 0, v1 = 0;
};

std::vector<Behind> behind(const Plan& plan, const std::string& room, book::Face face) {
  std::vector<Behind> all;
  const auto name = [&](std::size_t index) {
    return plan.spaces()[plan.faces()[index].space].id.text + " " + plan.faces()[index].face.text();
  };
  for (const auto index : plan.faces()[*plan.find_face({room}, face)].backings) {
    const auto& b = plan.backings()[index];
    all.push_back({name(b.face), name(b.other), b.thickness_m, b.box.x0, b.box.x1, b.box.y0, b.box.y1});
  }
  return all;
}

TEST(Plan, WallsThatFaceEachOtherHealIntoOneOfThatThickness) {
  const auto plan = plan_of(house());
  const auto walls = behind(plan, "kitchen", wall(2));
  ASSERT_EQ(walls.size(), 1U);
  EXPECT_EQ(walls[0].other, "hall wall-4");
  EXPECT_NEAR(walls[0].thickness_m, 0.1, 1e-9);
  EXPECT_TRUE(behind(plan, "kitchen", wall(1)).empty());  // outdoors
}

TEST(Plan, AGapOfMoreThanAWallIsNoSharedWall) {
  auto h = house();
  h.rooms.resize(2);
  h.rooms[1].outline = box(4.29, 0, 6, 3);
  EXPECT_EQ(behind(plan_of(h), "kitchen", wall(2)).size(), 1U);
  h.rooms[1].outline = box(4.31, 0, 6, 3);
  EXPECT_TRUE(behind(plan_of(h), "kitchen", wall(2)).empty());
  h.rooms[1].outline = box(3.72, 0, 6, 3);  // an overlap heals to no thickness
  const auto walls = behind(plan_of(h), "kitchen", wall(2));
  ASSERT_EQ(walls.size(), 1U);
  EXPECT_EQ(walls[0].thickness_m, 0);
}

TEST(Plan, AGapTooWideForAWallIsToldOnce) {
  auto h = house();
  h.rooms.resize(2);
  const auto gaps_at = [&](double x0) {
    h.rooms[1].outline = box(x0, 0, x0 + 2, 3);
    return plan_of(h).gaps();
  };
  EXPECT_THAT(gaps_at(4.29), ::testing::IsEmpty());  // heals
  EXPECT_THAT(gaps_at(5.01), ::testing::IsEmpty());  // meant
  const auto gaps = gaps_at(4.45);
  ASSERT_EQ(gaps.size(), 1U);
  EXPECT_NEAR(gaps[0].gap_m, 0.45, 1e-9);
  EXPECT_THAT(gaps[0].text(plan_of(h)),
              ::testing::AllOf(::testing::HasSubstr("wall-2 of kitchen"), ::testing::HasSubstr("wall-4 of hall"),
                               ::testing::HasSubstr("0.45 m apart")));
  h.rooms.push_back(h.rooms[1]);  // a thin room drawn in the gap
  h.rooms[2].id = {"pipes"};
  h.rooms[2].outline = box(4.1, 0, 4.4, 3);
  EXPECT_THAT(plan_of(h).gaps(), ::testing::IsEmpty());
}

TEST(Plan, ANearerRoomHidesTheOneBehindIt) {
  House h;
  h.storeys = {{{"L"}, "ground", 0, 2.4}};
  h.rooms = {room("A", "L", box(0, 0, 3, 3)), room("S", "L", box(3, 0, 3.25, 1), book::RoomKind::kShaft),
             room("B", "L", box(3.25, 0, 6, 3))};
  const auto walls = behind(plan_of(h), "A", wall(2));
  ASSERT_EQ(walls.size(), 2U);
  // Wall 2 of A has its left end at (3, 3): the shaft is behind its last metre, B behind the rest.
  for (const auto& one : walls) {
    const bool shaft = one.other.starts_with("S ");
    EXPECT_NEAR(one.u0, shaft ? 2 : 0, 1e-9);
    EXPECT_NEAR(one.u1, shaft ? 3 : 2, 1e-9);
  }
}

TEST(Plan, ACellarUnderPartOfTheHouse) {
  auto h = house();
  h.storeys.push_back({{"LC"}, "cellar", -2.3, 2.1});
  h.rooms.push_back(room("cellar", "LC", box(0, 0, 2, 2), book::RoomKind::kCellar));
  const auto plan = plan_of(h);
  const auto under = behind(plan, "kitchen", kFloor);
  ASSERT_EQ(under.size(), 1U);
  EXPECT_EQ(under[0].other, "cellar ceiling");
  EXPECT_NEAR(under[0].thickness_m, 0.2, 1e-9);
  EXPECT_NEAR(under[0].u1, 2, 1e-9);
  EXPECT_TRUE(behind(plan, "hall", kFloor).empty());
}

TEST(Plan, AVoidBetweenStoreysComesFirst) {
  const auto plan = plan_of(house());
  const auto over = behind(plan, "kitchen", kCeiling);
  ASSERT_EQ(over.size(), 2U);
  for (const auto& one : over) {
    if (one.other == "void floor") {
      EXPECT_NEAR(one.u1, 2, 1e-9);
    } else {
      EXPECT_EQ(one.other, "bathroom floor");
      EXPECT_NEAR(one.u0, 2, 1e-9);
      EXPECT_NEAR(one.thickness_m, 0.25, 1e-9);
    }
  }
}

TEST(Plan, UnderASlopeOnlyThePartThatReachesUpBacksOnToTheFloorAbove) {
  auto h = house();
  h.rooms.erase(h.rooms.begin() + 3);
  h.rooms[0].heights = {{box(0, 0, 1, 3), 0.9, 1.2}};
  const auto over = behind(plan_of(h), "kitchen", kCeiling);
  ASSERT_EQ(over.size(), 1U);
  EXPECT_NEAR(over[0].u0, 1, 1e-9);
}

TEST(Plan, ClockwiseCornersAreReadBackwardsFromTheFirst) {
  House h;
  h.storeys = {{{"L"}, "ground", 0, 2.4}};
  h.rooms = {room("A", "L", {{0, 0}, {0, 3}, {4, 3}, {4, 0}})};
  const auto plan = plan_of(h);
  EXPECT_EQ(plan.spaces()[0].outline, (Ring{{0, 0}, {4, 0}, {4, 3}, {0, 3}}));
  const auto& face = plan.faces()[*plan.find_face({"A"}, wall(1))];
  EXPECT_EQ(face.left, (Point{4, 0}));
  EXPECT_EQ(plan.in_plan(*plan.find_face({"A"}, wall(1)), {1, 2}), (Point{3, 0}));
}

TEST(PropertyPlan, EveryBackingHasATwinThatMapsBack) {
  const auto h = turned(big_house(4, 3, 3, 0, 1), 0.3, {5, 6});
  const auto plan = plan_of(h);
  ASSERT_FALSE(plan.backings().empty());
  for (std::size_t i = 0; i < plan.backings().size(); i += 2) {
    const auto& one = plan.backings()[i];
    const auto& twin = plan.backings()[i + 1];
    ASSERT_EQ(one.face, twin.other);
    ASSERT_EQ(one.other, twin.face);
    for (const auto& ring : one.where) {
      for (const auto& p : ring) {
        EXPECT_LT(distance_m(twin.across(one.across(p)), p), 1e-9);
        // In plan the two spots are a wall's thickness apart, or the same.
        EXPECT_NEAR(distance_m(plan.in_plan(one.face, p), plan.in_plan(one.other, one.across(p))),
                    one.wall ? one.thickness_m : 0, 1e-9);
      }
    }
  }
}

}  // namespace
}  // namespace lathbook::fabric
