#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include <cmath>

#include "calc/testing.h"

namespace lathbook::calc {
namespace {

using ::testing::Contains;
using ::testing::HasSubstr;

Json two_rooms() {
  return Json::parse(R"({
    "zones": [{"id": "kitchen", "volume_m3": 30, "floor_m2": 12}, {"id": "hall", "volume_m3": 20, "floor_m2": 8}],
    "flows": [{"from": "outdoors", "to": "kitchen", "m3_per_h": 30}, {"from": "kitchen", "to": "hall", "m3_per_h": 130},
              {"from": "hall", "to": "kitchen", "m3_per_h": 100}, {"from": "hall", "to": "outdoors", "m3_per_h": 30}],
    "classes": [{"id": "fine", "share": 0.5, "settling_m_per_s": 0.0001}, {"id": "coarse", "share": 0.5, "settling_m_per_s": 0.002}],
    "phases": [{"minutes": 30, "sources": [{"zone": "kitchen", "f_per_min": 10000000}]},
               {"minutes": 600, "resuspension": [{"zone": "kitchen", "per_h": 0.001}]}],
    "report_every_min": 60})");
}

TEST(CalcAerodynamic, TheContract) {
  const auto sphere = answered("aerodynamic", {{"diameter_um", 1}, {"density_g_per_cm3", 1}});
  EXPECT_NEAR(sphere["slip"].get<double>(), 1.15, 0.01);
  EXPECT_NEAR(sphere["aerodynamic_diameter_um"].get<double>(), 1, 1e-12);
  EXPECT_NEAR(sphere["settling_m_per_s"].get<double>(), 3.5e-5, 1e-6);
  const auto fibre = answered(
      "aerodynamic", {{"diameter_um", 0.5}, {"length_um", 10}, {"density_g_per_cm3", 3.4}, {"shape", "fibre"}});
  EXPECT_NEAR(fibre["aerodynamic_diameter_um"].get<double>(), 2.08, 0.01);
  EXPECT_THAT(refused_in_words("aerodynamic", {{"diameter_um", 0.5}, {"density_g_per_cm3", 3.4}, {"shape", "fibre"}}),
              Contains(HasSubstr("/length_um")));
  EXPECT_THAT(refused_in_words("aerodynamic", {{"diameter_um", -1}, {"density_g_per_cm3", 3.4}}),
              Contains(HasSubstr("/diameter_um")));
}

TEST(CalcAir, TheContract) {
  const auto answer = answered("air", two_rooms());
  EXPECT_EQ(answer["times_min"],
            Json::parse("[0.0,30.0,60.0,120.0,180.0,240.0,300.0,360.0,420.0,480.0,540.0,600.0,630.0]"));
  ASSERT_EQ(answer["zones"].size(), 2U);
  const auto& kitchen = answer["zones"][0];
  EXPECT_EQ(kitchen["id"], "kitchen");
  EXPECT_EQ(kitchen["f_per_ml"].size(), answer["times_min"].size());
  EXPECT_EQ(kitchen["integral_f_per_ml_h"].size(), 2U);
  EXPECT_EQ(kitchen["f_per_ml"][0], 0.0);
  EXPECT_GE(kitchen["mean_10min_max"].get<double>(), kitchen["mean_4h_max"].get<double>());
  const auto& balance = answer["balance"];
  EXPECT_NEAR(balance["emitted"].get<double>(), 3e8, 1);
  EXPECT_LE(balance["relative_error"].get<double>(), 1e-12);
}

TEST(CalcAir, LevelsThatNeverFallBelowAreNull) {
  auto input = two_rooms();
  input["outdoor_f_per_ml"] = 0.02;
  const auto answer = answered("air", input);
  EXPECT_TRUE(answer["zones"][0]["minutes_until_below"].is_null());
  input["below_f_per_ml"] = 100;
  EXPECT_EQ(answered("air", input)["zones"][0]["minutes_until_below"], 0.0);
}

TEST(FaultCalcAir, BadInputNamesItsPlace) {
  auto input = two_rooms();
  input["flows"][0]["m3_per_h"] = 31;
  EXPECT_THAT(refused_in_words("air", input), Contains(HasSubstr("/flows: +1 m3/h is what zone kitchen takes in")));
  input = two_rooms();
  input["zones"][0]["volume_m3"] = -3;
  EXPECT_THAT(refused_in_words("air", input), Contains(HasSubstr("/zones/0/volume_m3")));
  input["zones"][0].erase("volume_m3");
  EXPECT_THAT(refused_in_words("air", input), Contains(HasSubstr("/zones/0")));
  input = two_rooms();
  input["phases"][0]["minutes"] = 0;
  EXPECT_THAT(refused_in_words("air", input), Contains(HasSubstr("/phases/0/minutes")));
  input = two_rooms();
  input["flows"] = Json::parse(
      R"([{"from": "kitchen", "to": "hall", "m3_per_h": 5}, {"from": "hall", "to": "kitchen", "m3_per_h": 5}])");
  EXPECT_THAT(refused_in_words("air", input), Contains(HasSubstr("no path outdoors")));
}

Json people() {
  return {
      {"air", two_rooms()},
      {"people",
       Json::parse(
           R"([{"id": "P1", "stays": [{"zone": "kitchen", "from_min": 0, "to_min": 30}, {"zone": "hall", "from_min": 30, "to_min": 90}],
                                      "masks": [{"from_min": 0, "to_min": 30, "protection": 20, "worn": 0.5}]},
                                     {"id": "P2", "stays": [{"zone": "outdoors", "from_min": 0, "to_min": 60}]}])")}};
}

TEST(CalcDose, IsTheIntegralOverStaysThroughTheMask) {
  const auto answer = answered("dose", people());
  auto input = two_rooms();
  input["phases"][1]["minutes"] = 60;
  const auto air = answered("air", input);
  const double kitchen = air["zones"][0]["integral_f_per_ml_h"][0];
  const double hall = air["zones"][1]["integral_f_per_ml_h"][1];
  const auto& one = answer["people"][0];
  const double want = kitchen * (0.5 + 0.5 / 20) + hall;
  EXPECT_NEAR(one["breathed_f_per_ml_h"].get<double>(), want, 1e-12 * want);
  EXPECT_NEAR(one["f_per_ml_yr_working"].get<double>(), want / 1920, 1e-12);
  EXPECT_NEAR(one["f_per_ml_yr_continuous"].get<double>(), want / 8760, 1e-12);
  EXPECT_NEAR(one["mean_4h_max"].get<double>(), (kitchen + hall) / 4, 1e-12);
  EXPECT_NEAR(one["without_mask_f_per_ml_h"].get<double>(), kitchen + hall, 1e-12);
  EXPECT_EQ(answer["people"][1]["breathed_f_per_ml_h"], 0.0);
}

TEST(FaultCalcDose, TwoPlacesWeakMasksAndLateStays) {
  auto input = people();
  input["people"][0]["stays"][1]["from_min"] = 29;
  input["people"][0]["stays"][1]["to_min"] = 9000;
  input["people"][0]["masks"][0]["protection"] = 0.9;
  input["people"][1]["stays"][0]["zone"] = "attic";
  const auto text = refused_in_words("dose", input);
  EXPECT_THAT(text, Contains(HasSubstr("a person in two places")));
  EXPECT_THAT(text, Contains(HasSubstr("/people/0/stays/1/to_min")));
  EXPECT_THAT(text, Contains(HasSubstr("/people/0/masks/0/protection")));
  EXPECT_THAT(text, Contains(HasSubstr("/people/1/stays/0/zone")));
  input = people();
  input["air"]["flows"][0]["m3_per_h"] = 31;
  EXPECT_THAT(refused_in_words("dose", input), Contains(HasSubstr("/air/flows")));
}

Json life_at(double f) {
  return {{"model", "iris-unit-risk"},
          {"fibre", "mixed"},
          {"exposure", {{{"age_from", 0}, {"age_to", 110}, {"f_per_ml", f}, {"hours_per_year", 8760}}}}};
}

TEST(CalcLifetimeRisk, UnitRiskAndVerySmallOnes) {
  EXPECT_NEAR(answered("lifetime-risk", life_at(0.01))["total_per_million"].get<double>(), 2300, 1e-6);
  const auto tiny = answered("lifetime-risk", life_at(1e-11));
  EXPECT_GT(tiny["total_per_million"].get<double>(), 0);
  EXPECT_EQ(tiny["in_words"], "about 2.3 in a million million");
}

TEST(FaultCalcLifetimeRisk, AgesPastTheTable) {
  auto input = life_at(0.01);
  input["model"] = "epa-1986";
  EXPECT_THAT(refused_in_words("lifetime-risk", input),
              Contains(HasSubstr("past the end of the life table uk-2015-2017")));
  input["exposure"][0]["age_to"] = 111;
  EXPECT_THAT(refused_in_words("lifetime-risk", input), Contains(HasSubstr("/exposure/0/age_to")));
}

}  // namespace
}  // namespace lathbook::calc
