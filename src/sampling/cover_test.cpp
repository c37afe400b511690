#include "sampling/cover.h"

#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include <bit>
#include <numeric>
#include <random>

namespace lathbook::sampling {
namespace {

struct Case {
  std::vector<int> weights;
  std::vector<Bundle> bundles;
};

Case random_case(std::mt19937_64& engine, std::size_t things, std::size_t bundles, std::size_t widest, int heaviest) {
  const auto below = [&](std::size_t n) { return std::uniform_int_distribution<std::size_t>(0, n - 1)(engine); };
  Case made;
  for (std::size_t t = 0; t < things; ++t)
    made.weights.push_back(1 + static_cast<int>(below(static_cast<std::size_t>(heaviest))));
  for (std::size_t b = 0; b < bundles; ++b) {
    Bundle bundle;
    bundle.value = below(4) == 0 ? static_cast<double>(1 + below(5)) : std::uniform_real_distribution<>(0.1, 9)(engine);
    const std::size_t width = 1 + below(widest);
    while (bundle.needs.size() < width) {
      const auto t = below(things);
      if (std::find(bundle.needs.begin(), bundle.needs.end(), t) == bundle.needs.end()) bundle.needs.push_back(t);
    }
    made.bundles.push_back(std::move(bundle));
  }
  return made;
}

double value_of(const Case& one, std::uint64_t mask) {
  double value = 0;
  for (const auto& bundle : one.bundles) {
    bool covered = true;
    for (const auto t : bundle.needs) covered = covered && (mask >> t & 1) != 0;
    if (covered) value += bundle.value;
  }
  return value;
}

int weight_of(const Case& one, std::uint64_t mask) {
  int weight = 0;
  for (std::size_t t = 0; t < one.weights.size(); ++t) {
    if ((mask >> t & 1) != 0) weight += one.weights[t];
  }
  return weight;
}

std::uint64_t mask_of(const std::vector<std::size_t>& chosen) {
  std::uint64_t mask = 0;
  for (const auto t : chosen) mask |= std::uint64_t{1} << t;
  return mask;
}

/// Every subset, for every limit.
std::vector<double> brute(const Case& one, int limit) {
  std::vector<double> best(static_cast<std::size_t>(limit) + 1, 0.0);
  for (std::uint64_t mask = 0; mask < std::uint64_t{1} << one.weights.size(); ++mask) {
    const int weight = weight_of(one, mask);
    if (weight <= limit)
      best[static_cast<std::size_t>(weight)] = std::max(best[static_cast<std::size_t>(weight)], value_of(one, mask));
  }
  for (std::size_t k = 1; k < best.size(); ++k) best[k] = std::max(best[k], best[k - 1]);
  return best;
}

TEST(PropertyCover, AgreesWithEverySubset) {
  std::mt19937_64 engine(41);
  for (int trial = 0; trial < 2000; ++trial) {
    const auto one = random_case(
        engine, 1 + static_cast<std::size_t>(trial % 9), 1 + static_cast<std::size_t>(trial % 7),
        1 + static_cast<std::size_t>(trial % 4) % (1 + static_cast<std::size_t>(trial % 9)), trial % 3 == 0 ? 3 : 1);
    const int limit = static_cast<int>(engine() % 12);
    const auto got = best_by_weight(one.weights, one.bundles, limit);
    const auto truth = brute(one, limit);
    for (std::size_t k = 0; k < got.size(); ++k) {
      ASSERT_NEAR(got[k].value, truth[k], 1e-9) << trial << " " << k;
      ASSERT_EQ(got[k].at_most, got[k].value) << trial;
      ASSERT_NEAR(value_of(one, mask_of(got[k].chosen)), got[k].value, 1e-9);
      ASSERT_LE(weight_of(one, mask_of(got[k].chosen)), static_cast<int>(k));
    }
    ASSERT_NEAR(got.back().value, truth.back(), 1e-9) << "past the last point nothing more is to be had";
  }
}

/// Above 20 things that belong together the other method works: held against all 2^22 subsets.
TEST(PropertyCover, LargePartsKeepTheTruthBetweenValueAndBound) {
  std::mt19937_64 engine(42);
  int exact = 0;
  int points = 0;
  for (int trial = 0; trial < 4; ++trial) {
    auto one = random_case(engine, 21, 34, 4, trial % 2 == 0 ? 1 : 2);
    const int limit = std::accumulate(one.weights.begin(), one.weights.end(), 0);
    const auto got = best_by_weight(one.weights, one.bundles, limit);
    const auto truth = brute(one, limit);
    for (std::size_t k = 0; k < got.size(); ++k) {
      ASSERT_LE(got[k].value, truth[k] + 1e-9);
      ASSERT_GE(got[k].at_most, truth[k] - 1e-9) << trial << " " << k;
      ASSERT_NEAR(value_of(one, mask_of(got[k].chosen)), got[k].value, 1e-9);
      ASSERT_LE(weight_of(one, mask_of(got[k].chosen)), static_cast<int>(k));
      ++points;
      if (got[k].at_most <= got[k].value + 1e-9) ++exact;
    }
  }
  EXPECT_GE(exact, points * 9 / 10) << "most limits are settled by branch and bound";
}

TEST(PropertyCover, TheBestSetForAPriceIsTheSmallestOfTheBest) {
  std::mt19937_64 engine(43);
  for (int trial = 0; trial < 1500; ++trial) {
    const auto one = random_case(engine, 7, 6, 3, 1);
    std::vector<double> price(7);
    for (auto& p : price) p = static_cast<double>(engine() % 5);
    const auto net = [&](std::uint64_t mask) {
      double sum = value_of(one, mask);
      for (std::size_t t = 0; t < price.size(); ++t) sum -= (mask >> t & 1) != 0 ? price[t] : 0;
      return sum;
    };
    double best = 0;
    for (std::uint64_t mask = 0; mask < 128; ++mask) best = std::max(best, net(mask));
    int fewest = 7;
    for (std::uint64_t mask = 0; mask < 128; ++mask) {
      if (net(mask) > best - 1e-9) fewest = std::min(fewest, std::popcount(mask));
    }
    const auto got = best_at_price(price, one.bundles);
    ASSERT_NEAR(net(mask_of(got)), best, 1e-9) << trial;
    ASSERT_EQ(static_cast<int>(got.size()), fewest) << trial;
  }
}

TEST(Cover, AValueThatNeedsTwoIsNotHadForOne) {
  const std::vector<int> weights{1, 1, 1};
  const std::vector<Bundle> bundles{{10, {0, 1}}, {3, {2}}};
  const auto got = best_by_weight(weights, bundles, 3);
  ASSERT_EQ(got.size(), 4U);
  EXPECT_THAT(got[1].chosen, ::testing::ElementsAre(2));
  EXPECT_THAT(got[2].chosen, ::testing::ElementsAre(0, 1));
  EXPECT_EQ(got[3].value, 13);
}

}  // namespace
}  // namespace lathbook::sampling
