#include "fabric/tape.h"

#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include <algorithm>
#include <cmath>
#include <regex>

#include "fabric/house_fixture.h"

namespace lathbook::fabric {
namespace {

using namespace fixture;
using ::testing::HasSubstr;

constexpr double kPi = 3.14159265358979323846;

Plan plan_of(Ring outline) {
  auto plan = Plan::build(std::vector<book::Storey>{{{"L0"}, "ground", 0, 2.4}},
                          std::vector{room("hall", "L0", std::move(outline))});
  if (!plan.ok()) throw std::logic_error(plan.faults().front().text());
  return *plan;
}

std::string told(const Plan& plan, book::Face face, Point at) {
  return taped_text(plan, *plan.find_face({"hall"}, face), at);
}

/// A room with `corners` corners round the origin, at any angle and any distance: mostly bent inwards somewhere.
Ring any_outline(std::mt19937_64& engine, int corners) {
  const auto unit = [&] { return std::uniform_real_distribution<>(0, 1)(engine); };
  Ring ring;
  for (int i = 0; i < corners; ++i) {
    const double turn = 2 * kPi * (i + 0.8 * unit()) / corners;
    const double out_m = 1 + 5 * unit();
    ring.push_back({out_m * std::cos(turn), out_m * std::sin(turn)});
  }
  return ring;
}

Point any_place(std::mt19937_64& engine, const Ring& outline) {
  const Box box = box_of(outline);
  for (;;) {
    const Point p{std::uniform_real_distribution<>(box.x0, box.x1)(engine),
                  std::uniform_real_distribution<>(box.y0, box.y1)(engine)};
    if (covers(outline, p)) return p;
  }
}

/// The line of wall `n` (from 1) of an anticlockwise outline, from corner n to corner n + 1, and its inner normal.
struct Line {
  Point from, to, inwards;
};
Line line_of(const Ring& outline, std::size_t n) {
  const Point a = outline[n - 1];
  const Point b = outline[n % outline.size()];
  const double length_m = std::hypot(b.x_m - a.x_m, b.y_m - a.y_m);
  return {a, b, {-(b.y_m - a.y_m) / length_m, (b.x_m - a.x_m) / length_m}};
}
double off_m(const Line& line, Point p) {
  return (p.x_m - line.from.x_m) * line.inwards.x_m + (p.y_m - line.from.y_m) * line.inwards.y_m;
}

/// The one point at these distances from two walls.
Point read_back(const Line& a, double a_m, const Line& b, double b_m) {
  const double right_a = a.from.x_m * a.inwards.x_m + a.from.y_m * a.inwards.y_m + a_m;
  const double right_b = b.from.x_m * b.inwards.x_m + b.from.y_m * b.inwards.y_m + b_m;
  const double det = a.inwards.x_m * b.inwards.y_m - a.inwards.y_m * b.inwards.x_m;
  return {(right_a * b.inwards.y_m - right_b * a.inwards.y_m) / det,
          (a.inwards.x_m * right_b - b.inwards.x_m * right_a) / det};
}

double angle_between(const Line& a, const Line& b) {
  const double det = a.inwards.x_m * b.inwards.y_m - a.inwards.y_m * b.inwards.x_m;
  return std::asin(std::min(1.0, std::abs(det)));
}

/// What a person reads: each wall's number and distance.
std::vector<std::pair<std::size_t, double>> walls_in(const std::string& text) {
  static const std::regex kWall(R"((at|and|at the corner of|([0-9.]+) m from) (?:the line of )?wall ([0-9]+))");
  std::vector<std::pair<std::size_t, double>> walls;
  for (std::sregex_iterator it(text.begin(), text.end(), kWall), end; it != end; ++it)
    walls.emplace_back(std::stoul((*it)[3]), (*it)[2].matched ? std::stod((*it)[2]) : 0.0);
  return walls;
}

/// Whether a tape from a spot square to a wall stays in the room, by points a few millimetres apart.
bool tape_stays_in(const Ring& outline, const Line& wall, Point p) {
  const double m = off_m(wall, p);
  const Point foot{p.x_m - m * wall.inwards.x_m, p.y_m - m * wall.inwards.y_m};
  if (distance_to_segment_m(foot, wall.from, wall.to) > 1e-6) return false;
  const int steps = 2000;
  for (int i = 0; i <= steps; ++i) {
    const double f = static_cast<double>(i) / steps;
    if (distance_to_ring_m(outline, {p.x_m + f * (foot.x_m - p.x_m), p.y_m + f * (foot.y_m - p.y_m)}) > 1e-6)
      return false;
  }
  return true;
}

TEST(Tape, ToldAsOneWouldSayIt) {
  const Plan plan = plan_of(box(0, 0, 4, 3));
  EXPECT_EQ(told(plan, kCeiling, {0.8, 1.9}),
            "0.8 m from wall 4 (left on the plan), 1.1 m from wall 3 (at the top of the plan)");
  EXPECT_EQ(told(plan, kFloor, {4, 0.5}),
            "at wall 2 (right on the plan), 0.5 m from wall 1 (at the bottom of the plan)");
  EXPECT_EQ(told(plan, roof(1), {4, 3}),
            "at the corner of wall 2 (right on the plan) and wall 3 (at the top of the plan)");
  EXPECT_EQ(told(plan, roof(1), {3.8, 3}),
            "at wall 3 (at the top of the plan), 0.2 m from wall 2 (right on the plan), measured level");
  EXPECT_EQ(told(plan, wall(1), {1.2, 1.5}),
            "wall 1 (at the bottom of the plan): 1.2 m from its left end (seen from inside the room), 1.5 m up");
  EXPECT_EQ(told(plan, wall(1), {0, 0}),
            "wall 1 (at the bottom of the plan): at its left end (seen from inside the room), at the floor");
}

TEST(Tape, OfTwoWallsOnOneSideTheLengthIsToldToo) {
  const Plan plan = plan_of({{0, 0}, {4, 0}, {4, 1}, {1, 1}, {1, 3}, {0, 3}});
  EXPECT_EQ(
      told(plan, kFloor, {3.5, 0.8}),
      "0.2 m from wall 3 (at the top of the plan, 3.0 m long), 0.5 m from wall 2 (right on the plan, 1.0 m long)");
}

TEST(Tape, DrawnOffTheRoomIsToldAtItsWall) {
  const Plan plan = plan_of(box(0, 0, 4, 3));
  EXPECT_EQ(told(plan, kFloor, {4.1, 1}), told(plan, kFloor, {4, 1}));
  EXPECT_EQ(told(plan, wall(2), {3.1, 2.5}), told(plan, wall(2), {3, 2.4}));
}

TEST(PropertyTape, ReadBackFromItsRoomItIsThePlaceMeant) {
  std::mt19937_64 engine(11);
  int by_line = 0;
  int narrow = 0;
  for (int trial = 0; trial < 3000; ++trial) {
    const Ring outline = any_outline(engine, 3 + trial % 9);
    if (signed_area_m2(outline) <= 0 || crossing_edges(outline)) continue;
    const Plan plan = plan_of(outline);
    const Point p = any_place(engine, outline);
    const auto walls = std::get<1>(taped(plan, *plan.find_face({"hall"}, kCeiling), p));
    const auto number = [&](const OffWall& off) {
      return static_cast<std::size_t>(plan.faces()[off.face].face.number);
    };
    const Line a = line_of(outline, number(walls[0]));
    const Line b = line_of(outline, number(walls[1]));
    const Point exactly = read_back(a, walls[0].distance_m, b, walls[1].distance_m);
    ASSERT_NEAR(exactly.x_m, p.x_m, 1e-6) << trial;
    ASSERT_NEAR(exactly.y_m, p.y_m, 1e-6) << trial;
    by_line += walls[0].reached && walls[1].reached ? 0 : 1;

    const auto said = walls_in(told(plan, kCeiling, p));
    ASSERT_EQ(said.size(), 2U);
    const Point back =
        read_back(line_of(outline, said[0].first), said[0].second, line_of(outline, said[1].first), said[1].second);
    const double angle = angle_between(a, b);
    // Both distances are rounded by at most 0.05 m: the far corner of that lozenge.
    ASSERT_LE(distance_m(back, p), 0.05 / std::sin(angle / 2) + 1e-9) << trial;
    if (angle < kPi / 4 - 1e-9) {
      ++narrow;
    } else {
      ASSERT_LT(distance_m(back, p), kUncertaintyM) << trial;
    }
  }
  EXPECT_GT(by_line, 10) << "some outlines have places that no two walls face";
  EXPECT_GT(narrow, 0) << "and some no two walls far enough apart in direction";
}

TEST(PropertyTape, NoTwoWallsThatATapeReachesAreNearer) {
  std::mt19937_64 engine(12);
  for (int trial = 0; trial < 600; ++trial) {
    const Ring outline = any_outline(engine, 3 + trial % 7);
    if (signed_area_m2(outline) <= 0 || crossing_edges(outline)) continue;
    const Plan plan = plan_of(outline);
    const Point p = any_place(engine, outline);
    const auto walls = std::get<1>(taped(plan, *plan.find_face({"hall"}, kFloor), p));
    for (const auto& off : walls) {
      const Line line = line_of(outline, static_cast<std::size_t>(plan.faces()[off.face].face.number));
      ASSERT_NEAR(off.distance_m, off_m(line, p), 1e-9);
      ASSERT_EQ(off.reached, tape_stays_in(outline, line, p)) << trial;
    }
    const bool both = walls[0].reached && walls[1].reached;
    const double sum_m = walls[0].distance_m + walls[1].distance_m;
    for (std::size_t i = 1; i <= outline.size(); ++i) {
      for (std::size_t j = i + 1; j <= outline.size(); ++j) {
        const Line a = line_of(outline, i);
        const Line b = line_of(outline, j);
        if (angle_between(a, b) < kPi / 4 || !tape_stays_in(outline, a, p) || !tape_stays_in(outline, b, p)) continue;
        ASSERT_TRUE(both) << trial;
        ASSERT_LE(sum_m, off_m(a, p) + off_m(b, p) + 1e-9) << trial;
      }
    }
  }
}

TEST(PropertyTape, AWallIsMeasuredFromItsLeftEndAsSeenFromInside) {
  std::mt19937_64 engine(13);
  static const std::regex kSpot(
      R"(^wall ([0-9]+) \(.*\): (?:at|([0-9.]+) m from) its left end .*, (?:at the floor|([0-9.]+) m up)$)");
  for (int trial = 0; trial < 500; ++trial) {
    const Ring outline = any_outline(engine, 3 + trial % 7);
    if (signed_area_m2(outline) <= 0 || crossing_edges(outline)) continue;
    const Plan plan = plan_of(outline);
    const auto n = static_cast<int>(1 + engine() % outline.size());
    const Line line = line_of(outline, static_cast<std::size_t>(n));
    const double length_m = distance_m(line.from, line.to);
    const double u = std::uniform_real_distribution<>(0, length_m)(engine);
    const double v = std::uniform_real_distribution<>(0, 2.4)(engine);
    const auto text = told(plan, wall(n), {u, v});
    std::smatch found;
    ASSERT_TRUE(std::regex_match(text, found, kSpot)) << text;
    EXPECT_EQ(std::stoi(found[1]), n);
    // Facing the wall from inside, the left hand points along the inner normal turned a quarter clockwise.
    const Point left_hand{line.inwards.y_m, -line.inwards.x_m};
    const double from_m = line.from.x_m * left_hand.x_m + line.from.y_m * left_hand.y_m;
    const double to_m = line.to.x_m * left_hand.x_m + line.to.y_m * left_hand.y_m;
    const Point left = to_m > from_m ? line.to : line.from;
    const double said_m = found[2].matched ? std::stod(found[2]) : 0;
    const Point read{left.x_m - said_m * left_hand.x_m, left.y_m - said_m * left_hand.y_m};
    ASSERT_LE(distance_m(read, plan.in_plan(*plan.find_face({"hall"}, wall(n)), {u, v})), 0.05 + 1e-9) << text;
    ASSERT_NEAR(found[3].matched ? std::stod(found[3]) : 0, v, 0.05 + 1e-9) << text;
  }
}

TEST(Tape, InTheMiddleOfAStarTheLinesOfWallsAreTold) {
  Ring star;
  for (int i = 0; i < 10; ++i) {
    const double out_m = i % 2 == 0 ? 3 : 3 * std::sin(kPi / 10) / std::sin(7 * kPi / 10);
    star.push_back({out_m * std::cos(kPi * i / 5), out_m * std::sin(kPi * i / 5)});
  }
  EXPECT_THAT(told(plan_of(star), kFloor, {0.01, 0.02}), HasSubstr("from the line of wall "));
}

TEST(Tape, MayTouchACornerButNotPassThroughOneIntoAWall) {
  const auto walls = [](const Ring& outline) {
    const Plan plan = plan_of(outline);
    const auto two = std::get<1>(taped(plan, *plan.find_face({"hall"}, kFloor), {2, 2}));
    EXPECT_TRUE(two[0].reached && two[1].reached);
    return std::pair(plan.faces()[two[0].face].face.number, plan.faces()[two[1].face].face.number);
  };
  // From (2, 2) straight down past the tip of a spike at (2, 1) to the bottom wall.
  EXPECT_EQ(walls({{0, 0}, {9, 0}, {9, 9}, {1.8, 9}, {2, 1}, {1.8, 0.5}, {0, 0.5}}), std::pair(4, 1));
  // The same corner, but the wall goes on under it, from corner to corner: the top wall is the nearest a tape reaches.
  EXPECT_EQ(walls({{0, 0}, {6, 0}, {6, 5}, {1.8, 5}, {2, 1}, {2.1, 0.8}, {2, 0.5}, {0, 0.5}}), std::pair(4, 3));
}

}  // namespace
}  // namespace lathbook::fabric
