#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include "calc/testing.h"
#include "testing/csv.h"

namespace lathbook::calc {
namespace {

using ::testing::Contains;
using ::testing::HasSubstr;

Json answered(const Json& input) { return calc::answered("work-class", input); }
std::vector<std::string> refused(const Json& input) { return refused_in_words("work-class", input); }

Json board(const char* task, double longest, double all, const char* by) {
  return {{"rules", "gb"},
          {"family", "insulating-board"},
          {"task", task},
          {"damage", "none"},
          {"fibres", Json::array()},
          {"by", by},
          {"minutes_longest_person", longest},
          {"minutes_all_people", all}};
}

TEST(PublishedCalcWorkClass, TheRegulatorsExamples) {
  for (const auto& row : testing::read_csv("tests/published/gb_work_class.csv")) {
    const auto answer = answered({{"rules", "gb"},
                                  {"family", row.at("family")},
                                  {"task", row.at("task")},
                                  {"damage", row.at("damage")},
                                  {"minutes_longest_person", std::stod(row.at("longest"))},
                                  {"minutes_all_people", std::stod(row.at("all"))},
                                  {"by", "trade"}});
    const std::string allowed = "|" + row.at("class") + "|";
    EXPECT_NE(allowed.find("|" + answer["class"].get<std::string>() + "|"), std::string::npos)
        << row.at("example") << ": " << answer["class"];
  }
}

TEST(CalcWorkClass, SaysWhoMayAndWhatItAsks) {
  const auto own = answered(board("drill", 10, 10, "householder"));
  EXPECT_EQ(own["class"], "non-licensed");
  EXPECT_EQ(own["may"], "no");
  EXPECT_TRUE(own["precautions"].empty());
  const auto trade = answered(board("lift-whole", 30, 30, "trade"));
  EXPECT_EQ(trade["class"], "notifiable non-licensed");
  EXPECT_EQ(trade["may"], "with precautions");
  EXPECT_FALSE(trade["precautions"].empty());
  EXPECT_EQ(trade["duties"][0]["form"], "ASB NNLW1");
  const auto long_job = answered(board("lift-whole", 90, 90, "trade"));
  EXPECT_EQ(long_job["class"], "licensed");
  EXPECT_EQ(long_job["may"], "no");
  ASSERT_EQ(long_job["matches"].size(), 2U) << "too long, and removal of friable material besides";
  EXPECT_EQ(long_job["matches"][0]["rule"], "beyond-short");
  EXPECT_EQ(long_job["matches"][0]["text"], long_job["reasons"][0]["text"]);
  EXPECT_EQ(long_job["matches"][1]["rule"], "friable-removal");
  EXPECT_EQ(answered(board("lift-whole", 90, 90, "licensed remover"))["may"], "with precautions");
}

TEST(CalcWorkClass, AnotherCountryAsksForAreaAndRegion) {
  Json input = {{"rules", "au"},       {"family", "cement-flat-sheet"}, {"task", "lift-whole"},     {"damage", "none"},
                {"by", "householder"}, {"minutes_longest_person", 60},  {"minutes_all_people", 60}, {"area_m2", 10},
                {"region", "nsw"}};
  EXPECT_EQ(answered(input)["may"], "with precautions");
  EXPECT_EQ(answered(input)["called"], "removal of non-friable asbestos without a licence");
  input["area_m2"] = 10.5;
  EXPECT_EQ(answered(input)["called"], "Class B licensed removal");
  input["area_m2"] = 10;
  input.erase("region");
  EXPECT_EQ(answered(input)["may"], "no") << "the strictest of the regions";
  input["region"] = "wales";
  EXPECT_THAT(refused(input), Contains(HasSubstr("is no state or territory of Australia")));
  EXPECT_EQ(answered(board("drill", 10, 10, "trade"))["called"], "non-licensed work");
}

TEST(CalcWorkClass, OnlyAReleasingStandingIsOutside) {
  auto input = board("drill", 10, 10, "householder");
  for (const char* standing : {"presumed", "strongly presumed", "identified"}) {
    input["standing"] = standing;
    EXPECT_EQ(answered(input)["class"], "non-licensed") << standing;
  }
  for (const char* standing : {"no asbestos detected", "proven later than the ban"}) {
    input["standing"] = standing;
    EXPECT_EQ(answered(input)["class"], "outside") << standing;
    EXPECT_EQ(answered(input)["may"], "yes") << standing;
  }
}

TEST(FaultCalcWorkClass, NamesAllThatIsWrongAtOnce) {
  auto input = board("drll", 20, 10, "trade");
  input["rules"] = "atlantis";
  input["family"] = "pipe-laging";
  const auto lines = refused(input);
  EXPECT_THAT(lines, Contains(HasSubstr("/rules: atlantis")));
  EXPECT_THAT(lines, Contains(HasSubstr("perhaps pipe-lagging")));
  EXPECT_THAT(lines, Contains(HasSubstr("perhaps drill")));
  EXPECT_THAT(lines, Contains(HasSubstr("/minutes_all_people: 10")));
  EXPECT_THAT(refused(board("drill", -1, 10, "trade")), Contains(HasSubstr("/minutes_longest_person: -1")));
  EXPECT_THAT(refused(board("drill", 1, 10, "neighbour")), Contains(HasSubstr("/by")));
}

}  // namespace
}  // namespace lathbook::calc
