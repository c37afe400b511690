#include "fabric/route.h"

#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include <algorithm>
#include <array>
#include <map>

#include "fabric/house_fixture.h"
#include "fabric/route_grid.h"
#include "testing/agreement.h"

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
    const auto cuts = cuts_of(route, request.service);
    for (const auto& touch : touches(plan, index, cuts, request.uncertainty_m)) {
      const auto& place = cuts[touch.cut].place;
      ADD_FAILURE() << place.face.text() << " of " << place.room.text << " meets " << touch.material.text << " ("
                    << word(touch.side) << ", " << touch.distance_m << " m)";
    }
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

TEST(Route, RoundTheInnerCornerOfAnLShapedRoom) {
  House h;
  h.storeys = {{{"L"}, "ground", 0, 2.4}};
  h.rooms = {room("A", "L", {{0, 0}, {5, 0}, {5, 2}, {2, 2}, {2, 5}, {0, 5}})};
  const auto answer = routed(h, between({{"A"}, kFloor, {4, 1}}, {{"A"}, kFloor, {1, 4}}));
  ASSERT_FALSE(answer.routes.empty());
  EXPECT_NEAR(answer.routes[0].length_m, 6, 1e-9);  // along the floor, never over the corner that is not in the room
  EXPECT_EQ(answer.routes[0].bends, 1);
  // From one side of the inner corner to the other it is nearer along the walls.
  const auto walls = routed(h, between({{"A"}, wall(3), {0.5, 1}}, {{"A"}, wall(4), {2.5, 1}}));
  ASSERT_FALSE(walls.routes.empty());
  for (const auto& route : walls.routes) {
    for (const auto& spot : route.path) {
      if (spot.face.kind == book::FaceKind::kWall) continue;
      EXPECT_TRUE(spot.at.x_m < 2 + 1e-6 || spot.at.y_m < 2 + 1e-6);
    }
  }
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

TEST(Route, StraightUpThroughAShallowVoidNeedsNoBend) {
  auto request = between({{"kitchen"}, kCeiling, {1.9, 1.5}}, {{"bathroom"}, kFloor, {1.9, 1.5}});
  request.weights = {1, 5, 0.5, 0.5, 0.5, 0};
  const auto answer = routed(house(), request);
  ASSERT_FALSE(answer.routes.empty());
  // Beside the void one hole would do, for two bends.
  EXPECT_EQ(answer.routes[0].holes.size(), 2U);
  EXPECT_EQ(answer.routes[0].bends, 0);
  EXPECT_NEAR(answer.routes[0].cost, 0.25 + 2 * 0.5, 1e-9);
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

House with_a_shed() {
  auto h = house();
  h.rooms.push_back(room("shed", "L0", box(10, 0, 12, 2), book::RoomKind::kOutbuilding));
  return h;
}

TEST(Route, AcrossOpenGroundToAnOutbuilding) {
  auto request = between({{"hall"}, wall(2), {1.5, 1}}, {{"shed"}, wall(4), {1.5, 1}});
  const auto answer = routed(with_a_shed(), request);
  ASSERT_FALSE(answer.routes.empty());
  const auto& best = answer.routes[0];
  ASSERT_EQ(best.holes.size(), 1U);
  EXPECT_EQ(best.holes[0].fabric, HoleFabric::kOpenGround);
  EXPECT_NEAR(best.holes[0].thickness_m, 10 - 6.1, 1e-9);
  EXPECT_EQ(best.bends, 0);  // both ends lie at y = 1.5
  EXPECT_NEAR(best.length_m, 3.9, 1e-9);
  // Two outer walls, and each metre of ground three times.
  EXPECT_NEAR(best.cost, 2 * 5 * 1.2 + 3.9 * 3, 1e-9);
  EXPECT_THAT(answer.reasons.back().text, ::testing::HasSubstr("look at both before anything is drilled or dug"));
  const auto cuts = cuts_of(best, request.service);
  EXPECT_EQ(cuts.size(), 2U);  // a hole through each of the two walls
  // Wherever the two stand and whichever way they face; and the same on the way back.
  const auto moved_away = routed(turned(with_a_shed(), 0.7, {30, -4}), request);
  ASSERT_FALSE(moved_away.routes.empty());
  EXPECT_NEAR(moved_away.routes[0].cost, best.cost, 1e-9);
  const auto back = routed(with_a_shed(), between(request.to, request.from));
  ASSERT_FALSE(back.routes.empty());
  EXPECT_NEAR(back.routes[0].cost, best.cost, 1e-9);
}

TEST(Route, OpenGroundIsCrossedOnlyWhereNothingStandsAndOnlyBetweenBuildings) {
  auto h = with_a_shed();
  const auto request = between({{"hall"}, wall(2), {1.5, 1}}, {{"shed"}, wall(4), {1.5, 1}});
  // A greenhouse, drawn askew, all across the way; it stands in the way of the run, and is no way itself.
  h.rooms.push_back(room("greenhouse", "L0", {{8, -1}, {9, -0.5}, {8.2, 4}, {7.2, 3.5}}, book::RoomKind::kOutbuilding));
  const auto barred = routed(h, request);
  EXPECT_TRUE(barred.routes.empty());
  EXPECT_THAT(barred.reasons.back().text, ::testing::HasSubstr("in different buildings"));
  // The arms of a U face each other over a yard, but belong to one house.
  House u;
  u.storeys = {{{"L"}, "ground", 0, 2.4}};
  u.rooms = {room("left", "L", box(0, 0, 3, 6)), room("base", "L", box(3.1, 0, 8, 3)),
             room("right", "L", box(8.1, 0, 11, 6))};
  const auto inside = routed(u, between({{"left"}, wall(2), {1, 1}}, {{"right"}, wall(4), {5, 1}}));
  ASSERT_FALSE(inside.routes.empty());
  for (const auto& route : inside.routes) {
    for (const auto& hole : route.holes) EXPECT_NE(hole.fabric, HoleFabric::kOpenGround);
  }
}

TEST(Route, AMaterialOnEitherOuterWallKeepsTheCrossingOffIt) {
  auto h = with_a_shed();
  h.materials = {material("boards", "shed", wall(4), book::SpanShape{0, 1.2, 0, 2.4})};
  const auto answer = routed(h, between({{"hall"}, wall(2), {1.5, 1}}, {{"shed"}, kFloor, {11, 1}}));
  ASSERT_FALSE(answer.routes.empty());
  for (const auto& hole : answer.routes[0].holes) {
    ASSERT_EQ(hole.fabric, HoleFabric::kOpenGround);
    EXPECT_GT(hole.to.at.x_m, 1.2 + 0.15);
  }
  h.materials[0].place.shape = book::WholeFace{};
  const auto blocked = routed(h, between({{"hall"}, wall(2), {1.5, 1}}, {{"shed"}, kFloor, {11, 1}}));
  EXPECT_TRUE(blocked.routes.empty());
  ASSERT_EQ(blocked.blocked_by.size(), 1U);
  EXPECT_EQ(blocked.blocked_by[0].material, 0U);
}

TEST(Route, SaysWhenTheDrawingItselfGivesNoWay) {
  auto h = house();
  h.rooms.push_back(room("shed", "L0", box(20, 30, 22, 32), book::RoomKind::kOutbuilding));
  const auto answer = routed(h, between({{"kitchen"}, kFloor, {1, 1}}, {{"shed"}, kFloor, {21, 31}}));
  EXPECT_TRUE(answer.routes.empty());
  EXPECT_TRUE(answer.blocked_by.empty());
  EXPECT_FALSE(answer.open_if_all_released);
  EXPECT_THAT(
      answer.reasons.back().text,
      ::testing::HasSubstr("kitchen (kitchen) and shed (shed) stand in different buildings, and no outer wall"));
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

TEST(LaidRun, LinesAndHolesThatJoinAreOneRunEndToEnd) {
  const auto h = house();
  const auto plan = plan_of(h);
  // Down the kitchen's right wall, through it, and along the hall's left wall; written in no order.
  auto along = cut("grind", "hall", wall(4), book::LineShape{{{1.5, 0.4}, {0.4, 0.4}}, 0.02}, book::Depth::kLayer);
  auto through = hole("kitchen", wall(2), {1.5, 0.4}, book::Depth::kThrough, 25);
  auto down = cut("grind", "kitchen", wall(2), book::LineShape{{{1.5, 2.0}, {1.5, 0.45}}, 0.02}, book::Depth::kLayer);
  const std::vector cuts{along, hole("hall", kCeiling, {5, 1}, book::Depth::kThrough), through, down};
  const auto run = laid_run(plan, cuts);
  ASSERT_TRUE(run.has_value());
  EXPECT_EQ(run->cuts, (std::vector<std::size_t>{0, 2, 3}));
  EXPECT_EQ(run->holes, 1);
  EXPECT_NEAR(run->length_m, 1.1 + 0.1 + 1.55, 1e-9);
  EXPECT_NEAR(run->diameter_m, 0.025, 1e-12);
  EXPECT_EQ(run->from.room.text, "kitchen");
  EXPECT_NEAR(run->from.at.y_m, 2.0, 1e-12);
  EXPECT_EQ(run->to.room.text, "hall");
  EXPECT_NEAR(run->to.at.x_m, 0.4, 1e-12);
}

TEST(LaidRun, WhatDoesNotJoinOrEndsWhereItBeganIsNone) {
  const auto plan = plan_of(house());
  const auto line = [](std::vector<Point> points) {
    return cut("cut", "kitchen", wall(1), book::LineShape{std::move(points), 0.02}, book::Depth::kLayer);
  };
  EXPECT_TRUE(laid_run(plan, std::vector{line({{0.5, 1}, {1, 1}}), line({{1.2, 1}, {2, 1}})}).has_value());
  EXPECT_FALSE(laid_run(plan, std::vector{line({{0.5, 1}, {1, 1}}), line({{1.5, 1}, {2, 1}})}).has_value());
  EXPECT_FALSE(laid_run(plan, std::vector{line({{1, 1}, {2, 1}, {2, 2}, {1, 2}, {1, 1}})}).has_value());
  EXPECT_FALSE(laid_run(plan, std::vector{hole("kitchen", wall(2), {1.5, 1}, book::Depth::kThrough)}).has_value());
  EXPECT_FALSE(laid_run(plan, {}).has_value());
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
              ::testing::ElementsAre("/from/room", "/to/face"));
  EXPECT_THAT(lines(between({{"kitchen"}, kFloor, {9, 1}}, {{"kitchen"}, wall(7), {1, 1}})),
              ::testing::ElementsAre("/from/point", "/to/face"));
  auto request = between({{"kitchen"}, kFloor, {1, 1}}, {{"kitchen"}, kFloor, {2, 1}});
  request.service.diameter_m = 0;
  request.count = 0;
  EXPECT_THAT(lines(request), ::testing::ElementsAre("/diameter_mm", "/count"));
}

// ---- against brute force
// ------------------------------------------------------------------------------------------------

House cluttered(std::uint64_t seed, int materials) {
  auto h = big_house(2, 2, 2, materials, seed);
  for (auto& one : h.materials) {
    if (std::holds_alternative<book::WholeFace>(one.place.shape)) one.removed_on = book::Date::parse("2020-01-01");
  }
  return h;
}

/// Cheapest cost by relaxing every move until nothing changes: no order, no bound, no labels; moves told by positions
/// in space.
std::optional<double> relaxed_cost(const House& h, const RouteRequest& request,
                                   std::optional<std::size_t> closed_crossing = {}) {
  const auto plan = plan_of(h);
  const MaterialIndex index(plan, h.materials);
  const std::vector<bool> blocks(h.materials.size(), true);
  RouteGrid grid(plan, index, blocks, request);
  struct Step {
    std::size_t to;
    double cost;
    int direction;  ///< -1 keeps the one it has
  };
  std::map<std::pair<std::size_t, std::size_t>, std::size_t> number;
  std::vector<NodeRef> nodes;
  for (const auto& space : plan.spaces()) {
    for (std::size_t face = space.first_face; face < space.first_roof_face(); ++face) {
      if (face == space.inside_face()) continue;
      for (std::size_t node = 0; node < grid.grid(face).size(); ++node) {
        if (grid.grid(face).node[node] != kFree) continue;
        number[{face, node}] = nodes.size();
        nodes.push_back({face, node});
      }
    }
  }
  std::vector<std::vector<Step>> steps(nodes.size());
  const auto link = [&](std::size_t from, NodeRef to, double cost, int direction) {
    const auto found = number.find({to.face, to.node});
    if (found != number.end()) steps[from].push_back({found->second, cost, direction});
  };
  for (std::size_t i = 0; i < nodes.size(); ++i) {
    const FaceGrid& g = grid.grid(nodes[i].face);
    const std::size_t nx = g.xs.size();
    const std::size_t ix = nodes[i].node % nx;
    const std::size_t iy = nodes[i].node / nx;
    const auto run = [&](bool may, std::size_t to, double length_m, int direction) {
      if (may)
        link(i, {nodes[i].face, to}, length_m * request.weights.per_m,
             g.directions[static_cast<std::size_t>(direction)]);
    };
    run(ix + 1 < nx && g.right[nodes[i].node] == kFree, nodes[i].node + 1, ix + 1 < nx ? g.xs[ix + 1] - g.xs[ix] : 0,
        0);
    run(ix > 0 && g.right[nodes[i].node - (ix > 0)] == kFree, nodes[i].node - (ix > 0),
        ix > 0 ? g.xs[ix] - g.xs[ix - 1] : 0, 1);
    run(iy + 1 < g.ys.size() && g.up[nodes[i].node] == kFree, nodes[i].node + nx,
        iy + 1 < g.ys.size() ? g.ys[iy + 1] - g.ys[iy] : 0, 2);
    run(iy > 0 && g.up[nodes[i].node - (iy > 0 ? nx : 0)] == kFree, nodes[i].node - (iy > 0 ? nx : 0),
        iy > 0 ? g.ys[iy] - g.ys[iy - 1] : 0, 3);
    std::vector<NodeRef> edge;
    grid.at_edge(nodes[i], edge);
    for (const auto& there : edge) link(i, there, 0, -1);
    const auto& backings = plan.faces()[nodes[i].face].backings;
    for (std::size_t b = 0; b < backings.size(); ++b) {
      if (g.holes[b][nodes[i].node] != kFree || backings[b] / 2 == closed_crossing) continue;
      const auto& backing = plan.backings()[backings[b]];
      if (const auto there = grid.through(nodes[i], b)) {
        const auto p = grid.in_space(nodes[i]);
        const auto q = grid.in_space(*there);
        const double length_m =
            std::sqrt((p.x - q.x) * (p.x - q.x) + (p.y - q.y) * (p.y - q.y) + (p.z - q.z) * (p.z - q.z));
        link(i, *there,
             length_m * request.weights.per_m +
                 request.weights.hole(RouteGrid::fabric_of(backing), request.service.diameter_m),
             g.directions[4]);
      }
    }
    if (const auto there = grid.across_void(nodes[i])) {
      const auto p = grid.in_space(nodes[i]);
      const auto q = grid.in_space(*there);
      link(i, *there, std::abs(p.z - q.z) * request.weights.per_m, g.directions[5]);
    }
  }
  constexpr std::size_t kDirections = 16;
  const double far = std::numeric_limits<double>::infinity();
  std::vector<double> best(nodes.size() * kDirections, far);  // the last direction is "none yet"
  const auto from =
      number.find({*plan.find_face(request.from.room, request.from.face),
                   grid.node_at(*plan.find_face(request.from.room, request.from.face), request.from.at)->node});
  const auto to = number.find({*plan.find_face(request.to.room, request.to.face),
                               grid.node_at(*plan.find_face(request.to.room, request.to.face), request.to.at)->node});
  if (from == number.end() || to == number.end()) return std::nullopt;
  best[from->second * kDirections + kDirections - 1] = 0;
  for (bool changed = true; changed;) {
    changed = false;
    for (std::size_t i = 0; i < nodes.size(); ++i) {
      for (std::size_t d = 0; d < kDirections; ++d) {
        const double cost = best[i * kDirections + d];
        if (cost == far) continue;
        for (const auto& step : steps[i]) {
          const std::size_t direction = step.direction < 0 ? d : static_cast<std::size_t>(step.direction);
          const bool bend = direction != d && d != kDirections - 1;
          double& there = best[step.to * kDirections + direction];
          const double sum = cost + step.cost + (bend ? request.weights.per_bend : 0);
          if (sum < there - 1e-12) {
            there = sum;
            changed = true;
          }
        }
      }
    }
  }
  const double least = *std::min_element(best.begin() + static_cast<std::ptrdiff_t>(to->second * kDirections),
                                         best.begin() + static_cast<std::ptrdiff_t>((to->second + 1) * kDirections));
  if (least == far) return std::nullopt;
  return least;
}

/// The house with a void under part of the bathroom's floor, and patches of something all over it.
House cluttered_with_a_void(std::uint64_t seed) {
  auto h = house();
  std::mt19937_64 random(seed);
  const auto between = [&](double low, double high) {
    return std::uniform_real_distribution<double>(low, high)(random);
  };
  for (int i = 0; i < 12; ++i) {
    const auto& in = h.rooms[random() % h.rooms.size()];
    const double x = between(in.outline[0].x_m, in.outline[2].x_m - 1);
    const double y = between(0, 2);
    const auto patch = book::PolygonShape{box(x, y, x + between(0.1, 1), y + between(0.1, 1))};
    const double u = between(0, 2);
    const auto span = book::SpanShape{u, u + between(0.1, 0.8), between(0, 0.8), between(1, 1.8)};
    const bool flat = random() % 2 == 0 || in.kind == book::RoomKind::kVoid;
    h.materials.push_back(
        flat ? material("M" + std::to_string(i), in.id.text, random() % 2 ? kFloor : kCeiling, patch)
             : material("M" + std::to_string(i), in.id.text, wall(1 + static_cast<int>(random() % 4)), span));
  }
  return h;
}

TEST(PropertyRoute, TheFirstRouteIsTheCheapestOnItsGrid) {
  testing::Agreement agreement("fabric_route");
  int found = 0;
  int none = 0;
  int through_the_void = 0;
  for (std::uint64_t seed = 1; seed <= 20; ++seed) {
    const bool with_void = seed % 2 == 0;
    const auto h = with_void ? cluttered_with_a_void(seed) : cluttered(seed, 10);
    auto request =
        with_void
            ? between({{"kitchen"}, wall(1), {3.4, 2.0}}, {{"bathroom"}, kFloor, {0.6 + 0.01 * double(seed), 0.4}})
            : between({{"R0"}, wall(1), {1.3, 1.1}}, {{seed % 4 == 1 ? "R7" : "R2"}, wall(3), {2.2, 1.4}});
    if (seed % 3 == 0) request.weights = {1, 1.5, 0.5, 1, 0.2, 0.01};  // bends dear, holes cheap
    request.count = 1;
    const auto brute = relaxed_cost(h, request);
    const auto answer = routed(h, request);
    ASSERT_EQ(answer.routes.empty(), !brute) << seed;
    if (!brute) {
      ++none;
      continue;
    }
    ++found;
    EXPECT_NEAR(answer.routes[0].cost, *brute, 1e-9) << seed;
    agreement.apart(answer.routes[0].cost - *brute, 1e-9);
    for (const auto& hole : answer.routes[0].holes) through_the_void += hole.to.room.text == "void" ? 1 : 0;
  }
  EXPECT_GT(found, 10);
  EXPECT_GT(through_the_void, 0);
}

TEST(PropertyRoute, InAHouseOutOfSquareToo) {
  testing::Agreement agreement("fabric_route_askew");
  int found = 0;
  for (std::uint64_t seed = 21; seed <= 28; ++seed) {
    auto h = cluttered(seed, 8);
    // One room drawn two degrees askew.
    const auto pivot = h.rooms[1].outline[0];
    const auto askew = [&](Point p) { return moved({p.x_m - pivot.x_m, p.y_m - pivot.y_m}, 0.035, pivot); };
    for (auto& p : h.rooms[1].outline) p = askew(p);
    for (auto& one : h.materials) {
      if (one.place.room.text == "R1") move_shape(one.place, askew);
    }
    auto request = between({{"R0"}, wall(1), {1.3, 1.1}}, {{"R1"}, wall(3), {2.2, 1.4}});
    request.count = 1;
    const auto brute = relaxed_cost(h, request);
    const auto answer = routed(h, request);
    ASSERT_EQ(answer.routes.empty(), !brute) << seed;
    if (!brute) continue;
    ++found;
    EXPECT_NEAR(answer.routes[0].cost, *brute, 1e-9) << seed;
    agreement.apart(answer.routes[0].cost - *brute, 1e-9);
  }
  EXPECT_GT(found, 3);
}

TEST(PropertyRoute, AnotherRouteCostsAtMostATenthMoreThanTheCheapestWithAHoleClosed) {
  int found = 0;
  for (std::uint64_t seed = 1; seed <= 8; ++seed) {
    const auto h = cluttered(seed, 10);
    auto request = between({{"R0"}, wall(1), {1.3, 1.1}}, {{seed % 2 == 0 ? "R7" : "R2"}, wall(3), {2.2, 1.4}});
    request.count = 2;
    const auto answer = routed(h, request);
    if (answer.routes.empty()) continue;
    std::optional<double> least;
    for (const auto& hole : answer.routes[0].holes) {
      const auto cost = relaxed_cost(h, request, hole.backing / 2);
      if (cost && (!least || *cost < *least)) least = cost;
    }
    if (!least) continue;
    ++found;
    ASSERT_EQ(answer.routes.size(), 2U) << seed;
    EXPECT_LE(answer.routes[1].cost, kOtherRouteSlack * *least + 1e-9) << seed;
    EXPECT_GE(answer.routes[1].cost, *least - 1e-9) << seed;
  }
  EXPECT_GT(found, 3);
}

/// One wall, everything else in the room blocked: the shortest way among its patches on a fine raster.
TEST(PropertyRoute, OnOneWallTheLengthIsThatOfAFineRaster) {
  std::mt19937_64 random(5);
  const auto tenth = [&](int low, int high) {
    return 0.1 * static_cast<double>(low + static_cast<int>(random() % static_cast<std::uint64_t>(high - low + 1)));
  };
  int found = 0;
  for (int round = 0; round < 12; ++round) {
    House h;
    h.storeys = {{{"L"}, "ground", 0, 3}};
    h.rooms = {room("A", "L", box(0, 0, 4, 3))};
    h.materials = {material("f", "A", kFloor), material("c", "A", kCeiling), material("w2", "A", wall(2)),
                   material("w3", "A", wall(3)), material("w4", "A", wall(4))};
    std::vector<std::array<double, 4>> patches;
    for (int i = 0; i < 5; ++i) {
      const double left = tenth(3, 30);
      const double low = tenth(2, 22);
      patches.push_back({left, low, left + tenth(2, 10), low + tenth(2, 12)});
      patches.back()[2] = std::min(patches.back()[2], 4.0);
      patches.back()[3] = std::min(patches.back()[3], 3.0);
      h.materials.push_back(
          material("p" + std::to_string(i), "A", wall(1),
                   book::SpanShape{patches.back()[0], patches.back()[2], patches.back()[1], patches.back()[3]}));
    }
    auto request = between({{"A"}, wall(1), {0.1, 0.5}}, {{"A"}, wall(1), {3.9, 2.5}});
    request.service.diameter_m = 0.01;
    request.weights.per_bend = 0;
    request.count = 1;
    // The clearance is 0.155 m of patches (as the crow flies, so corners are round) and 0.055 m of the edges.
    constexpr int kPerM = 100;
    const auto is_free = [&](int x, int y) {
      const double u = static_cast<double>(x) / kPerM;
      const double v = static_cast<double>(y) / kPerM;
      if (u < 0.055 || u > 4 - 0.055 || v < 0.055 || v > 3 - 0.055) return false;
      return std::all_of(patches.begin(), patches.end(), [&](const auto& p) {
        return std::hypot(std::max({p[0] - u, 0.0, u - p[2]}), std::max({p[1] - v, 0.0, v - p[3]})) > 0.155;
      });
    };
    std::vector<int> steps(401 * 301, -1);
    std::vector<std::pair<int, int>> wave{{10, 50}};
    if (!is_free(10, 50)) wave.clear();
    for (const auto& [x, y] : wave) steps[static_cast<std::size_t>(y * 401 + x)] = 0;
    for (std::size_t i = 0; i < wave.size(); ++i) {
      const auto [x, y] = wave[i];
      for (const auto& [dx, dy] : {std::pair(1, 0), {-1, 0}, {0, 1}, {0, -1}}) {
        const int nx = x + dx;
        const int ny = y + dy;
        if (nx < 0 || ny < 0 || nx > 400 || ny > 300 || steps[static_cast<std::size_t>(ny * 401 + nx)] >= 0 ||
            !is_free(nx, ny))
          continue;
        steps[static_cast<std::size_t>(ny * 401 + nx)] = steps[static_cast<std::size_t>(y * 401 + x)] + 1;
        wave.emplace_back(nx, ny);
      }
    }
    const int brute = steps[250 * 401 + 390];
    const auto answer = routed(h, request);
    ASSERT_EQ(answer.routes.empty(), brute < 0) << round;
    if (brute < 0) continue;
    ++found;
    EXPECT_NEAR(answer.routes[0].length_m, static_cast<double>(brute) / kPerM, 0.045)
        << round;  // up to four detours, each rounded to 1 cm
  }
  EXPECT_GT(found, 5);
}

TEST(PropertyRoute, MovingTurningAndMirroringTheHouseChangesNothing) {
  int found = 0;
  for (std::uint64_t seed = 11; seed <= 16; ++seed) {
    const auto h = cluttered(seed, 12);
    auto request = between({{"R0"}, wall(1), {1.3, 1.1}}, {{"R7"}, wall(3), {2.2, 1.4}});
    const auto costs = [](const RouteAnswer& answer) {
      std::vector<double> all;
      for (const auto& route : answer.routes) all.push_back(std::round(route.cost * 1e6) / 1e6);
      return all;
    };
    const auto as_drawn = routed(h, request);
    if (as_drawn.routes.empty()) {
      EXPECT_TRUE(routed(turned(h, 0.7, {30, -4}), request).routes.empty());
      continue;
    }
    ++found;
    EXPECT_EQ(costs(routed(turned(h, 0.7, {30, -4}), request))[0], costs(as_drawn)[0]) << seed;
    const auto back = routed(h, between(request.to, request.from));
    EXPECT_EQ(costs(back)[0], costs(as_drawn)[0]) << seed;
    book::Place from{request.from.room, request.from.face, book::PointShape{request.from.at}};
    book::Place to{request.to.room, request.to.face, book::PointShape{request.to.at}};
    mirror_wall_place(from, h.rooms);
    mirror_wall_place(to, h.rooms);
    const auto other_hand =
        routed(mirrored(h), between({from.room, from.face, std::get<book::PointShape>(from.shape).at},
                                    {to.room, to.face, std::get<book::PointShape>(to.shape).at}));
    EXPECT_EQ(costs(other_hand)[0], costs(as_drawn)[0]) << seed;
  }
  EXPECT_GT(found, 2);
}

TEST(PropertyRoute, WhateverIsReleasedNoRouteMeetsTheRest) {
  for (std::uint64_t seed = 40; seed <= 45; ++seed) {
    const auto h = big_house(3, 2, 2, 60, seed);
    const auto plan = plan_of(h);
    const MaterialIndex index(plan, h.materials);
    std::vector<bool> blocks(h.materials.size());
    for (std::size_t i = 0; i < blocks.size(); ++i) blocks[i] = i % 3 != seed % 3;
    auto request = between({{"R0"}, wall(1), {1.3, 1.1}}, {{"R10"}, wall(3), {2.2, 1.4}});
    request.service = {ServiceKind::kPipe, 0.022, 0};
    const auto answer = find_routes(plan, index, blocks, request);
    ASSERT_TRUE(answer.ok());
    const auto check = [&](const Route& route, std::optional<std::size_t> but) {
      for (const auto& touch : touches(plan, index, cuts_of(route, request.service))) {
        EXPECT_TRUE(!blocks[touch.material_index] || touch.material_index == but)
            << seed << " meets " << touch.material.text;
      }
    };
    for (const auto& route : answer->routes) check(route, std::nullopt);
    for (const auto& blocker : answer->blocked_by) check(blocker.opens, blocker.material);
  }
}

}  // namespace
}  // namespace lathbook::fabric
