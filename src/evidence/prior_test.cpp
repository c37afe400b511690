#include "evidence/prior.h"

#include <gtest/gtest.h>

#include <numeric>

namespace lathbook::evidence {
namespace {

catalogue::FamilyEvidence family() {
  catalogue::FamilyEvidence f;
  f.id = "board";
  f.years = {{1950, 0.1, 0.2, 0.4}, {1960, 0.3, 0.6, 0.8}, {1970, 0.3, 0.6, 0.8}, {1980, 0, 0, 0}};
  f.fibres = {{1900, {0, 1, 0, 0, 0, 0}}, {1965, {1, 0, 0, 0, 0, 0}}};
  return f;
}

TEST(Prior, FollowsTheCurveAndIsFlatBeyondItsEnds) {
  EXPECT_DOUBLE_EQ(prior_of(family(), {1955, 1955}, 0).middle, 0.4);
  EXPECT_DOUBLE_EQ(prior_of(family(), {1955, 1955}, 0).low, 0.2);
  EXPECT_DOUBLE_EQ(prior_of(family(), {1955, 1955}, 0).high, 0.6);
  EXPECT_DOUBLE_EQ(prior_of(family(), {1900, 1900}, 0).middle, 0.2);
  EXPECT_DOUBLE_EQ(prior_of(family(), {1960, 1970}, 0).middle, 0.6);
}

TEST(Prior, IsTheMeanOverTheYearsItMayDateFrom) {
  const auto range = prior_of(family(), {1950, 1979}, 0);
  double sum = 0;
  for (int year = 1950; year <= 1979; ++year) sum += prior_of(family(), {year, year}, 0).middle;
  EXPECT_NEAR(range.middle, sum / 30, 1e-12);
}

TEST(Prior, WeighsFibresByHowLikelyAsbestosWasThatYear) {
  // 1964 and 1979: 0.6 of amosite against 0.06 of chrysotile.
  const auto a = prior_of(family(), {1964, 1964}, 0).middle;
  double late = 0;
  double all = 0;
  for (int year = 1960; year <= 1979; ++year) {
    const double p = prior_of(family(), {year, year}, 0).middle;
    all += p;
    if (year >= 1965) late += p;
  }
  EXPECT_NEAR(a, 0.6, 1e-12);
  const auto shares = prior_of(family(), {1960, 1979}, 0).fibres;
  EXPECT_NEAR(shares[0], late / all, 1e-12);
  const auto floored = prior_of(family(), {1960, 1979}, 0.06).fibres;
  EXPECT_NEAR(floored[3], 0.01, 1e-12);
  EXPECT_NEAR(std::accumulate(floored.begin(), floored.end(), 0.0), 1.0, 1e-12);
}

}  // namespace
}  // namespace lathbook::evidence
