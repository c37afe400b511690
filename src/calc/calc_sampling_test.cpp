#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include "calc/testing.h"

namespace lathbook::calc {
namespace {

using ::testing::Contains;
using ::testing::ElementsAre;
using ::testing::HasSubstr;

Json answered(const Json& input) { return calc::answered("test-choice", input); }
std::vector<std::string> refused(const Json& input) { return refused_in_words("test-choice", input); }

Json house() {
  return Json::parse(R"({
    "materials": [{"id": "M1", "probability": 0.3, "group": "g", "alike": "same look"},
                  {"id": "M2", "probability": 0.3, "group": "g", "alike": "same look"},
                  {"id": "M3", "probability": 0.9}],
    "jobs": [{"id": "J1", "touches": ["M1", "M2"], "cost_plain": 100, "cost_as_asbestos": 900},
             {"id": "J2", "touches": ["M3"], "cost_plain": 100, "cost_as_asbestos": 300, "cost_elsewhere": 160}],
    "test": {"fixed": 10, "each": 30}})");
}

TEST(CalcTestChoice, TwoLookAlikesByHand) {
  const auto answer = answered(house());
  // S ~ B(0.3); P(clear | S) = 0.25 * 0.7 = 0.175 with it, 0.925 without.
  const double both = 0.3 * 0.175 * 0.175 + 0.7 * 0.925 * 0.925;
  EXPECT_DOUBLE_EQ(answer["cost_now"], 900 + 160);
  EXPECT_NEAR(answer["cost_best"].get<double>(), 1060 + 70 - 800 * both, 1e-9);
  EXPECT_NEAR(answer["cost_with_perfect_information"].get<double>(), 1060 - 800 * both - 60 * 0.1, 1e-9);
  EXPECT_EQ(answer["tests"], Json({"M1", "M2"}));
  EXPECT_EQ(answer["curve"].size(), 4U);
  EXPECT_EQ(answer["curve"][2]["tests"], Json({"M1", "M2"}));
  EXPECT_EQ(answer["exact"], true);
  EXPECT_EQ(answer["gap"], 0);
  // In rounds: M2 is only tested when M1 was clear (chance 0.7).
  EXPECT_NEAR(answer["policy"]["expected_cost"].get<double>(), 1060 + 10 + 30 + 0.7 * 30 - 800 * both, 1e-9);
  EXPECT_EQ(answer["policy"]["first"], Json({"M1"}));
  EXPECT_EQ(answer["not_worth"][0]["id"], "M3");
}

TEST(CalcTestChoice, WaitingMakesRoundsDearer) {
  auto input = house();
  input["cost_per_week_waiting"] = 70;
  input["laboratory_days"] = 14;
  const auto answer = answered(input);
  EXPECT_EQ(answer["policy"]["first"], Json({"M1", "M2"})) << "one wait of two weeks, not two";
  EXPECT_NEAR(answer["policy"]["expected_cost"].get<double>(), answer["cost_best"].get<double>(), 1e-9);
}

TEST(FaultCalcTestChoice, RefusesEachBadInputByItsPlace) {
  EXPECT_TRUE(refused(house()).empty());
  auto bad = house();
  bad["materials"][0]["probability"] = 1.2;
  EXPECT_THAT(refused(bad), ElementsAre("/materials/0/probability: 1.2 is too large; allowed: a number from 0 to 1"));
  bad = house();
  bad["jobs"][0]["cost_plain"] = -3;
  EXPECT_THAT(refused(bad), ElementsAre(HasSubstr("/jobs/0/cost_plain: -3 is too small")));
  bad = house();
  bad["test"]["each"] = -1;
  EXPECT_THAT(refused(bad), ElementsAre(HasSubstr("/test/each: -1 is too small")));
  bad = house();
  bad["jobs"][1]["touches"] = {"M9"};
  EXPECT_THAT(refused(bad),
              ElementsAre("/jobs/1/touches/0: M9 is no material here; allowed: the id of one of the materials"));
  bad = house();
  bad["groups"] = {{{"id", "g"}, {"group", "h"}}, {{"id", "h"}, {"group", "g"}}};
  EXPECT_THAT(refused(bad), Contains(HasSubstr("/groups/0/group: h puts the group inside itself")));
  bad = house();
  bad["materials"][1]["id"] = "M1";
  EXPECT_THAT(refused(bad), Contains(HasSubstr("/materials/1/id: M1 is there twice")));
  bad = house();
  bad["materials"][2]["alike"] = "same look";
  EXPECT_EQ(refused(bad).size(), 1U);
  bad = house();
  bad["test"]["sensitivity"] = "high";
  bad["jobs"][0]["colour"] = "grey";
  bad.erase("materials");
  EXPECT_EQ(refused(bad).size(), 3U);
}

}  // namespace
}  // namespace lathbook::calc
