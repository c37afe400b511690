#include "fabric/opening.h"

#include <gtest/gtest.h>

#include <cmath>
#include <numbers>

#include "fabric/house_fixture.h"

namespace lathbook::fabric {
namespace {

using namespace fixture;

book::Opening opening(book::OpeningKind kind, std::string from, std::string to, Point at) {
  book::Opening one;
  one.kind = kind;
  one.from = {std::move(from)};
  one.to = {std::move(to)};
  one.at = at;
  one.width_m = 0.8;
  return one;
}

Plan plan_of(const House& h) { return Plan::build(h.storeys, h.rooms).value(); }

std::string name(const Plan& plan, const OpeningOn& on) {
  const auto& face = plan.faces()[on.face];
  return plan.spaces()[face.space].id.text + " " + face.face.text();
}

TEST(Opening, ADoorIsInTheWallsOfBothItsRooms) {
  const auto plan = plan_of(house());
  auto door = opening(book::OpeningKind::kDoor, "kitchen", "hall", {4.05, 1});
  door.height_m = 1.98;
  const auto on = faces_of(plan, door);
  ASSERT_EQ(on.size(), 2U);
  EXPECT_EQ(name(plan, on[0]), "kitchen wall-2");
  EXPECT_EQ(name(plan, on[1]), "hall wall-4");
  // From inside the kitchen the wall's left end is its far corner, at y = 3.
  EXPECT_NEAR(on[0].outline[0].x_m, 1.6, 1e-9);
  EXPECT_NEAR(on[0].outline[1].x_m, 2.4, 1e-9);
  EXPECT_EQ(on[0].outline[0].y_m, 0);
  EXPECT_NEAR(on[0].outline[2].y_m, 1.98, 1e-9);
}

TEST(Opening, AWindowHangsFromTheUsualHeightUnlessItsSillIsWrittenDown) {
  const auto plan = plan_of(house());
  auto window = opening(book::OpeningKind::kWindow, "kitchen", "", {1, 0});
  window.height_m = 1.2;
  EXPECT_NEAR(faces_of(plan, window)[0].outline[0].y_m, 0.9, 1e-9);
  window.height_m = 2.3;  // taller than that: to the floor, not through it
  EXPECT_NEAR(faces_of(plan, window)[0].outline[0].y_m, 0, 1e-9);
  window.height_m = 1;
  window.sill_m = 0.3;
  const auto on = faces_of(plan, window);
  ASSERT_EQ(on.size(), 1U);
  EXPECT_NEAR(on[0].outline[0].y_m, 0.3, 1e-9);
  EXPECT_NEAR(on[0].outline[2].y_m, 1.3, 1e-9);
}

TEST(Opening, AHatchIsInTheCeilingBelowAndTheFloorAbove) {
  const auto plan = plan_of(house());
  for (const bool from_above : {false, true}) {
    const auto hatch = from_above ? opening(book::OpeningKind::kHatch, "loft", "bathroom", {3, 1})
                                  : opening(book::OpeningKind::kHatch, "bathroom", "loft", {3, 1});
    const auto on = faces_of(plan, hatch);
    ASSERT_EQ(on.size(), 2U);
    EXPECT_EQ(name(plan, on[from_above ? 1 : 0]), "bathroom ceiling");
    EXPECT_EQ(name(plan, on[from_above ? 0 : 1]), "loft floor");
    EXPECT_NEAR(on[0].outline[0].x_m, 2.6, 1e-9);
  }
}

TEST(Opening, WithoutAPlaceOrFarFromAnyWallItIsOnNoFace) {
  const auto plan = plan_of(house());
  auto door = opening(book::OpeningKind::kDoor, "kitchen", "", {2, 1.5});
  EXPECT_TRUE(faces_of(plan, door).empty());
  door.at.reset();
  EXPECT_TRUE(faces_of(plan, door).empty());
}

TEST(PropertyOpening, MovesAndTurnsWithTheHouse) {
  const auto still = faces_of(plan_of(house()), opening(book::OpeningKind::kDoor, "kitchen", "hall", {4.05, 1}));
  for (int i = 1; i < 12; ++i) {
    const double turn = i * std::numbers::pi / 6;
    const auto plan = plan_of(turned(house(), turn, {7, -3}));
    const auto on =
        faces_of(plan, opening(book::OpeningKind::kDoor, "kitchen", "hall", moved({4.05, 1}, turn, {7, -3})));
    ASSERT_EQ(on.size(), still.size());
    for (std::size_t k = 0; k < on.size(); ++k) {
      EXPECT_EQ(on[k].face, still[k].face);
      EXPECT_NEAR(on[k].outline[0].x_m, still[k].outline[0].x_m, 1e-9);
    }
  }
}

TEST(Opening, ADoorIsDrawnWithItsLeafOpenAsItHangs) {
  const auto plan = plan_of(house());
  auto door = opening(book::OpeningKind::kDoor, "kitchen", "hall", {4.05, 1});
  // Nobody has said: into the hall, at the end nearest the corner at y = 0.
  auto leaves = leaves_of(plan, door);
  ASSERT_EQ(leaves.size(), 1U);
  EXPECT_NEAR(leaves[0].hinge.y_m, 0.6, 1e-9);
  EXPECT_NEAR(leaves[0].shut.y_m, 1.4, 1e-9);
  EXPECT_NEAR(leaves[0].open.y_m, 0.6, 1e-9);
  EXPECT_NEAR(leaves[0].open.x_m - leaves[0].hinge.x_m, 0.8, 1e-9);
  // From inside the kitchen the wall's left end is its far corner.
  door.hung = book::Hung::kLeft;
  door.opens = book::Opens::kIn;
  leaves = leaves_of(plan, door);
  EXPECT_NEAR(leaves[0].hinge.y_m, 1.4, 1e-9);
  EXPECT_NEAR(leaves[0].open.x_m - leaves[0].hinge.x_m, -0.8, 1e-9);
  door.hung.reset();
  door.width_m = 1.6;
  leaves = leaves_of(plan, door);
  ASSERT_EQ(leaves.size(), 2U);
  EXPECT_NEAR(leaves[0].shut.y_m, leaves[1].shut.y_m, 1e-9) << "a pair meets in the middle";
  door.kind = book::OpeningKind::kWindow;
  EXPECT_TRUE(leaves_of(plan, door).empty());
}

TEST(PropertyOpening, ALeafIsAsLongAsItsShareOfTheDoorAndSquareToItsWall) {
  const auto plan = plan_of(house());
  for (const double width : {0.6, 0.8, 1.2, 1.4}) {
    for (const auto hung : {book::Hung::kLeft, book::Hung::kRight, book::Hung::kBoth}) {
      for (const auto opens : {book::Opens::kIn, book::Opens::kOut}) {
        auto door = opening(book::OpeningKind::kDoor, "kitchen", "hall", {4.05, 1.5});
        door.width_m = width;
        door.hung = hung;
        door.opens = opens;
        const auto leaves = leaves_of(plan, door);
        ASSERT_EQ(leaves.size(), hung == book::Hung::kBoth ? 2U : 1U);
        for (const auto& leaf : leaves) {
          EXPECT_NEAR(distance_m(leaf.hinge, leaf.open), width / static_cast<double>(leaves.size()), 1e-9);
          EXPECT_NEAR(distance_m(leaf.hinge, leaf.shut), width / static_cast<double>(leaves.size()), 1e-9);
          EXPECT_NEAR((leaf.open.x_m - leaf.hinge.x_m) * (leaf.shut.x_m - leaf.hinge.x_m) +
                          (leaf.open.y_m - leaf.hinge.y_m) * (leaf.shut.y_m - leaf.hinge.y_m),
                      0, 1e-9);
        }
      }
    }
  }
}

}  // namespace
}  // namespace lathbook::fabric
