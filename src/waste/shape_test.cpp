#include "waste/shape.h"

#include <gtest/gtest.h>

#include <cmath>
#include <numbers>
#include <random>

#include "testing/agreement.h"

namespace lathbook::waste {
namespace {

TEST(PublishedShape, WetzelsCounterexample) {
  // Wetzel 2000, p 204: area, diameter, perimeter and thickness all allow 9 × 4 in 8 × 6, and yet it does not go in.
  EXPECT_FALSE(goes_into({9, 4}, {8, 6}));
}

TEST(PropertyShape, NoThicknessReachesTheDiagonal) {
  for (const auto& [a, b] : {std::pair(2.0, 1.0), std::pair(1.2, 1.2), std::pair(3.7, 0.4)}) {
    EXPECT_TRUE(goes_into({std::hypot(a, b), 0}, {a, b}));
    EXPECT_FALSE(goes_into({std::hypot(a, b) + 1e-6, 0}, {a, b}));
  }
}

TEST(PropertyShape, SquareInSquareHasItsClosedForm) {
  // A strip of thickness t laid along the diagonal of a unit square has length √2 − t.
  for (double t : {0.0, 0.05, 0.2, 0.4}) {
    EXPECT_TRUE(goes_into({std::sqrt(2.0) - t, t}, {1, 1})) << t;
    EXPECT_FALSE(goes_into({std::sqrt(2.0) - t + 1e-6, t}, {1, 1})) << t;
  }
  EXPECT_FALSE(goes_into({1.1, 1.1}, {1, 1}));
}

TEST(PropertyShape, AgreesWithTurningInSmallSteps) {
  testing::Agreement agreement("waste_turning");
  std::mt19937 random(4);
  std::uniform_real_distribution<double> side(0.05, 1.5);
  int in = 0, out = 0;
  for (int round = 0; round < 3000; ++round) {
    const double p = side(random), q = side(random), a = side(random), b = side(random);
    // Turned by θ the rectangle needs p cos θ + q sin θ by p sin θ + q cos θ. Track how far it is from going in.
    double worst = 1e9;
    for (int step = 0; step <= 4000; ++step) {
      const double turn = step * std::numbers::pi / 2 / 4000;
      worst = std::min(
          worst, std::max(p * std::cos(turn) + q * std::sin(turn) - a, p * std::sin(turn) + q * std::cos(turn) - b));
    }
    if (std::abs(worst) < 2e-3) continue;  // too close for the steps to tell
    EXPECT_EQ(goes_into({p, q}, {a, b}), worst < 0) << p << " " << q << " " << a << " " << b;
    ++(worst < 0 ? in : out);
    agreement.same();
  }
  EXPECT_GT(in, 300);
  EXPECT_GT(out, 300);
}

TEST(PropertyShape, OrderOfSidesDoesNotMatterAndSmallerAlwaysGoes) {
  std::mt19937 random(6);
  std::uniform_real_distribution<double> side(0.05, 1.5);
  for (int round = 0; round < 1000; ++round) {
    const double p = side(random), q = side(random), a = side(random), b = side(random);
    const bool goes = goes_into({p, q}, {a, b});
    EXPECT_EQ(goes, goes_into({q, p}, {b, a}));
    if (goes) {
      EXPECT_TRUE(goes_into({0.9 * p, q}, {a, b}));
      EXPECT_TRUE(goes_into({p, q}, {a * 1.1, b}));
    }
  }
}

}  // namespace
}  // namespace lathbook::waste
