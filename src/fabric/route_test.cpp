#include "fabric/route.h"

#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include "fabric/house_fixture.h"

namespace lathbook::fabric {
namespace {

using namespace fixture;

Plan plan_of(const House& h, const std::vector<book::Opening>& openings = {}) {
  auto plan = Plan::build(h.storeys, h.rooms, openings);
  if (!plan.ok()) throw std::logic_error(plan.faults().front().text());
  return *plan;
}

RouteAnswer routed(const House& h, const RouteRequest& request, const std::vector<book::Opening>& openings = {}) {
  const auto plan = plan_of(h, openings);
  const MaterialIndex index(plan, h.materials);
  const std::vector<bool> blocks(h.materials.size(), true);
  auto answer = find_routes(plan, index, blocks, request);
  if (!answer.ok()) throw std::runtime_error(answer.faults().front().text());
  for (const auto& route : answer->routes) {
    EXPECT_TRUE(touches(plan, index, cuts_of(route, request.service), request.uncertainty_m).empty());
  }
  return *answer;
}

RouteRequest between(Spot from, Spot to) {
  RouteRequest request;
  request.from = std::move(from);
  request.to = std::move(to);
  return request;
}

TEST(Route, StraightAlongAWall) {
  const auto answer = routed(house(), between({{"kitchen"}, wall(1), {0.5, 1}}, {{"kitchen"}, wall(1), {3.5, 1}}));
  ASSERT_FALSE(answer.routes.empty());
  EXPECT_NEAR(answer.routes[0].length_m, 3, 1e-9);
  EXPECT_EQ(answer.routes[0].bends, 0);
  EXPECT_EQ(answer.routes[0].path.size(), 2U);
}

TEST(Route, RoundAPatchOnAWall) {
  auto h = house();
  h.materials = {material("patch", "kitchen", wall(1), book::SpanShape{1.5, 2.5, 0.8, 1.2})};
  const auto answer = routed(h, between({{"kitchen"}, wall(1), {0.5, 1}}, {{"kitchen"}, wall(1), {3.5, 1}}));
  ASSERT_FALSE(answer.routes.empty());
  // 0.2 m to the patch's edge and the clearance of 0.15 m + 5 mm, there and back.
  EXPECT_NEAR(answer.routes[0].length_m, 3 + 2 * (0.2 + 0.155), 1e-3);
  EXPECT_EQ(answer.routes[0].bends, 2);  // it may start upwards
}

TEST(Route, ThroughAPartitionIsOneHoleAndTwoBends) {
  const auto answer = routed(house(), between({{"kitchen"}, wall(2), {1.5, 1}}, {{"hall"}, wall(4), {2.0, 1}}));
  ASSERT_FALSE(answer.routes.empty());
  const auto& best = answer.routes[0];
  ASSERT_EQ(best.holes.size(), 1U);
  EXPECT_EQ(best.holes[0].fabric, HoleFabric::kPartition);
  EXPECT_NEAR(best.length_m, 0.1 + 0.5, 1e-9);
  EXPECT_EQ(best.bends, 1);  // either end lies at the hole
  EXPECT_NEAR(best.cost, best.length_m + 0.3 + 2 * (1 + 0.02 * 10), 1e-9);
}

TEST(Route, UpThroughTheFloorClearOfTheTilesAbove) {
  auto h = house();
  h.materials = {material("tiles", "bathroom", kFloor, book::PolygonShape{box(2.2, 0, 5.5, 3)})};
  const auto answer = routed(h, between({{"kitchen"}, wall(1), {1.0, 1.2}}, {{"bathroom"}, wall(1), {3.1, 1.2}}));
  ASSERT_FALSE(answer.routes.empty());
  for (const auto& route : answer.routes) {
    for (const auto& hole : route.holes) {
      if (hole.fabric != HoleFabric::kFloor) continue;
      EXPECT_TRUE(hole.from.at.x_m < 2.2 - 0.15 || hole.from.at.x_m > 5.5 + 0.15) << hole.from.at.x_m;
    }
  }
}

TEST(Route, NamesTheOneMaterialInTheWay) {
  auto h = house();
  h.rooms.pop_back();
  h.rooms.pop_back();
  h.rooms.pop_back();  // only kitchen and hall
  h.materials = {material("board", "hall", wall(4)), material("coating", "kitchen", kCeiling),
                 material("tiles", "hall", kFloor)};
  const auto answer = routed(h, between({{"kitchen"}, wall(1), {1.0, 1.2}}, {{"hall"}, wall(2), {1.0, 1.2}}));
  EXPECT_TRUE(answer.routes.empty());
  ASSERT_EQ(answer.blocked_by.size(), 1U);
  EXPECT_EQ(answer.blocked_by[0].material, 0U);
  EXPECT_EQ(answer.blocked_by[0].opens.holes.size(), 1U);
}

TEST(Route, AnEndInsideAMaterialNamesIt) {
  auto h = house();
  h.materials = {material("coating", "kitchen", kCeiling)};
  const auto answer = routed(h, between({{"kitchen"}, kCeiling, {1.0, 1.2}}, {{"kitchen"}, wall(2), {1.0, 1.2}}));
  EXPECT_TRUE(answer.routes.empty());
  ASSERT_EQ(answer.blocked_by.size(), 1U);
}

TEST(Route, SaysWhenTheDrawingItselfGivesNoWay) {
  auto h = house();
  h.rooms.push_back(room("shed", "L0", box(20, 0, 22, 2), book::RoomKind::kOutbuilding));
  const auto answer = routed(h, between({{"kitchen"}, kFloor, {1, 1}}, {{"shed"}, kFloor, {21, 1}}));
  EXPECT_TRUE(answer.routes.empty());
  EXPECT_TRUE(answer.blocked_by.empty());
  EXPECT_FALSE(answer.open_if_all_released);
}

TEST(Route, OffersTrulyDifferentWays) {
  const auto h = house();
  const auto plan = plan_of(h);
  const auto answer = routed(h, between({{"kitchen"}, wall(1), {1.0, 1.2}}, {{"hall"}, wall(2), {1.0, 1.2}}));
  ASSERT_EQ(answer.routes.size(), 3U);
  for (std::size_t i = 0; i < 3; ++i) {
    for (std::size_t j = 0; j < i; ++j) {
      const bool other_holes =
          answer.routes[i].holes.size() != answer.routes[j].holes.size() ||
          !std::equal(answer.routes[i].holes.begin(), answer.routes[i].holes.end(), answer.routes[j].holes.begin(),
                      [](const Hole& a, const Hole& b) { return a.backing / 2 == b.backing / 2; });
      const double share = std::min(share_along(plan, answer.routes[i], answer.routes[j]),
                                    share_along(plan, answer.routes[j], answer.routes[i]));
      EXPECT_TRUE(other_holes || share < 0.7) << i << " and " << j;
    }
    if (i > 0) {
      EXPECT_GE(answer.routes[i].cost, answer.routes[i - 1].cost);
    }
  }
}

TEST(Route, KeepsOffADoor) {
  book::Opening door;
  door.id = {"O1"};
  door.from = {"kitchen"};
  door.to = {"hall"};
  door.at = Point{4, 1.5};
  const auto request = between({{"kitchen"}, wall(2), {0.3, 1.6}}, {{"kitchen"}, wall(2), {2.7, 1.6}});
  EXPECT_NEAR(routed(house(), request).routes[0].length_m, 2.4, 1e-9);
  const auto round = routed(house(), request, {door});
  ASSERT_FALSE(round.routes.empty());
  EXPECT_NEAR(round.routes[0].length_m, 2.4 + 2 * (0.4 + 0.005), 1e-3);  // over the door's head at 2 m
}

TEST(Route, ABendRadiusAsksForStraightRunBetweenBends) {
  auto h = house();
  h.materials = {material("patch", "kitchen", wall(1), book::SpanShape{1.5, 2.5, 0.8, 1.2})};
  auto request = between({{"kitchen"}, wall(1), {0.5, 1}}, {{"kitchen"}, wall(1), {3.5, 1}});
  request.service = {ServiceKind::kDuct, 0.1, 0.2};
  const auto answer = routed(h, request);
  ASSERT_FALSE(answer.routes.empty());
  const auto& path = answer.routes[0].path;
  for (std::size_t i = 1; i < path.size(); ++i) {
    const bool end = i == 1 || i + 1 == path.size();
    EXPECT_GE(distance_m(path[i - 1].at, path[i].at), (end ? 0.2 : 0.4) - 1e-6);
  }
}

TEST(FaultRoute, NamesBadEnds) {
  const auto h = house();
  const auto plan = plan_of(h);
  const MaterialIndex index(plan, h.materials);
  const auto lines = [&](const RouteRequest& request) {
    std::vector<std::string> out;
    const auto answer = find_routes(plan, index, {}, request, Naming::kPointer);
    if (!answer.ok()) {
      for (const auto& fault : answer.faults()) out.push_back(fault.where);
    }
    return out;
  };
  EXPECT_THAT(lines(between({{"attic"}, kFloor, {1, 1}}, {{"hall"}, kInside, {5, 1}})),
              testing::ElementsAre("/from/room", "/to/face"));
  EXPECT_THAT(lines(between({{"kitchen"}, kFloor, {9, 1}}, {{"kitchen"}, wall(7), {1, 1}})),
              testing::ElementsAre("/from/point", "/to/face"));
  auto request = between({{"kitchen"}, kFloor, {1, 1}}, {{"kitchen"}, kFloor, {2, 1}});
  request.service.diameter_m = 0;
  request.count = 0;
  EXPECT_THAT(lines(request), testing::ElementsAre("/diameter_mm", "/count"));
}

}  // namespace
}  // namespace lathbook::fabric
