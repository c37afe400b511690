#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include "calc/testing.h"

namespace lathbook::calc {
namespace {

using ::testing::HasSubstr;

Json answered(std::string_view name, const char* text) { return calc::answered(name, Json::parse(text)); }
reason::Faults refused(std::string_view name, const char* text) { return calc::refused(name, Json::parse(text)); }

TEST(CalcLoadPlan, TheContract) {
  const auto answer = answered("load-plan", R"({"pieces": [
      {"id": "W1", "length_m": 1.8, "width_m": 0.9, "thickness_m": 0.006, "mass_kg": 17, "count": 7},
      {"id": "W2", "length_m": 3.0, "width_m": 1.1, "thickness_m": 0.006, "mass_kg": 35}],
    "vehicle": {"length_m": 2.0, "width_m": 1.2, "height_m": 1.0, "payload_kg": 400}, "site": {"pieces": 3, "visits_per_month": 1}})");
  EXPECT_EQ(answer["trips"].size(), 3U);
  EXPECT_EQ(answer["proved_fewest"], true);
  EXPECT_EQ(answer["trips"][0]["pieces"][0]["how"], "flat");
  EXPECT_EQ(answer["trips"][0]["mass_kg"], 51.0);
  EXPECT_EQ(answer["months"], 3);
  ASSERT_EQ(answer["will_not_go"].size(), 1U);
  EXPECT_EQ(answer["will_not_go"][0]["id"], "W2");
}

TEST(CalcLoadPlan, WrappingTakesRoom) {
  const char* text = R"({"pieces": [{"id": "W1", "length_m": 2.0, "width_m": 0.9, "thickness_m": 0.006, "mass_kg": 17}],
    "vehicle": {"length_m": 2.0, "width_m": 0.9, "height_m": 0.5, "payload_kg": 400}, "gap_m": 0.01})";
  EXPECT_EQ(answered("load-plan", text)["will_not_go"].size(), 1U);
}

TEST(CalcLoadPlan, EveryFault) {
  const auto faults =
      refused("load-plan", R"({"pieces": [{"id": "W1", "length_m": 1, "width_m": 1, "thickness_m": 0, "mass_kg": 0}],
    "vehicle": {"length_m": 2, "width_m": 1, "height_m": 1, "payload_kg": -1}})");
  EXPECT_EQ(faults.size(), 3U);
  EXPECT_EQ(
      refused("load-plan", R"({"pieces": [{"id": "a", "length_m": 1, "width_m": 1, "thickness_m": 1, "mass_kg": 1},
      {"id": "a", "length_m": 1, "width_m": 1, "thickness_m": 1, "mass_kg": 1}],
    "vehicle": {"length_m": 2, "width_m": 1, "height_m": 1, "payload_kg": 9}})")
          .front()
          .where,
      "/pieces/1/id");
}

TEST(CalcWrap, TheContract) {
  const auto answer = answered(
      "wrap",
      R"({"pieces": [{"id": "W1", "length_m": 1.8, "width_m": 0.9, "thickness_m": 0.006, "mass_kg": 17, "count": 2}]})");
  EXPECT_NEAR(answer["polythene_m2"].get<double>(), 2 * 2 * (2 * 0.906 + 0.15) * (1.806 + 0.3), 1e-9);
  EXPECT_GT(answer["tape_m"], 0);
  EXPECT_EQ(answer["bags"], 0);
  EXPECT_EQ(refused("wrap", R"({"pieces": [], "layers": 0})").front().where, "/layers");
}

}  // namespace
}  // namespace lathbook::calc
