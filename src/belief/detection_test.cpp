#include "belief/detection.h"

#include <gtest/gtest.h>

#include <boost/math/quadrature/tanh_sinh.hpp>
#include <boost/math/special_functions/beta.hpp>
#include <cmath>

#include "testing/agreement.h"

namespace lathbook::belief {
namespace {

/// E[(b)_n / (a+b)_n]: the chance that n draws from a Beta-binomial all fail.
double all_fail(double a, double b, int n) {
  double product = 1;
  for (int i = 0; i < n; ++i) product *= (b + i) / (a + b + i);
  return product;
}

TEST(PropertyDetection, MatchesTheBetaBinomialWhenTheLaboratoryMissesNothing) {
  testing::Agreement agreement("evidence_beta_binomial");
  for (const double mean : {0.3, 0.5, 0.8, 0.97}) {
    for (const double strength : {1.0, 2.0, 4.0, 30.0}) {
      const Detection d{1.0, Patchiness{mean, strength}};
      for (const int n : {1, 2, 3, 7, 20, 100, 127}) {
        const double truth = all_fail(mean * strength, (1 - mean) * strength, n);
        agreement.apart(miss_chance(d, n) / truth - 1, 1e-9);
        EXPECT_NEAR(miss_chance(d, n) / truth, 1.0, 1e-9) << mean << ' ' << strength << ' ' << n;
      }
    }
  }
}

TEST(ReferenceDetection, MatchesAnAdaptiveIntegralForCountsOfBothKinds) {
  const double a = 3.2;
  const double b = 0.8;
  const double s = 0.9;
  const Detection d{s, Patchiness{a / (a + b), a + b}};
  const std::vector<Seen> seen = {{false, 3}, {true, 2}, {true, 1}, {false, 1}};
  boost::math::quadrature::tanh_sinh<double> integrate;
  const auto density = [&](double p, double from_one) {
    // Near p = 1 the distance to 1 is handed over by itself; 1 - p would lose it.
    const double q = p > 0.5 ? std::abs(from_one) : 1 - p;
    const double clear = 1 - p * s;
    return std::pow(p, a - 1) * std::pow(q, b - 1) / boost::math::beta(a, b) * std::pow(clear, 4) *
           (1 - clear * clear) * (1 - clear);
  };
  const double truth = integrate.integrate(density, 0.0, 1.0);
  EXPECT_NEAR(std::exp(log_if_asbestos(d, seen)), truth, 1e-10);
  EXPECT_NEAR(std::exp(log_if_none(0.999, seen)), std::pow(0.999, 4) * (1 - 0.999 * 0.999) * (1 - 0.999), 1e-15);
}

TEST(PropertyDetection, TheFiniteSumsGoOverIntoThePointsWithoutAStep) {
  // The chance falls smoothly in n: its last step in the sums and its first in the points are nearly the same.
  for (const Detection& d : {Detection{0.9, Patchiness{0.8, 4}}, Detection{0.97, Patchiness{0.5, 2}}}) {
    const double before = std::log(miss_chance(d, 127) / miss_chance(d, 126));
    const double across = std::log(miss_chance(d, 128) / miss_chance(d, 127));
    const double after = std::log(miss_chance(d, 129) / miss_chance(d, 128));
    EXPECT_NEAR(across, (before + after) / 2, 1e-5);  // the third difference of a power of n
    EXPECT_LT(across, 0);
  }
}

TEST(PropertyDetection, FoundAndNotFoundAreAllThatCanHappen) {
  const Detection d{0.9, Patchiness{0.8, 4}};
  for (const int n : {1, 2, 5}) {
    const std::vector<Seen> clear = {{false, n}};
    const std::vector<Seen> found = {{true, n}};
    EXPECT_NEAR(std::exp(log_if_asbestos(d, clear)) + std::exp(log_if_asbestos(d, found)), 1, 1e-12);
    EXPECT_NEAR(std::exp(log_if_none(0.99, clear)) + std::exp(log_if_none(0.99, found)), 1, 1e-12);
  }
}

TEST(PropertyDetection, ASecondSampleOfAPatchyPieceAddsLessThanAnIndependentOne) {
  const Detection d{0.9, Patchiness{0.8, 4}};
  EXPECT_GT(miss_chance(d, 2), miss_chance(d, 1) * miss_chance(d, 1));
  // Two lines of one sample say the same as one line of two.
  const std::vector<Seen> twice = {{false, 1}, {false, 1}};
  EXPECT_NEAR(std::exp(log_if_asbestos(d, twice)), miss_chance(d, 2), 1e-12);
}

TEST(Detection, CountsTheSamplesThatBringTheMissBelowALimit) {
  EXPECT_EQ(samples_for({0.99, {}}, 0.05), 1);
  EXPECT_EQ(samples_for({0.95, {}}, 0.05), 2);  // 5 % is not below 5 %
  const Detection patchy{0.9, Patchiness{0.8, 4}};
  const auto n = samples_for(patchy, 0.05);
  ASSERT_TRUE(n);
  EXPECT_LT(miss_chance(patchy, *n), 0.05);
  EXPECT_GE(miss_chance(patchy, *n - 1), 0.05);
  EXPECT_EQ(samples_for({0, {}}, 0.05), std::nullopt);
}

TEST(Detection, ACertainTestRulesOutWhatItContradicts) {
  const std::vector<Seen> clear = {{false, 1}};
  const std::vector<Seen> found = {{true, 1}};
  EXPECT_TRUE(std::isinf(log_if_asbestos({1, {}}, clear)));
  EXPECT_TRUE(std::isinf(log_if_none(1, found)));
}

}  // namespace
}  // namespace lathbook::belief
