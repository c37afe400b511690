#include "air/sobol.h"

#include <gtest/gtest.h>

#include <cmath>
#include <set>

namespace lathbook::air {
namespace {

TEST(PropertySobol, ScrambledPointsStillFillEveryDyadicBoxOnce) {
  constexpr std::size_t kCount = 256;
  const auto points = sobol_points(kCount, 6);
  for (const std::uint64_t seed : {1ULL, 99ULL}) {
    for (std::size_t d = 0; d < 6; ++d) {
      std::set<int> cells;
      for (std::size_t i = 0; i < kCount; ++i)
        cells.insert(static_cast<int>(scrambled(points[i * 6 + d], seed, d) * kCount));
      EXPECT_EQ(cells.size(), kCount) << d;
    }
  }
}

TEST(StatisticalSobol, MeansHaveTheRightSpreadAcrossScrambles) {
  // Each scramble of one point is uniform: the mean over 4,000 scrambles of the same point is 0.5 within 4 standard
  // errors (false alarm 6e-5), for the point 0 that an unscrambled sequence would always start at.
  const auto points = sobol_points(1, 3);
  for (std::size_t d = 0; d < 3; ++d) {
    double sum = 0;
    for (std::uint64_t seed = 0; seed < 4000; ++seed) sum += scrambled(points[d], seed, d);
    EXPECT_NEAR(sum / 4000, 0.5, 4 * std::sqrt(1.0 / 12 / 4000));
  }
}

TEST(PropertySobol, IntegratesASmoothFunctionFasterThanChance) {
  constexpr std::size_t kCount = 4096;
  const auto points = sobol_points(kCount, 5);
  double sum = 0;
  for (std::size_t i = 0; i < kCount; ++i) {
    double f = 1;
    for (std::size_t d = 0; d < 5; ++d) f *= 1 + 0.5 * (scrambled(points[i * 5 + d], 7, d) - 0.5);
    sum += f;
  }
  // Random draws would have a standard error of 5e-3.
  EXPECT_NEAR(sum / kCount, 1, 2e-4);
}

}  // namespace
}  // namespace lathbook::air
