#include "air/aerodynamic.h"

#include <gtest/gtest.h>

#include <cmath>

#include "testing/agreement.h"
#include "testing/csv.h"

namespace lathbook::air {
namespace {

TEST(PublishedSettling, TablesAndFallTimes) {
  testing::Agreement agreement("air_settling");
  for (const auto& row : testing::read_csv("tests/published/settling.csv")) {
    const double d = std::stod(row.at("diameter_um"));
    const double expected = std::stod(row.at("expected"));
    const std::string quantity = row.at("quantity");
    const double aerodynamic = row.at("shape") == "fibre as three diameters" ? 3 * d : d;
    const double v = settling_m_per_s(aerodynamic);
    double got = v;
    if (quantity == "fall_1m") got = 1 / v;
    if (quantity == "fall_2m") got = 2 / v / 60;
    if (quantity == "slip") got = slip_hinds(d, 0.066);
    if (quantity == "aerodynamic") {
      const auto fall = fall_of({.diameter_um = d, .length_um = 10, .density_g_per_cm3 = 3.4});
      ASSERT_TRUE(fall.ok());
      got = row.at("shape").starts_with("timbrell") ? *fall->timbrell_um : fall->aerodynamic_diameter_um;
    }
    EXPECT_NEAR(got / expected, 1, std::stod(row.at("tolerance"))) << quantity << " " << d;
    agreement.apart(got / expected - 1, std::stod(row.at("tolerance")));
  }
}

TEST(PropertySettling, SphereOfUnitDensityIsItsOwnAerodynamicSphere) {
  for (double d = 0.01; d < 100; d *= 1.7) {
    const auto fall = fall_of({.diameter_um = d, .length_um = {}, .density_g_per_cm3 = 1});
    ASSERT_TRUE(fall.ok());
    EXPECT_NEAR(fall->aerodynamic_diameter_um, d, 1e-12 * d);
  }
}

TEST(PropertySettling, AerodynamicDiameterSolvesItsEquation) {
  const AirState cold{-20, 90};
  const double path = mean_free_path_um(cold);
  for (double d = 0.02; d < 50; d *= 1.9) {
    for (const double rho : {0.3, 2.55, 3.4, 19.0}) {
      const auto fall = fall_of({.diameter_um = d, .length_um = {}, .density_g_per_cm3 = rho}, cold);
      ASSERT_TRUE(fall.ok());
      const double D = fall->aerodynamic_diameter_um;
      EXPECT_NEAR(D * D * slip_hinds(D, path) / (rho * d * d * slip_hinds(d, path)), 1, 1e-12);
    }
  }
}

TEST(PropertySettling, FormsOfSlipAgreeAndRunWithTheAir) {
  for (double d = 0.1; d < 100; d *= 1.3) EXPECT_NEAR(slip_hinds(d, 0.066) / slip_davies(d, 0.066), 1, 0.02) << d;
  EXPECT_GT(mean_free_path_um({20, 80}), mean_free_path_um({20, 101}));
  EXPECT_NEAR(viscosity_pa_s({20, 101.325}), 1.81e-5, 1e-12);
  EXPECT_GT(viscosity_pa_s({40, 101.325}), viscosity_pa_s({0, 101.325}));
  EXPECT_GT(settling_m_per_s(0.5, {20, 70}), settling_m_per_s(0.5, {20, 101.325}));
}

TEST(PropertySettling, LongerFibresFallFasterAndLengthwiseFastest) {
  double before = 0;
  for (double length = 3; length < 100; length *= 1.5) {
    const auto fall = fall_of({.diameter_um = 0.5, .length_um = length, .density_g_per_cm3 = 3.4});
    ASSERT_TRUE(fall.ok());
    EXPECT_GT(fall->settling_m_per_s, before);
    before = fall->settling_m_per_s;
    if (length > 5) {
      EXPECT_GT(*fall->along_um, *fall->across_um);
    }
  }
}

TEST(FaultSettling, AFibreIsAtLeastThreeDiametersLong) {
  const auto fall = fall_of({.diameter_um = 1, .length_um = 2.9, .density_g_per_cm3 = 3.4});
  ASSERT_FALSE(fall.ok());
  EXPECT_EQ(fall.faults().front().where, "/length_um");
}

}  // namespace
}  // namespace lathbook::air
