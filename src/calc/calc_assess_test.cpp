#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include <sstream>

#include "calc/testing.h"
#include "testing/csv.h"

namespace lathbook::calc {
namespace {

using ::testing::Contains;
using ::testing::HasSubstr;

Json list(const std::string& text, char by) {
  Json out = Json::array();
  std::stringstream in(text);
  for (std::string one; std::getline(in, one, by);) out.push_back(by == ';' ? Json(std::stoi(one)) : Json(one));
  return out;
}

TEST(PublishedCalcMaterialScore, EveryRowByNumbersAndByWords) {
  for (const auto& row : testing::read_csv("tests/published/material_score.csv")) {
    Json numbers = Json::object();
    for (const char* key : {"product", "damage", "surface", "fibre"}) numbers[key] = std::stoi(row.at(key));
    std::vector<Json> forms = {numbers};
    if (!row.at("family").empty()) {
      Json words = {
          {"family", row.at("family")}, {"damage", row.at("damage_word")}, {"fibres", list(row.at("fibres"), '+')}};
      if (!row.at("surface_word").empty()) words["surface"] = row.at("surface_word");
      forms.push_back(words);
    }
    for (const auto& form : forms) {
      const auto answer = answered("material-score", form);
      EXPECT_EQ(answer["total"], std::stoi(row.at("total"))) << form.dump();
      EXPECT_EQ(answer["band"], row.at("band")) << form.dump();
      for (const char* key : {"product", "damage", "surface", "fibre"})
        EXPECT_EQ(answer[key], numbers[key]) << form.dump();
    }
  }
}

TEST(PublishedCalcPriorityScore, EveryRow) {
  for (const auto& row : testing::read_csv("tests/published/priority_score.csv")) {
    Json input = Json::object();
    for (const char* key : {"activity", "disturbance", "exposure", "maintenance"}) input[key] = list(row.at(key), ';');
    for (const auto& [rounding, column] : {std::pair{"up", "up"}, {"half-up", "half_up"}, {"none", "none"}}) {
      input["rounding"] = rounding;
      EXPECT_NEAR(answered("priority-score", input)["total"].get<double>(), std::stod(row.at(column)),
                  std::stod(row.at("tolerance")))
          << row.at("item");
    }
  }
}

TEST(CalcMaterialScore, FibresAbsentAndEmptyAreBothNotKnown) {
  Json input = {{"family", "insulating-board"}, {"damage", "none"}, {"surface", "sealed"}};
  EXPECT_EQ(answered("material-score", input)["fibre"], 3);
  input["fibres"] = Json::array();
  EXPECT_EQ(answered("material-score", input)["fibre"], 3);
  input["look_alike_fibres"] = {"amosite"};
  EXPECT_EQ(answered("material-score", input)["fibre"], 2);
}

TEST(CalcPriorityScore, FractionsAreExactAndRoundingDefaultsToUp) {
  Json input = {{"activity", {1, 2}}, {"disturbance", {1, 0, 1}}, {"exposure", {0, 0, 1}}, {"maintenance", {0, 0}}};
  EXPECT_EQ(answered("priority-score", input)["total"], 2 + 1 + 1);
  input["rounding"] = "half-up";
  EXPECT_EQ(answered("priority-score", input)["total"], 2 + 1 + 0);
  input["rounding"] = "none";
  EXPECT_EQ(answered("priority-score", input)["total"], 2.5);
  EXPECT_EQ(answered("priority-score", input)["disturbance"].get<double>(), 2.0 / 3.0);
}

TEST(FaultCalcMaterialScore, NamesTheFieldTheValueAndWhatIsAllowed) {
  EXPECT_THAT(refused_in_words("material-score", {{"product", 4}, {"damage", 0}, {"surface", 0}, {"fibre", 1}}),
              Contains(HasSubstr("/product: 4")));
  EXPECT_THAT(refused_in_words("material-score", {{"family", "insulting-board"}, {"damage", "none"}}),
              Contains(HasSubstr("perhaps insulating-board")));
  EXPECT_THAT(refused_in_words("material-score", {{"family", "insulating-board"}, {"damage", "awful"}}),
              Contains(HasSubstr("/damage")));
  EXPECT_THAT(refused_in_words("material-score", {{"family", "insulating-board"}, {"damage", "none"}, {"colour", 1}}),
              Contains(HasSubstr("/colour")));
  EXPECT_THAT(refused_in_words("material-score", {{"family", "plain-timber"}, {"damage", "none"}}),
              Contains(HasSubstr("suspect")));
  EXPECT_THAT(refused_in_words("material-score", Json::object()), ::testing::Not(::testing::IsEmpty()));
}

TEST(FaultCalcPriorityScore, RefusesWrongCountsAndRanges) {
  Json input = {{"activity", {1, 2, 3}},
                {"disturbance", {1, 0}},
                {"exposure", {0, 0, 4}},
                {"maintenance", {0, 0}},
                {"rounding", "down"}};
  const auto lines = refused_in_words("priority-score", input);
  EXPECT_THAT(lines, Contains(HasSubstr("/activity")));
  EXPECT_THAT(lines, Contains(HasSubstr("/disturbance")));
  EXPECT_THAT(lines, Contains(HasSubstr("/exposure/2")));
  EXPECT_THAT(lines, Contains(HasSubstr("/rounding")));
}

}  // namespace
}  // namespace lathbook::calc
