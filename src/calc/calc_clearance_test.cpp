#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include "calc/testing.h"

namespace lathbook::calc {
namespace {

using ::testing::HasSubstr;

TEST(CalcAirCount, TheContract) {
  const auto answer = answered("air-count", {{"fibres", 100}, {"fields", 100}, {"litres", 1200}});
  const double c = 1000.0 * 100 * 22 * 22 / (1200.0 * 100 * 100 * 100);
  EXPECT_NEAR(answer["f_per_ml"].get<double>(), c, 1e-12);
  EXPECT_EQ(answer["reported"], "0.04");
  EXPECT_NEAR(answer["low"].get<double>(), 0.51 * c, 0.005 * c);
  EXPECT_NEAR(answer["high"].get<double>(), 3.13 * c, 0.005 * c);
  EXPECT_FALSE(answer["reasons"].empty());
}

TEST(CalcAirCount, RefusesWhatCannotBe) {
  EXPECT_EQ(refused("air-count", {{"fibres", 1}, {"fields", 0}, {"litres", 480}}).size(), 1U);
  EXPECT_EQ(refused("air-count", {{"fibres", 1}, {"fields", 100}, {"litres", 480}, {"blank_fibres", 1}}).size(), 1U);
  EXPECT_EQ(refused("air-count", {{"fibres", 1}, {"fields", 100}, {"litres", 480}, {"colour", 1}}).size(), 1U);
  const auto crowded = refused("air-count", {{"fibres", 1001}, {"fields", 100}, {"litres", 480}});
  ASSERT_EQ(crowded.size(), 1U);
  EXPECT_EQ(crowded.front().where, "/fibres");
}

TEST(CalcClearance, PassAndFaults) {
  Json sample = {{"fibres", 3}, {"fields", 200}, {"litres", 480}};
  Json input = {{"area_m2", 20}, {"height_m", 2.4}, {"samples", {sample, sample}}};
  auto answer = answered("clearance", input);
  EXPECT_EQ(answer["pass"], true);
  EXPECT_EQ(answer["samples_needed"], 2);
  input["samples"][1]["fibres"] = 40;
  input["issued_on"] = "2025-01-01";
  input["work_finished_on"] = "2025-01-02";
  answer = answered("clearance", input);
  EXPECT_EQ(answer["pass"], false);
  EXPECT_EQ(answer["faults"].size(), 2U);
}

TEST(CalcClearance, AnotherCountryAsksForOtherStages) {
  Json input = {{"rules", "au"},   {"after", "non-friable"},   {"area_m2", 20},
                {"height_m", 2.4}, {"samples", Json::array()}, {"stages", {"visual inspection"}}};
  EXPECT_TRUE(answered("clearance", input)["pass"].get<bool>());
  EXPECT_EQ(answered("clearance", input)["samples_needed"], 0);
  input["after"] = "friable";
  EXPECT_FALSE(answered("clearance", input)["pass"].get<bool>());
  input.erase("after");
  EXPECT_FALSE(answered("clearance", input)["pass"].get<bool>()) << "the strictest unless it is said";
  input["after"] = "four-stage";
  EXPECT_EQ(refused("clearance", input).front().where, "/after");
  input["rules"] = "atlantis";
  EXPECT_EQ(refused("clearance", input).front().where, "/rules");
}

TEST(CalcClearance, FaultsNameTheSample) {
  const Json input = {
      {"area_m2", 20}, {"height_m", 2.4}, {"samples", {{{"fibres", 3000}, {"fields", 200}, {"litres", 480}}}}};
  const auto faults = refused("clearance", input);
  ASSERT_EQ(faults.size(), 1U);
  EXPECT_EQ(faults.front().where, "/samples/0/fibres");
}

}  // namespace
}  // namespace lathbook::calc
