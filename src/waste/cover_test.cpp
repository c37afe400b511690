#include "waste/cover.h"

#include <gtest/gtest.h>

#include <random>

namespace lathbook::waste {
namespace {

TEST(Cover, ClosedForms) {
  Cover alone({3, 4});
  alone.solve();
  EXPECT_NEAR(alone.trips(), 7, 1e-9) << "no load known: each piece goes alone";

  // Any two of three: half of each pair, one and a half in all; every piece is worth a half.
  Cover pairs({1, 1, 1});
  for (const auto& load : {Counts{1, 1, 0}, Counts{0, 1, 1}, Counts{1, 0, 1}}) pairs.add(load);
  pairs.solve();
  EXPECT_NEAR(pairs.trips(), 1.5, 1e-6);
  for (const double price : pairs.prices()) EXPECT_NEAR(price, 0.5, 1e-9);
  for (const double taken : pairs.taken()) EXPECT_NEAR(taken, 0.5, 1e-6);

  // A load learnt later lowers the number from where it was.
  pairs.add({1, 1, 1});
  pairs.solve();
  EXPECT_NEAR(pairs.trips(), 1, 1e-6);

  // Seven pieces, three to a load.
  Cover threes({7});
  threes.add({3});
  threes.solve();
  EXPECT_NEAR(threes.trips(), 7 / 3.0, 1e-6);
}

TEST(PropertyCover, PricesAndLoadsProveEachOther) {
  std::mt19937 random(61);
  for (int round = 0; round < 60; ++round) {
    const std::size_t kinds = 2 + static_cast<std::size_t>(round) % 29;
    std::uniform_int_distribution<int> count(1, 4), some(0, 3);
    Counts demand(kinds);
    for (auto& one : demand) one = count(random);
    Cover cover(demand);
    std::vector<Counts> loads;
    for (int part = 0; part < 4; ++part) {  // solved again after each addition, as it is used
      for (std::size_t j = 0; j < 2 * kinds; ++j) {
        Counts load(kinds, 0);
        for (auto& one : load) one = std::max(0, some(random) - 1);
        cover.add(load);
        loads.push_back(load);
      }
      cover.solve();
    }
    // The prices allow no load more than 1, so that no cover takes fewer than they sum to …
    for (const auto& load : loads) {
      double worth = 0;
      for (std::size_t i = 0; i < kinds; ++i) worth += cover.prices()[i] * load[i];
      EXPECT_LE(worth, 1 + 1e-7);
    }
    for (const double price : cover.prices()) {
      EXPECT_GE(price, 0);
      EXPECT_LE(price, 1 + 1e-7);
    }
    // … and the loads taken cover everything (what they leave goes alone) with no more than that.
    const auto taken = cover.taken();
    double trips = 0;
    for (const double one : taken) trips += one;
    for (std::size_t i = 0; i < kinds; ++i) {
      double covered = 0;
      for (std::size_t j = 0; j < loads.size(); ++j) covered += taken[j] * loads[j][i];
      trips += std::max(0.0, demand[i] - covered);
    }
    EXPECT_NEAR(trips, cover.trips(), 1e-5);
  }
}

}  // namespace
}  // namespace lathbook::waste
