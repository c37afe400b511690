#include "timeline/bundle.h"

#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include <limits>
#include <random>
#include <set>

#include "testing/agreement.h"

namespace lathbook::timeline {
namespace {

using ::testing::ElementsAre;

Removal removal(std::string id, double ready, double days, double waiting, std::string enclosure = "") {
  return {.id = std::move(id),
          .firm = "R",
          .enclosure = std::move(enclosure),
          .ready_day = ready,
          .days = days,
          .waiting_per_day = waiting};
}

TEST(Bundle, OneVisitWhenCallingOutIsDear) {
  const auto found = bundle({removal("M1", 0, 2, 1), removal("M2", 3, 1, 1), removal("M3", 5, 1, 1)}, {{"R", 1000, 0}});
  ASSERT_TRUE(found.ok());
  ASSERT_EQ(found->visits.size(), 1U);
  EXPECT_EQ(found->visits[0].begin_day, 5);
  EXPECT_EQ(found->visits[0].end_day, 9);
  // M1 waits from day 2 to 9, M2 from 4 to 9, M3 from 6 to 9.
  EXPECT_EQ(found->cost, 1000 + 7 + 5 + 3);
  EXPECT_EQ(found->cost_each_alone, 3000);
  EXPECT_TRUE(found->exact);
}

TEST(Bundle, ApartWhenWaitingIsDear) {
  const auto found = bundle({removal("M1", 0, 1, 500), removal("M2", 10, 1, 500)}, {{"R", 1000, 0}});
  EXPECT_EQ(found->visits.size(), 2U);
  EXPECT_EQ(found->cost, 2000);
}

TEST(Bundle, SharedEnclosuresCountOnce) {
  const auto found =
      bundle({removal("M1", 0, 1, 0, "loft"), removal("M2", 0, 1, 0, "loft"), removal("M3", 0, 1, 0, "hall")},
             {{"R", 100, 40}});
  EXPECT_EQ(found->cost, 100 + 80);
}

TEST(Bundle, FirmsDoNotShareVisits) {
  auto other = removal("M2", 0, 1, 0);
  other.firm = "S";
  const auto found = bundle({removal("M1", 0, 1, 0), other}, {{"R", 10, 0}, {"S", 20, 0}});
  ASSERT_EQ(found->visits.size(), 2U);
  EXPECT_EQ(found->cost, 30);
}

TEST(Bundle, NothingToRemove) {
  const auto found = bundle({}, {});
  ASSERT_TRUE(found.ok());
  EXPECT_TRUE(found->visits.empty());
  EXPECT_EQ(found->cost, 0);
}

TEST(FaultBundle, EverythingWrongAtOnce) {
  auto odd = removal("M1", -1, 1, -5);
  odd.firm = "nobody";
  const auto found = bundle({odd, removal("M1", 0, 1, 0)}, {{"R", -1, 0}});
  ASSERT_FALSE(found.ok());
  EXPECT_EQ(found.faults().size(), 5U);
}

/// The cheapest of all partitions, each visited by choosing a group for one removal after another.
double brute_force(const std::vector<Removal>& all, const FirmCost& firm) {
  double best = std::numeric_limits<double>::infinity();
  std::vector<std::vector<Removal>> groups;
  const auto cost = [&] {
    double sum = 0;
    for (const auto& group : groups) {
      double ready = 0, days = 0;
      std::set<std::string> enclosures;
      for (const auto& one : group) {
        ready = std::max(ready, one.ready_day);
        days += one.days;
        if (!one.enclosure.empty()) enclosures.insert(one.enclosure);
      }
      sum += firm.mobilisation + firm.enclosure * static_cast<double>(enclosures.size());
      for (const auto& one : group) sum += one.waiting_per_day * (ready + days - one.ready_day - one.days);
    }
    return sum;
  };
  const auto place = [&](auto&& self, std::size_t i) -> void {
    if (i == all.size()) {
      best = std::min(best, cost());
      return;
    }
    for (std::size_t g = 0; g < groups.size(); ++g) {
      groups[g].push_back(all[i]);
      self(self, i + 1);
      groups[g].pop_back();
    }
    groups.push_back({all[i]});
    self(self, i + 1);
    groups.pop_back();
  };
  place(place, 0);
  return best;
}

std::vector<Removal> random_removals(std::mt19937& random, int n) {
  std::uniform_int_distribution<int> figure(0, 20);
  std::vector<Removal> all;
  for (int i = 0; i < n; ++i) {
    const char* rooms[] = {"", "loft", "hall", "bath"};
    all.push_back(removal("M" + std::to_string(i), figure(random), figure(random) / 4, figure(random),
                          rooms[figure(random) % 4]));
  }
  return all;
}

TEST(PropertyBundle, NoPartitionIsCheaper) {
  testing::Agreement agreement("timeline_bundles");
  std::mt19937 random(2);
  for (int round = 0; round < 60; ++round) {
    const auto all = random_removals(random, 1 + round % 8);
    const FirmCost firm{"R", static_cast<double>(round * 5), 25};
    const auto found = bundle(all, {firm});
    const double least = brute_force(all, firm);
    EXPECT_NEAR(found->cost, least, 1e-9);
    agreement.apart(found->cost - least, 1e-9);
    double sum = 0;
    std::multiset<std::string> ids;
    for (const auto& visit : found->visits) {
      sum += visit.cost;
      ids.insert(visit.removals.begin(), visit.removals.end());
    }
    EXPECT_NEAR(sum, found->cost, 1e-9);
    EXPECT_EQ(ids.size(), all.size()) << "each removal in one visit";
    EXPECT_LE(found->cost, found->cost_each_alone + 1e-9);
  }
}

TEST(PropertyBundle, DearerCallOutsNeverMeanMoreVisits) {
  std::mt19937 random(8);
  const auto all = random_removals(random, 9);
  std::size_t before = 100;
  for (double mobilisation : {0.0, 20.0, 60.0, 200.0, 2000.0}) {
    const auto found = bundle(all, {{"R", mobilisation, 10}});
    EXPECT_LE(found->visits.size(), before);
    before = found->visits.size();
  }
}

TEST(Bundle, ManyAreJoinedForTheSmallestSaving) {
  // Beyond what is weighed whole: half a pound a visit, nobody waits, so one visit is best and is its own bound.
  std::vector<Removal> many;
  for (int i = 0; i < 17; ++i) many.push_back(removal("M" + std::to_string(i), 0, 1, 0));
  const auto found = bundle(many, {{"R", 0.5, 0}});
  ASSERT_TRUE(found.ok());
  EXPECT_FALSE(found->exact);
  EXPECT_EQ(found->visits.size(), 1U);
  EXPECT_DOUBLE_EQ(found->cost, 0.5);
  EXPECT_DOUBLE_EQ(found->lower_bound, 0.5);
}

TEST(PropertyBundle, ManyAreJoinedGreedilyWithinTheirBound) {
  std::mt19937 random(21);
  const auto found = bundle(random_removals(random, 30), {{"R", 150, 20}});
  EXPECT_FALSE(found->exact);
  EXPECT_LE(found->lower_bound, found->cost);
  EXPECT_LE(found->cost, found->cost_each_alone);
}

}  // namespace
}  // namespace lathbook::timeline
