#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include "calc/testing.h"

namespace lathbook::calc {
namespace {

using ::testing::HasSubstr;

Json answered(const Json& input) { return calc::answered("timeline", input); }
reason::Faults refused(const char* text) { return calc::refused("timeline", Json::parse(text)); }

TEST(CalcTimeline, TheContract) {
  const auto answer = answered(Json::parse(R"({"start": "2025-01-06", "calendar": "working", "activities": [
    {"id": "test", "days": 5}, {"id": "notice", "days": 0, "after": ["test"], "lead_days": 10},
    {"id": "remove", "days": 2, "after": ["notice"]}, {"id": "paint", "days": 1, "after": ["test"]}]})"));
  EXPECT_EQ(answer["activities"][2]["start"], "2025-01-27");
  EXPECT_EQ(answer["activities"][2]["finish"], "2025-01-29");
  EXPECT_EQ(answer["activities"][3]["slack_days"], 11.0);
  EXPECT_EQ(answer["critical"], Json({"test", "notice", "remove"}));
  EXPECT_EQ(answer["finish"], "2025-01-29");
  EXPECT_FALSE(answer.contains("finish_range"));
}

TEST(CalcTimeline, RangesWhereUncertain) {
  const auto answer =
      answered(Json::parse(R"({"start": "2025-01-06", "branches": [{"id": "found", "chance": 0.4}], "activities": [
    {"id": "test", "days": [3, 5, 10]}, {"id": "remove", "days": 3, "after": ["test"], "only_if": {"branch": "found"}}]})"));
  EXPECT_EQ(answer["finish"], "2025-01-14") << "five days likely, and found";
  EXPECT_EQ(answer["finish_range"]["low"], "2025-01-09");
  EXPECT_EQ(answer["finish_range"]["high"], "2025-01-19");
  EXPECT_NEAR(answer["activities"][1]["range"]["happens_share"].get<double>(), 0.4, 0.05);
}

TEST(CalcTimeline, EveryFault) {
  EXPECT_THAT(
      refused(
          R"({"start": "2025-01-06", "activities": [{"id": "a", "days": 1, "after": ["b"]}, {"id": "b", "days": 1, "after": ["a"]}]})")
          .front()
          .text(),
      HasSubstr("a → b → a"));
  EXPECT_EQ(refused(R"({"start": "2025-02-30", "activities": []})").front().where, "/start");
  EXPECT_EQ(refused(R"({"start": "2025-01-06", "activities": [{"id": "a", "days": -1}]})").front().where.substr(0, 18),
            "/activities/0/days");
  EXPECT_EQ(refused(R"({"start": "2025-01-06", "activities": [{"id": "a", "days": [3, 2, 1]}]})").front().where,
            "/activities/0/days");
  EXPECT_EQ(refused(R"({"start": "2025-01-06", "calendar": "lunar", "activities": []})").front().where, "/calendar");
  EXPECT_EQ(
      refused(
          R"({"start": "2025-01-06", "activities": [{"id": "a", "days": 1, "closed": [{"from": "2025-02-02", "to": "2025-02-01"}]}]})")
          .front()
          .where,
      "/activities/0/closed/0/to");
}

}  // namespace
}  // namespace lathbook::calc
