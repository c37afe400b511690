#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include "calc/testing.h"

namespace lathbook::calc {
namespace {

using ::testing::Contains;
using ::testing::ElementsAre;
using ::testing::HasSubstr;

Json answered(const Json& input) { return calc::answered("presence", input); }
std::vector<std::string> refused(const Json& input) { return refused_in_words("presence", input); }

Json board(const char* id, double prior) {
  return {{"id", id}, {"family", "insulating-board"}, {"year_from", 1960}, {"year_to", 1970}, {"prior", prior}};
}

TEST(CalcPresence, AFindOnALookAlikeByHand) {
  // S ~ B(0.4); a and b each follow it with 0.75. P(a | S=1) = 0.75 + 0.25 * 0.4 = 0.85, P(a | S=0) = 0.1.
  Json a = board("a", 0.4);
  Json b = board("b", 0.4);
  for (Json* one : {&a, &b}) (*one)["group"] = "g", (*one)["alike"] = "same look";
  Json input = {
      {"rules", "gb"},
      {"materials", {a, b}},
      {"groups", {{{"id", "g"}}}},
      {"results",
       {{{"material", "a"}, {"found", true}, {"fibres", {"amosite"}}, {"sensitivity", 1}, {"specificity", 1}}}}};
  const auto answer = answered(input);
  const double s = 0.4 * 0.85 / (0.4 * 0.85 + 0.6 * 0.1);
  EXPECT_NEAR(answer["materials"][0]["probability"].get<double>(), 1, 1e-15);
  EXPECT_NEAR(answer["materials"][1]["probability"].get<double>(), s * 0.85 + (1 - s) * 0.1, 1e-12);
  EXPECT_EQ(answer["materials"][0]["standing"], "identified");
  EXPECT_EQ(answer["materials"][1]["standing"], "presumed");
  EXPECT_EQ(answer["materials"][0]["fibres"]["amosite"], 1.0);
  EXPECT_EQ(answer["materials"][1]["low"], answer["materials"][1]["high"]) << "a prior given without a range has none";
}

TEST(CalcPresence, AGroupThatOnlyMaterialsNameIsOne) {
  Json a = board("a", 0.4);
  Json b = board("b", 0.4);
  for (Json* one : {&a, &b}) (*one)["group"] = "g", (*one)["alike"] = "same piece";
  const Json input = {{"rules", "gb"},
                      {"materials", {a, b}},
                      {"results", {{{"material", "a"}, {"found", true}, {"sensitivity", 1}, {"specificity", 1}}}}};
  EXPECT_NEAR(answered(input)["materials"][1]["probability"].get<double>(), 1, 1e-12);
}

TEST(CalcPresence, NestedGroupsByHand) {
  // Top T: members m (0.2) and the group g, whose own prior is the mean of its members, 0.6. T ~ B(0.4).
  Json m = board("m", 0.2);
  m["group"] = "t";
  m["alike"] = "same piece";
  Json a = board("a", 0.6);
  a["group"] = "g";
  a["alike"] = "same piece";
  const Json input = {{"rules", "gb"},
                      {"materials", {m, a}},
                      {"groups", {{{"id", "g"}, {"group", "t"}, {"alike", "same kind"}}, {{"id", "t"}}}},
                      {"results", Json::array()}};
  const auto answer = answered(input);
  EXPECT_NEAR(answer["materials"][0]["probability"].get<double>(), 0.4, 1e-12);
  EXPECT_NEAR(answer["materials"][1]["probability"].get<double>(), 0.3 * 0.4 + 0.7 * 0.6, 1e-12);
}

TEST(CalcPresence, StandingOfEachKind) {
  Json late = {{"id", "late"}, {"family", "insulating-board"}, {"year_from", 2001}, {"year_to", 2003}};
  Json early = {{"id", "early"}, {"family", "insulating-board"}, {"year_from", 1999}, {"year_to", 2003}};
  Json tested = {{"id", "tested"}, {"family", "insulating-board"}, {"year_from", 1960}, {"year_to", 1965}};
  Json wide = tested;
  wide["id"] = "wide";
  wide["extent"] = {{"amount", 40}, {"unit", "m2"}};
  const Json input = {
      {"rules", "gb"},
      {"materials", {late, early, tested, wide}},
      {"results",
       {{{"material", "tested"}, {"found", false}, {"samples", 1}}, {{"material", "wide"}, {"found", false}}}}};
  const auto answer = answered(input);
  std::vector<std::string> standing;
  for (const auto& one : answer["materials"]) standing.push_back(one["standing"]);
  EXPECT_THAT(standing, ElementsAre("proven later than the ban", "presumed", "no asbestos detected", "presumed"));
  EXPECT_EQ(answer["materials"][3]["samples_needed"], 2);
}

TEST(CalcPresence, ReportsContraryResultsAndKeepsBoth) {
  const Json input = {{"rules", "gb"},
                      {"materials", {board("a", 0.3)}},
                      {"results", {{{"material", "a"}, {"found", true}}, {{"material", "a"}, {"found", false}}}}};
  const auto answer = answered(input);
  EXPECT_EQ(answer["conflicts"].size(), 1U);
  EXPECT_EQ(answer["materials"][0]["standing"], "identified");
  EXPECT_THAT(answer["reasons"][0]["text"].get<std::string>(), HasSubstr("Both are kept"));
}

TEST(FaultCalcPresence, RefusesEachBadInputByItsPlace) {
  const Json good = {
      {"rules", "gb"}, {"materials", {board("a", 0.3)}}, {"groups", Json::array()}, {"results", Json::array()}};
  EXPECT_TRUE(refused(good).empty());
  auto bad = good;
  bad["materials"][0]["prior"] = 1.2;
  EXPECT_THAT(refused(bad), ElementsAre("/materials/0/prior: 1.2 is too large; allowed: a number from 0 to 1"));
  bad = good;
  bad["groups"] = {{{"id", "g"}, {"group", "h"}}, {{"id", "h"}, {"group", "g"}}};
  EXPECT_THAT(refused(bad), Contains(HasSubstr("/groups/0/group: h puts the group inside itself")));
  bad = good;
  bad["results"] = {{{"material", "b"}, {"found", true}}};
  EXPECT_THAT(refused(bad),
              ElementsAre("/results/0/material: b is no material here; allowed: the id of one of the materials"));
  bad = good;
  bad["results"] = {{{"material", "a"}, {"found", true}, {"sensitivity", -0.1}}};
  EXPECT_THAT(refused(bad), ElementsAre("/results/0/sensitivity: -0.1 is too small; allowed: a number from 0 to 1"));
  bad = good;
  bad["rules"] = "atlantis";
  EXPECT_THAT(refused(bad), ElementsAre(HasSubstr("/rules: \"atlantis\" are rules that nothing is known of here")));
  bad = good;
  bad["materials"][0].erase("year_to");
  bad["materials"][0]["colour"] = "grey";
  EXPECT_EQ(refused(bad).size(), 2U);
  bad = good;
  bad["materials"].push_back(bad["materials"][0]);
  EXPECT_THAT(refused(bad), ElementsAre("/materials/1/id: a is there twice; allowed: each id once"));
}

}  // namespace
}  // namespace lathbook::calc
