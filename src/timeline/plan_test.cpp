#include "timeline/plan.h"

#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include <cmath>
#include <map>
#include <random>
#include <sstream>

#include "testing/agreement.h"
#include "testing/csv.h"

namespace lathbook::timeline {
namespace {

using ::testing::ElementsAre;
using ::testing::HasSubstr;

Date day(const char* text) { return *Date::parse(text); }

Activity activity(std::string id, double days, std::vector<std::string> after = {}) {
  Activity one;
  one.id = std::move(id);
  one.days = {days, days, days};
  one.after = std::move(after);
  return one;
}

Request request(std::vector<Activity> activities, Calendar calendar = Calendar::kCalendar) {
  Request out{
      .start = day("2025-01-06"), .calendar = calendar, .holidays = {}, .activities = {}, .branches = {}};  // a Monday
  out.activities = std::move(activities);
  return out;
}

const Scheduled& find(const Plan& plan, const std::string& id) {
  for (const auto& one : plan.activities) {
    if (one.id == id) return one;
  }
  throw std::logic_error("no activity " + id);
}

std::vector<std::string> split(const std::string& text, char at) {
  std::vector<std::string> parts;
  std::istringstream in(text);
  for (std::string part; std::getline(in, part, at);) parts.push_back(part);
  return parts;
}

TEST(PublishedCriticalPath, PrintedStartsSlackAndEnds) {
  testing::Agreement agreement("timeline_printed");
  int checked = 0;
  for (const auto& row : testing::read_csv("tests/published/critical_paths.csv")) {
    Request asked = request({});
    for (const auto& text : split(row.at("activities"), ' ')) {
      const auto parts = split(text, ':');
      asked.activities.push_back(activity(parts[0], std::stod(parts[1]),
                                          parts.size() > 2 ? split(parts[2], '+') : std::vector<std::string>{}));
    }
    const auto planned = plan(asked);
    ASSERT_TRUE(planned.ok()) << row.at("id");
    EXPECT_EQ(asked.start.days_until(planned->finish), std::stoi(row.at("end"))) << row.at("id");
    for (const auto& text : split(row.at("expected"), ' ')) {
      const auto parts = split(text, ':');
      const auto& one = find(*planned, parts[0]);
      EXPECT_EQ(asked.start.days_until(one.start), std::stoi(parts[1])) << row.at("id") << " " << parts[0];
      if (parts.size() > 2) {
        EXPECT_EQ(one.slack_days, std::stod(parts[2])) << row.at("id") << " " << parts[0];
      }
      agreement.same();
      ++checked;
    }
  }
  EXPECT_GE(checked, 29);
}

TEST(Plan, HalfADayOfSlackIsSlack) {
  const auto planned = plan(request({activity("a", 1.5), activity("b", 1), activity("c", 1, {"a", "b"})}));
  EXPECT_EQ(find(*planned, "b").slack_days, 0.5);
  EXPECT_FALSE(find(*planned, "b").critical);
  EXPECT_THAT(planned->critical, ElementsAre("a", "c"));
}

TEST(Plan, WhatDoesNotHappenHoldsNothingUp) {
  auto asked = request({activity("a", 2), activity("x", 3, {"a"})});
  asked.branches = {{"found", 0.5}};
  asked.activities[1].only_if = Condition{"found", false};
  const auto planned = plan(asked);
  EXPECT_TRUE(find(*planned, "x").skipped);
  EXPECT_FALSE(find(*planned, "x").critical);
  EXPECT_THAT(planned->critical, ElementsAre("a"));
}

TEST(Plan, ALeadThatOutlastsAFixedDayIsWhatHoldsItUp) {
  auto asked = request({activity("a", 2), activity("b", 1, {"a"})});
  asked.activities[1].lead_days = 5;
  asked.activities[1].not_before = asked.start.plus_days(4);
  const auto planned = plan(asked);
  EXPECT_EQ(find(*planned, "b").start, asked.start.plus_days(7));
  EXPECT_EQ(find(*planned, "b").held_by, HeldBy::kAfter);
  EXPECT_THAT(find(*planned, "b").held_by_ids, ElementsAre("a"));
  asked.activities[1].not_before = asked.start.plus_days(8);
  EXPECT_EQ(find(*plan(asked), "b").held_by, HeldBy::kNotBefore);
}

TEST(Plan, FinishIsTheFirstDayNothingRemains) {
  const auto planned = plan(request({activity("a", 5), activity("b", 0, {"a"}), activity("c", 1, {"b"})}));
  EXPECT_EQ(find(*planned, "a").finish, day("2025-01-11"));
  EXPECT_EQ(find(*planned, "b").start, day("2025-01-11"));
  EXPECT_EQ(find(*planned, "b").finish, day("2025-01-11"));
  EXPECT_EQ(planned->finish, day("2025-01-12"));
}

TEST(Plan, WorkingDaysSkipWeekendsAndHolidays) {
  Request asked = request({activity("a", 5), activity("b", 1, {"a"})}, Calendar::kWorking);
  auto planned = plan(asked);
  EXPECT_EQ(find(*planned, "a").finish, day("2025-01-13")) << "five days from a Monday end on the next Monday";
  EXPECT_EQ(find(*planned, "b").start, day("2025-01-13"));
  asked.holidays = {day("2025-01-08")};
  planned = plan(asked);
  EXPECT_EQ(find(*planned, "a").finish, day("2025-01-14"));
  asked.start = day("2025-01-04");  // a Saturday: work begins on Monday
  EXPECT_EQ(find(*plan(asked), "a").start, day("2025-01-06"));
}

TEST(Plan, LeadRunsFromWhatComesBefore) {
  auto removal = activity("removal", 2, {"quote"});
  removal.lead_days = 14;
  const auto planned = plan(request({activity("quote", 3), removal}));
  EXPECT_EQ(find(*planned, "removal").start, day("2025-01-23"));
  EXPECT_EQ(find(*planned, "removal").held_by, HeldBy::kAfter);
  EXPECT_THAT(find(*planned, "removal").held_by_ids, ElementsAre("quote"));
  EXPECT_EQ(find(*planned, "quote").slack_days, 0) << "the lead is part of the path";
}

TEST(Plan, NotBeforeHolds) {
  auto roof = activity("roof", 2);
  roof.not_before = day("2025-04-01");
  auto planned = plan(request({roof}));
  EXPECT_EQ(planned->activities[0].start, day("2025-04-01"));
  EXPECT_EQ(planned->activities[0].held_by, HeldBy::kNotBefore);
  roof.not_before = day("2024-04-01");
  EXPECT_EQ(plan(request({roof}))->activities[0].start, day("2025-01-06"));
}

TEST(Plan, ClosedDaysStretchTheWork) {
  auto roof = activity("roof", 4);
  roof.closed = {{day("2025-01-08"), day("2025-01-10"), "rain"}};
  auto planned = plan(request({roof}));
  EXPECT_EQ(planned->activities[0].finish, day("2025-01-13"));
  roof.closed = {{day("2025-01-01"), day("2025-01-10"), "away"}};
  planned = plan(request({roof}));
  EXPECT_EQ(planned->activities[0].start, day("2025-01-11"));
  EXPECT_EQ(planned->activities[0].held_by, HeldBy::kClosed);
  auto weekdays = activity("w", 6);
  weekdays.weekdays_only = true;
  EXPECT_EQ(plan(request({weekdays}))->activities[0].finish, day("2025-01-14"));
}

TEST(Plan, SlackAcrossClosedDays) {
  // `short` can begin as late as day 8 and still end with `long`: days 3 to 6 are closed to it.
  auto brief = activity("short", 2);
  brief.closed = {{day("2025-01-09"), day("2025-01-12"), ""}};
  const auto planned = plan(request({activity("long", 10), brief}));
  EXPECT_EQ(find(*planned, "short").slack_days, 8);
}

TEST(Plan, FractionsShareADay) {
  const auto planned = plan(request({activity("a", 0.5), activity("b", 0.5, {"a"}), activity("c", 0.25, {"b"})}));
  EXPECT_EQ(find(*planned, "b").start, day("2025-01-06"));
  EXPECT_EQ(find(*planned, "b").finish, day("2025-01-07"));
  EXPECT_EQ(find(*planned, "c").finish, day("2025-01-08"));
}

TEST(Plan, NothingPlannedFinishesAtOnce) {
  const auto planned = plan(request({}));
  ASSERT_TRUE(planned.ok());
  EXPECT_EQ(planned->finish, day("2025-01-06"));
}

TEST(Plan, BranchesAreTakenAsHappening) {
  Request asked = request({activity("test", 5), activity("remove", 4, {"test"}), activity("drill", 1, {"test"}),
                           activity("shelf", 1, {"remove", "drill"})});
  asked.branches = {{"found", 0.3}};
  asked.activities[1].only_if = Condition{"found", true};
  asked.activities[2].only_if = Condition{"found", false};
  const auto planned = plan(asked);
  EXPECT_EQ(find(*planned, "shelf").start, day("2025-01-15"));
  EXPECT_TRUE(find(*planned, "drill").skipped);
  EXPECT_THAT(planned->critical, ElementsAre("test", "remove", "shelf"));
}

TEST(FaultPlan, CirclesAreNamed) {
  const auto planned = plan(request({activity("a", 1, {"c"}), activity("b", 1, {"a"}), activity("c", 1, {"b"}),
                                     activity("d", 1, {"d"}), activity("e", 1, {"a"})}));
  ASSERT_FALSE(planned.ok());
  ASSERT_EQ(planned.faults().size(), 2U);
  EXPECT_EQ(planned.faults()[0].value, "a → b → c → a");
  EXPECT_EQ(planned.faults()[1].value, "d → d");
  EXPECT_THAT(planned.faults()[0].text(), HasSubstr("goes round in a circle"));
}

TEST(FaultPlan, AllOfThemAtOnce) {
  Request asked = request({activity("a", 1, {"nobody"}), activity("a", 1)});
  asked.activities[1].days = {3, 2, 1};
  asked.activities[1].lead_days = -1;
  asked.activities[1].only_if = Condition{"nothing", true};
  const auto planned = plan(asked);
  ASSERT_FALSE(planned.ok());
  EXPECT_EQ(planned.faults().size(), 5U);
}

TEST(FaultPlan, DatesOutOfReach) {
  auto never = activity("never", 1);
  never.closed = {{day("2025-01-01"), day("2999-12-31"), "shut"}};
  ASSERT_FALSE(plan(request({never})).ok());
  EXPECT_THAT(plan(request({never})).faults().front().text(), HasSubstr("within 200 years"));
  auto late = activity("late", 1);
  late.not_before = day("2999-01-01");
  EXPECT_FALSE(plan(request({late})).ok());
  Request asked = request({activity("a", 1)});
  asked.start = day("9999-01-01");
  EXPECT_FALSE(plan(asked).ok());
}

/// A random network in which each activity follows some of the earlier ones.
Request random_request(std::mt19937& random, int n, bool closures) {
  Request out = request({});
  std::uniform_int_distribution<int> days(0, 9);
  for (int i = 0; i < n; ++i) {
    auto one = activity("x" + std::to_string(i), days(random));
    for (int j = 0; j < i; ++j) {
      if (days(random) < 2) one.after.push_back("x" + std::to_string(j));
    }
    if (days(random) < 3) one.lead_days = days(random);
    if (closures && days(random) < 3) {
      const Date from = out.start.plus_days(days(random) * 4);
      one.closed.push_back({from, from.plus_days(days(random)), ""});
    }
    out.activities.push_back(std::move(one));
  }
  return out;
}

TEST(PropertyPlan, MatchesTheLongestPathByEnumeration) {
  testing::Agreement agreement("timeline_longest_path");
  std::mt19937 random(7);
  for (int round = 0; round < 200; ++round) {
    const Request asked = random_request(random, 7, false);
    std::map<std::string, const Activity*> by_id;
    for (const auto& one : asked.activities) by_id[one.id] = &one;
    // Longest way back from each activity, by walking every path.
    const auto earliest = [&](auto&& self, const Activity& one) -> double {
      double ready = 0;
      for (const auto& id : one.after) ready = std::max(ready, self(self, *by_id[id]) + by_id[id]->days.likely);
      return ready + one.lead_days;
    };
    const auto planned = plan(asked);
    ASSERT_TRUE(planned.ok());
    double end = 0;
    for (const auto& one : asked.activities) {
      const double start = earliest(earliest, one);
      EXPECT_EQ(asked.start.days_until(find(*planned, one.id).start), start);
      agreement.same();
      end = std::max(end, start + one.days.likely);
    }
    EXPECT_EQ(asked.start.days_until(planned->finish), end);
  }
}

TEST(PropertyPlan, SlackIsExactlyHowFarEachMayMove) {
  std::mt19937 random(11);
  for (int round = 0; round < 60; ++round) {
    const Request asked = random_request(random, 8, true);
    const auto planned = plan(asked);
    ASSERT_TRUE(planned.ok());
    for (std::size_t i = 0; i < asked.activities.size(); ++i) {
      const auto& one = planned->activities[i];
      Request moved = asked;
      moved.activities[i].not_before = one.start.plus_days(static_cast<int>(one.slack_days));
      EXPECT_EQ(plan(moved)->finish, planned->finish) << "moved by its slack nothing ends later";
      moved.activities[i].not_before = one.start.plus_days(static_cast<int>(one.slack_days) + 1);
      if (asked.activities[i].days.likely > 0 || one.slack_days == 0) {
        EXPECT_GT(plan(moved)->finish, planned->finish) << "a day more and it does";
      }
    }
  }
}

TEST(PropertyPlan, LongerWorkNeverBringsAnythingForward) {
  std::mt19937 random(3);
  for (int round = 0; round < 100; ++round) {
    const Request asked = random_request(random, 8, true);
    const auto before = plan(asked);
    Request longer = asked;
    auto& days = longer.activities[static_cast<std::size_t>(round % 8)].days;
    days = {days.low + 2, days.likely + 2, days.high + 2};
    const auto after = plan(longer);
    for (std::size_t i = 0; i < asked.activities.size(); ++i)
      EXPECT_GE(after->activities[i].start, before->activities[i].start);
  }
}

TEST(PropertyPlan, OrderOfTheListDoesNotMatter) {
  std::mt19937 random(5);
  for (int round = 0; round < 50; ++round) {
    Request asked = random_request(random, 9, true);
    const auto before = plan(asked);
    std::ranges::shuffle(asked.activities, random);
    const auto after = plan(asked);
    for (const auto& one : asked.activities) {
      EXPECT_EQ(find(*before, one.id).start, find(*after, one.id).start);
      EXPECT_EQ(find(*before, one.id).slack_days, find(*after, one.id).slack_days);
    }
  }
}

}  // namespace
}  // namespace lathbook::timeline
