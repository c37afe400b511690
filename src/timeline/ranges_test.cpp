#include <gtest/gtest.h>

#include <cmath>

#include "testing/agreement.h"
#include "timeline/plan.h"

namespace lathbook::timeline {
namespace {

Date day(const char* text) { return *Date::parse(text); }

Activity activity(std::string id, Days days, std::vector<std::string> after = {}) {
  Activity one;
  one.id = std::move(id);
  one.days = days;
  one.after = std::move(after);
  return one;
}

Request request(std::vector<Activity> activities) {
  Request out{
      .start = day("2025-01-06"), .calendar = Calendar::kCalendar, .holidays = {}, .activities = {}, .branches = {}};
  out.activities = std::move(activities);
  return out;
}

TEST(Ranges, CertainWorkHasNoRange) {
  const auto found = ranges(request({activity("a", {3, 3, 3}), activity("b", {2, 2, 2}, {"a"})}));
  ASSERT_TRUE(found.ok());
  EXPECT_EQ(found->finish.low, day("2025-01-11"));
  EXPECT_EQ(found->finish.p10, found->finish.high);
  EXPECT_EQ(found->activities[1].critical_share, 1);
}

TEST(Ranges, BoundsAreTheLeastAndTheMost) {
  const auto found = ranges(request({activity("a", {1, 3, 9}), activity("b", {2, 4, 10}, {"a"})}));
  EXPECT_EQ(found->finish.low, day("2025-01-09"));
  EXPECT_EQ(found->finish.high, day("2025-01-25"));
  EXPECT_LE(found->finish.low, found->finish.p10);
  EXPECT_LE(found->finish.p10, found->finish.median);
  EXPECT_LE(found->finish.median, found->finish.p90);
  EXPECT_LE(found->finish.p90, found->finish.high);
}

TEST(Ranges, ABranchSplitsTheDates) {
  Request asked = request({activity("test", {5, 5, 5}), activity("remove", {10, 10, 10}, {"test"}),
                           activity("shelf", {1, 1, 1}, {"remove"})});
  asked.activities[1].only_if = Condition{"found", true};
  asked.activities[1].lead_days = 14;
  asked.branches = {{"found", 0.3}};
  const auto found = ranges(asked);
  EXPECT_EQ(found->activities[2].start.low, day("2025-01-11")) << "nothing found: at once";
  EXPECT_EQ(found->activities[2].start.median, day("2025-01-11"));
  EXPECT_EQ(found->activities[2].start.p90, day("2025-02-04")) << "found: 14 days' notice and 10 of work";
  EXPECT_TRUE(found->bounds_exact);
  asked.branches = {{"found", 0}};
  EXPECT_EQ(ranges(asked)->activities[2].start.high, day("2025-01-11")) << "what cannot happen bounds nothing";
}

TEST(Ranges, ManyBranchesGiveOuterBounds) {
  Request asked = request({});
  for (int i = 0; i < 14; ++i) {
    asked.branches.push_back({"b" + std::to_string(i), 0.5});
    asked.activities.push_back(
        activity("x" + std::to_string(i), {1, 1, 1},
                 i > 0 ? std::vector<std::string>{"x" + std::to_string(i - 1)} : std::vector<std::string>{}));
    asked.activities.back().only_if = Condition{"b" + std::to_string(i), true};
  }
  const auto found = ranges(asked);
  EXPECT_FALSE(found->bounds_exact);
  EXPECT_EQ(found->finish.low, asked.start);
  EXPECT_EQ(found->finish.high, asked.start.plus_days(14));
  EXPECT_LT(found->finish.p90, found->finish.high);
}

TEST(PropertyRanges, SameSeedSameAnswer) {
  const auto asked = request({activity("a", {1, 3, 9}), activity("b", {2, 4, 30}, {"a"})});
  const auto one = ranges(asked, 500, 9), two = ranges(asked, 500, 9), other = ranges(asked, 500, 10);
  EXPECT_EQ(one->finish.median, two->finish.median);
  EXPECT_EQ(one->activities[1].start.p90, two->activities[1].start.p90);
  EXPECT_EQ(one->finish.high, other->finish.high) << "bounds do not depend on the draws";
}

TEST(StatisticalRanges, MedianOfOneTriangularDuration) {
  // Median of a triangle (0, 20, 100): 100 − √(100 · 80 / 2) = 36.75; in days, whole days up. 20,000 draws put the
  // standard error of the median at 0.5 / (f(m) √n) = 0.22 days, so 4 of them are within a day.
  const auto found = ranges(request({activity("a", {0, 20, 100})}), 20000, 1);
  testing::Agreement agreement("timeline_triangle");
  const int median = day("2025-01-06").days_until(found->finish.median);
  agreement.apart(median - 37, 1);
  agreement.apart(day("2025-01-06").days_until(found->finish.p90) - 72, 1);
  EXPECT_NEAR(median, 37, 1);
  // P90: 100 − √(0.1 · 100 · 80) = 71.7.
  EXPECT_NEAR(day("2025-01-06").days_until(found->finish.p90), 72, 1);
}

TEST(StatisticalRanges, OneInTenComesByTheTenth) {
  // A symmetric triangle over 0 to 100 days: one in ten is below 22.36, nine in ten below 77.64.
  const auto found = ranges(request({activity("a", {0, 50, 100})}), 20'000, 3);
  EXPECT_NEAR(day("2025-01-06").days_until(found->finish.p10), 23, 1);
  EXPECT_NEAR(day("2025-01-06").days_until(found->finish.p90), 78, 1);
}

TEST(StatisticalRanges, ShareOfABranchIsItsChance) {
  Request asked = request({activity("a", {1, 1, 1})});
  asked.activities[0].only_if = Condition{"b", true};
  asked.branches = {{"b", 0.3}};
  const auto found = ranges(asked, 40000, 4);
  const double sigma = std::sqrt(0.3 * 0.7 / 40000);
  EXPECT_NEAR(found->activities[0].happens_share, 0.3, 4 * sigma);  // false alarm 6e-5, and the seed is fixed
}

}  // namespace
}  // namespace lathbook::timeline
