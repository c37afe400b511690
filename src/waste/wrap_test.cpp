#include "waste/wrap.h"

#include <gmock/gmock.h>
#include <gtest/gtest.h>

namespace lathbook::waste {
namespace {

using ::testing::ElementsAre;
using ::testing::IsEmpty;

WrapPiece piece(double l, double w, double t, double mass, int count = 1, bool whole = true) {
  return {.size = {.id = "W1", .length_m = l, .width_m = w, .thickness_m = t, .mass_kg = mass, .count = count},
          .whole = whole};
}

TEST(Wrap, OneSheetByHand) {
  const auto found = wrap({piece(2.4, 1.2, 0.006, 25)});
  ASSERT_TRUE(found.ok());
  // Girth 2 · 1.206 = 2.412, with lap 2.562; length 2.4 + 0.006 + 0.3 = 2.706; two layers.
  EXPECT_NEAR(found->polythene_m2, 2 * 2.562 * 2.706, 1e-12);
  EXPECT_NEAR(found->tape_m, 2 * (2.706 + 2 * 2.412), 1e-12);
  EXPECT_EQ(found->bags, 0);
  EXPECT_NEAR(found->wrapped_thickness_added_m, 4 * 0.000254, 1e-15);
  EXPECT_FALSE(found->reasons.empty());
}

TEST(PropertyWrap, CoversEveryFaceInEveryLayer) {
  for (int layers : {1, 2, 3}) {
    for (double t : {0.004, 0.1, 0.5}) {
      const auto found = wrap({piece(1.8, 0.9, t, 20, 3)}, {.layers = layers});
      const double surface = 2 * (1.8 * 0.9 + 1.8 * t + 0.9 * t);
      EXPECT_GE(found->polythene_m2, layers * 3 * surface);
    }
  }
}

TEST(PropertyWrap, GrowsWithPiecesAndLayers) {
  const auto one = wrap({piece(1.8, 0.9, 0.006, 20)}), three = wrap({piece(1.8, 0.9, 0.006, 20, 3)});
  EXPECT_NEAR(three->polythene_m2, 3 * one->polythene_m2, 1e-12);
  EXPECT_NEAR(wrap({piece(1.8, 0.9, 0.006, 20)}, {.layers = 4})->tape_m, 2 * one->tape_m, 1e-12);
}

TEST(Wrap, DebrisGoesIntoBagsByMassOrVolume) {
  // 60 kg in 0.02 m3: three bags of 25 kg. 10 kg in 0.12 m3: three bags of 50 litres.
  EXPECT_EQ(wrap({piece(1, 0.2, 0.1, 60, 1, false)})->bags, 3);
  EXPECT_EQ(wrap({piece(1, 0.6, 0.2, 10, 1, false)})->bags, 3);
  EXPECT_EQ(wrap({piece(1, 0.6, 0.2, 10, 1, false)})->polythene_m2, 0);
}

TEST(Wrap, SmallWholePiecesShareBagsUnbroken) {
  // Tiles of 0.23 m, 1 kg: 25 to a bag by mass.
  EXPECT_EQ(wrap({piece(0.23, 0.23, 0.003, 1, 50)})->bags, 2);
  EXPECT_EQ(wrap({piece(0.23, 0.23, 0.003, 1, 51)})->bags, 3);
  // Four of 9 kg do not share 25 + 11: two and two.
  EXPECT_EQ(wrap({piece(0.3, 0.3, 0.01, 9, 4)})->bags, 2);
}

TEST(Wrap, ABagNeedsItsLapToBeTied) {
  WrapSettings settings;
  const double longest = settings.bag_length_m - settings.overlap_m - 0.01;
  const LoadPiece just{.id = "a", .length_m = longest, .width_m = 0.1, .thickness_m = 0.01, .mass_kg = 1, .count = 1};
  EXPECT_TRUE(goes_into_a_bag(just, settings));
  auto longer = just;
  longer.length_m += 0.02;
  EXPECT_FALSE(goes_into_a_bag(longer, settings));
}

TEST(Wrap, ShoppingCountsRollsUpAndABagForClothing) {
  const auto found = wrap({piece(2.4, 1.2, 0.006, 25, 10)});
  ASSERT_GE(found->shopping.size(), 5U);
  EXPECT_EQ(found->shopping[0].number, 2) << found->polythene_m2 << " m2 from rolls of 100";
  EXPECT_EQ(found->shopping[2].number, 1);
  EXPECT_EQ(found->shopping[4].number, 10);
}

TEST(Wrap, HeavyPiecesAreNamed) {
  EXPECT_THAT(wrap({piece(2, 1, 0.05, 60)})->heavy, ElementsAre("W1"));
  EXPECT_THAT(wrap({piece(2, 1, 0.05, 50)})->heavy, IsEmpty());
}

TEST(Wrap, NothingToWrap) { EXPECT_EQ(wrap({})->bags, 0); }

TEST(FaultWrap, NamesEachFigure) {
  const auto found = wrap({piece(0, 1, 1, 0)}, {.layers = 0});
  ASSERT_FALSE(found.ok());
  EXPECT_EQ(found.faults().size(), 3U);
}

TEST(FaultWrap, RefusesMorePacksThanCanBeCounted) {
  EXPECT_THAT(wrap({piece(50, 50, 50, 1, 10'000, false)}).faults(),
              ElementsAre(::testing::Field(&reason::Fault::value, "2.5e+10 bags")));
  EXPECT_THAT(wrap({piece(1, 1, 0.1, 1)}, {.bag_length_m = 0.1, .bag_width_m = 0.1, .tape_roll_m = 1e-9}).faults(),
              ElementsAre(::testing::Field(&reason::Fault::value, ::testing::HasSubstr("rolls of tape"))));
}

}  // namespace
}  // namespace lathbook::waste
