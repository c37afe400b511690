#include "clearance/count.h"

#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include <cmath>

#include "testing/agreement.h"
#include "testing/csv.h"

namespace lathbook::clearance {
namespace {

using ::testing::HasSubstr;

Count clearance_sample(double fibres) { return {.fibres = fibres, .fields = 200, .litres = 480}; }

TEST(PublishedAirCount, NioshLimitsAndVolumes) {
  testing::Agreement agreement("clearance_niosh");
  int checked = 0;
  for (const auto& row : testing::read_csv("tests/published/air_counts.csv")) {
    const auto& quantity = row.at("quantity");
    const double x = std::stod(row.at("x"));
    double got = std::nan("");
    if (quantity == "between_low_relative") got = between_laboratory_limits(x).low / x - 1;
    if (quantity == "between_high_relative") got = between_laboratory_limits(x).high / x - 1;
    if (quantity == "upper_f_per_ml_for_016_at_100") got = 0.16 * between_laboratory_limits(x).high / x;
    if (quantity == "litres_to_show_below_001") got = litres_to_show_below(0.01);
    if (quantity == "field_density_at_lod")
      got = air_count({.fibres = x, .fields = 100, .litres = 400})->fibres_per_mm2;
    EXPECT_NEAR(got, std::stod(row.at("expected")), std::stod(row.at("tolerance"))) << row.at("id");
    agreement.apart(got / std::stod(row.at("expected")) - 1,
                    std::stod(row.at("tolerance")) / std::abs(std::stod(row.at("expected"))));
    ++checked;
  }
  EXPECT_EQ(checked, 6);
}

TEST(PublishedAirCount, BritishLimitAt480LitresIsOneHundredth) {
  // HSG247 para 7.132: 0.01 f/ml is the lowest that 480 litres can reliably show.
  const auto counted = air_count(clearance_sample(8));
  ASSERT_TRUE(counted.ok());
  EXPECT_NEAR(counted->quantification_limit_f_per_ml, 0.01, 0.0002);
  testing::Agreement agreement("clearance_british_limit");
  agreement.apart(counted->quantification_limit_f_per_ml / 0.01 - 1, 0.02);
  EXPECT_EQ(counted->reported, "<0.01");
  EXPECT_NEAR(counted->f_per_ml, 0.0040, 0.00005);
}

TEST(AirCount, TwentyFibresAreAQuantityNineteenAreNot) {
  EXPECT_EQ(air_count(clearance_sample(20))->reported, "0.01");
  EXPECT_TRUE(air_count(clearance_sample(20))->quantified);
  EXPECT_EQ(air_count(clearance_sample(19.5))->reported, "<0.01");
}

TEST(AirCount, ReportsAsLaboratoriesWrite) {
  EXPECT_EQ(air_count({.fibres = 2, .fields = 100, .litres = 240})->reported, "<0.04");
  EXPECT_EQ(air_count({.fibres = 2, .fields = 100, .litres = 40})->reported, "<0.24");
  EXPECT_EQ(reported_figure(0.0968), "0.10");
  EXPECT_EQ(reported_figure(0.00968), "0.01");
  EXPECT_EQ(reported_figure(0.104), "0.10");
  EXPECT_EQ(reported_figure(1.26), "1.3");
  EXPECT_EQ(reported_figure(12.6), "13");
  EXPECT_EQ(reported_figure(0), "0");
}

TEST(AirCount, BlankIsTakenOffAndNeverBelowNothing) {
  Count count = clearance_sample(30);
  count.blank_fibres = 5;
  count.blank_fields = 100;
  EXPECT_NEAR(air_count(count)->f_per_ml, concentration_f_per_ml(20, count), 1e-15);
  count.fibres = 4;
  EXPECT_EQ(air_count(count)->f_per_ml, 0);
  EXPECT_EQ(air_count(count)->between_laboratories.low, 0);
}

TEST(PropertyAirCount, BritishAndAmericanFormsAgree) {
  for (double diameter : {20.5, 22.0, 22.14, 25.0}) {
    const Count count{.fibres = 37, .fields = 150, .graticule_um = 98, .filter_mm = diameter, .litres = 512};
    const double british = 1000 * 37.0 * diameter * diameter / (512.0 * 150 * 98 * 98);
    EXPECT_NEAR(air_count(count)->f_per_ml, british, 1e-12 * british);
  }
}

TEST(PropertyAirCount, PoissonLimitsLeaveTheirTailsExactly) {
  testing::Agreement agreement("clearance_poisson");
  // By definition: at the lower limit P(X >= x) = 0.025, at the upper P(X <= x) = 0.025, summed term by term.
  for (int x : {1, 2, 5, 20, 100}) {
    const auto limits = poisson_limits(x);
    const auto cumulative = [](double mean, int upto) {
      double term = std::exp(-mean), sum = term;
      for (int k = 1; k <= upto; ++k) sum += term *= mean / k;
      return sum;
    };
    EXPECT_NEAR(1 - cumulative(limits.low, x - 1), 0.025, 1e-10);
    EXPECT_NEAR(cumulative(limits.high, x), 0.025, 1e-10);
    agreement.apart(1 - cumulative(limits.low, x - 1) - 0.025, 1e-10);
    agreement.apart(cumulative(limits.high, x) - 0.025, 1e-10);
  }
  EXPECT_EQ(poisson_limits(0).low, 0);
  EXPECT_NEAR(poisson_limits(0).high, -std::log(0.025), 1e-12);
}

TEST(PropertyAirCount, LimitsSolveTheirOwnEquation) {
  // (X − μ)² = z² (μ + S² μ²): z = 1.5 above, 2 below.
  for (double x : {0.5, 3.0, 24.0, 100.0, 800.0}) {
    const auto limits = between_laboratory_limits(x);
    const auto residual = [&](double mu, double z2) { return (x - mu) * (x - mu) - z2 * (mu + 0.2025 * mu * mu); };
    EXPECT_NEAR(residual(limits.high, 2.25) / (x * x), 0, 1e-9);
    EXPECT_NEAR(residual(limits.low, 4) / (x * x), 0, 1e-9);
    EXPECT_LT(limits.low, x);
    EXPECT_GT(limits.high, x);
  }
}

TEST(PropertyAirCount, MoreAirOrFieldsLowerTheLimitAndScaleTheResult) {
  double before = 1e9;
  for (double litres : {120.0, 240.0, 480.0, 960.0}) {
    const auto counted = air_count({.fibres = 10, .fields = 100, .litres = litres});
    EXPECT_LT(counted->quantification_limit_f_per_ml, before);
    before = counted->quantification_limit_f_per_ml;
    EXPECT_NEAR(counted->f_per_ml * litres, air_count({.fibres = 10, .fields = 100, .litres = 1})->f_per_ml, 1e-9);
    EXPECT_LE(counted->between_laboratories.low, counted->f_per_ml);
    EXPECT_GE(counted->between_laboratories.high, counted->f_per_ml);
    EXPECT_LE(counted->chance.low, counted->f_per_ml);
    EXPECT_GE(counted->chance.high, counted->f_per_ml);
  }
}

TEST(AirCount, DensityIsOfTheFilterAndNotOfTheFields) {
  // 40 fibres in 200 fields of 0.00785 mm² are as dense as 20 in 100.
  const auto many = air_count({.fibres = 40, .fields = 200, .litres = 480});
  EXPECT_NEAR(many->fibres_per_mm2, 40 / (200 * 0.00785398), 0.01);
  EXPECT_NEAR(many->fibres_per_mm2, air_count({.fibres = 20, .fields = 100, .litres = 480})->fibres_per_mm2, 1e-9);
}

TEST(FaultAirCount, NamesEveryImpossibleFigure) {
  const auto counted = air_count({.fibres = -1, .fields = 0, .litres = 0});
  ASSERT_FALSE(counted.ok());
  EXPECT_EQ(counted.faults().size(), 3U);
}

TEST(FaultAirCount, MoreFibresThanFieldsAllow) {
  const auto counted = air_count({.fibres = 2500, .fields = 100, .litres = 480});
  ASSERT_FALSE(counted.ok());
  EXPECT_THAT(counted.faults().front().text(), HasSubstr("/fibres: 2500 is more than 100 fields can hold"));
  EXPECT_TRUE(air_count({.fibres = 1000, .fields = 100, .litres = 480}).ok());
}

TEST(FaultAirCount, SizesThatLeaveNoFigure) {
  const auto found = air_count({.fibres = 1, .fields = 100, .graticule_um = 1e-300, .litres = 480});
  ASSERT_FALSE(found.ok());
  EXPECT_EQ(found.faults().front().where, "/graticule_um");
}

TEST(FaultAirCount, HalfABlank) {
  Count count = clearance_sample(3);
  count.blank_fibres = 1;
  ASSERT_FALSE(air_count(count).ok());
  EXPECT_EQ(air_count(count).faults().front().where, "/blank_fields");
}

}  // namespace
}  // namespace lathbook::clearance
