#include "service/test_plan.h"

#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include <nlohmann/json.hpp>
#include <set>

#include "assets/assets.h"
#include "book/json.h"
#include "service/answers.h"

namespace lathbook::service {
namespace {

using ::testing::HasSubstr;

book::Book demo() { return book::book_from_json(Json::parse(assets::get("data/demo.json"))).value(); }

struct Planned {
  book::Book book;
  check::House house;
  reason::Result<TestPlan> plan;
  explicit Planned(book::Book from)
      : book(std::move(from)), house(check::House::build(book, *knowledge_for(book)).value()), plan(test_plan(house)) {}
};

TEST(TestPlanService, SavesWhatItSaysAndNeverReleasesWithoutAResult) {
  const Planned made(demo());
  ASSERT_TRUE(made.plan.ok());
  const auto& plan = *made.plan;
  EXPECT_LT(plan.choice.cost_best, plan.choice.cost_now);
  ASSERT_FALSE(plan.tests.empty());
  for (const auto& test : plan.tests) {
    EXPECT_GT(test.saves, 0);
    EXPECT_EQ(test.spots.size(), static_cast<std::size_t>(test.samples));
    EXPECT_EQ(test.labels.size(), test.spots.size());
    EXPECT_FALSE(made.house.known(test.material).released());
    for (const auto& one : test.if_found.jobs) EXPECT_GE(one.after, one.before) << "a find never makes it milder";
    for (const auto& one : test.if_clear.jobs) EXPECT_LE(one.after, one.before) << "nor a clear one stricter";
  }
  const auto text = test_plan_json(made.house, plan);
  EXPECT_EQ(text["tests"].size(), plan.tests.size());
  EXPECT_EQ(text["turnaround"]["median_days"], 7);
}

TEST(TestPlanService, LaggingIsNeverTakenByTheHouseholder) {
  auto book = demo();
  book.about.test_each = 1;
  book.about.test_fixed = 0;
  book.about.waiting_per_week.reset();
  const Planned made(std::move(book));
  ASSERT_TRUE(made.plan.ok());
  int lagging = 0;
  for (const auto& test : made.plan->tests) {
    if (made.book.materials[test.material].family != "pipe-lagging") continue;
    ++lagging;
    EXPECT_FALSE(test.yourself);
  }
  EXPECT_GT(lagging, 0) << "at a penny a sample the pipe is worth testing";
}

TEST(TestPlanService, AJobWhoseCostsAreNotWrittenDownIsNamed) {
  auto book = demo();
  for (auto& job : book.jobs) job.cost_plain.reset();
  const Planned made(std::move(book));
  ASSERT_TRUE(made.plan.ok());
  EXPECT_TRUE(made.plan->tests.empty());
  ASSERT_FALSE(made.plan->left_out.empty());
  // Nothing is weighed, yet what these jobs meet is not out of their way.
  std::set<std::string> met;
  for (const auto& job : made.plan->left_out) met.insert(job.touches.begin(), job.touches.end());
  ASSERT_FALSE(met.empty());
  int cleared = 0;
  for (const auto& one : made.plan->choice.not_worth) {
    if (one.why.find("does not count as asbestos") != std::string::npos) {
      EXPECT_TRUE(made.house.known(*made.house.find_material({one.id})).released()) << one.id;
      EXPECT_FALSE(one.idle) << one.id << ": a job meets it";
      ++cleared;
      continue;
    }
    EXPECT_EQ(one.idle, !met.contains(one.id)) << one.id << ": " << one.why;
    if (!one.idle) {
      EXPECT_THAT(one.why, HasSubstr("could not be weighed")) << one.id;
    }
  }
  EXPECT_GT(cleared, 0) << "the kitchen's tiles are cleared, and a job lifts them";
}

TEST(FaultTestPlanService, AsksForThePriceOfASample) {
  auto book = demo();
  book.about.test_each.reset();
  const Planned made(std::move(book));
  ASSERT_FALSE(made.plan.ok());
  EXPECT_THAT(made.plan.faults().front().text(), HasSubstr("test_each"));
}

}  // namespace
}  // namespace lathbook::service
