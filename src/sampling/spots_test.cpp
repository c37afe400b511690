#include "sampling/spots.h"

#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include <cmath>
#include <limits>
#include <random>

#include "sampling/take.h"
#include "sampling/turnaround.h"

namespace lathbook::sampling {
namespace {

using book::Point;

double away(const Point& a, const Point& b) { return std::hypot(a.x_m - b.x_m, a.y_m - b.y_m); }

std::string plainly(const Point& at) { return "at " + std::to_string(at.x_m) + " and " + std::to_string(at.y_m); }

/// The greatest distance from any place of a rectangle to the nearest of some points.
double left_out(const std::vector<Point>& points, double width, double height) {
  double worst = 0;
  for (int i = 0; i <= 60; ++i) {
    for (int j = 0; j <= 60; ++j) {
      double nearest = std::numeric_limits<double>::infinity();
      for (const auto& p : points) nearest = std::min(nearest, away(p, {width * i / 60, height * j / 60}));
      worst = std::max(worst, nearest);
    }
  }
  return worst;
}

TEST(PropertySpots, NoRandomChoiceLeavesLessThanHalfTheDistance) {
  std::mt19937_64 engine(5);
  const auto unit = [&] { return std::uniform_real_distribution<>(0, 1)(engine); };
  for (int trial = 0; trial < 40; ++trial) {
    const double width = 1 + 6 * unit();
    const double height = 1 + 3 * unit();
    const int count = 2 + trial % 6;
    std::vector<Point> ours;
    for (const auto& spot : spots(book::SpanShape{0, width, 0, height}, {}, count, plainly)) ours.push_back(*spot.at);
    ASSERT_EQ(ours.size(), static_cast<std::size_t>(count));
    const double mine = left_out(ours, width, height);
    for (int other = 0; other < 20; ++other) {
      std::vector<Point> random;
      for (int i = 0; i < count; ++i) random.push_back({width * unit(), height * unit()});
      ASSERT_LE(mine, 2.05 * left_out(random, width, height)) << trial;  // 2, and the grid
    }
    for (std::size_t a = 0; a < ours.size(); ++a) {
      for (std::size_t b = 0; b < a; ++b) ASSERT_GT(away(ours[a], ours[b]), 0.2) << "no spot twice";
    }
  }
}

TEST(Spots, LieInsideABentOutlineAndTheFirstIsAtItsEdge) {
  const std::vector<Point> bent{{0, 0}, {4, 0}, {4, 1}, {1, 1}, {1, 3}, {0, 3}};
  const auto list = spots(book::PolygonShape{bent}, {}, 4, plainly);
  ASSERT_EQ(list.size(), 4U);
  for (const auto& spot : list) {
    EXPECT_FALSE(spot.at->x_m > 1.001 && spot.at->y_m > 1.001) << "in the part cut out";
    EXPECT_THAT(spot.words, ::testing::StartsWith(plainly(*spot.at)));
    EXPECT_THAT(spot.words, ::testing::HasSubstr("through all layers"));
  }
  EXPECT_THAT(list[0].words, ::testing::HasSubstr("at its edge"));
  EXPECT_THAT(list[1].words, ::testing::HasSubstr("at a join or a repair"));
}

TEST(Spots, ARunIsSampledAtBothEndsAndAlong) {
  const auto list = spots(book::LineShape{{{0, 0}, {6, 0}}, 0.1}, {}, 3, plainly);
  EXPECT_EQ(*list[0].at, (Point{0, 0}));
  EXPECT_EQ(*list[1].at, (Point{6, 0}));
  EXPECT_EQ(*list[2].at, (Point{3, 0}));
}

TEST(Spots, WithoutAShapeThereAreStillWords) {
  for (const auto& spot : spots(book::PointShape{{1, 1}}, {}, 2, plainly)) EXPECT_FALSE(spot.at);
  const auto whole = spots(book::WholeFace{}, {{0, 0}, {2, 0}, {2, 2}, {0, 2}}, 1, plainly);
  ASSERT_TRUE(whole[0].at);
  const auto made = label("M7", "Ceiling coating", "Hall", 1, 3, whole[0], "May contain asbestos.");
  EXPECT_EQ(made.id, "M7-1");
  EXPECT_EQ(made.lines[0], "M7-1   1 of 3");
  EXPECT_EQ(made.lines[1], "Ceiling coating, Hall");
  EXPECT_EQ(made.lines.back(), "May contain asbestos.");
}

TEST(Take, NeverLaggingNeverDamagedNeverBoardOverhead) {
  catalogue::FamilyEvidence family;
  for (const auto rule : {catalogue::TakeYourself::kNo, catalogue::TakeYourself::kIfSound,
                          catalogue::TakeYourself::kIfSoundAndNotOverhead}) {
    family.take_yourself = rule;
    for (const bool overhead : {false, true}) {
      for (const auto damage : {book::Damage::kNone, book::Damage::kLow, book::Damage::kMedium, book::Damage::kHigh}) {
        const bool may = rule != catalogue::TakeYourself::kNo && damage < book::Damage::kMedium &&
                         !(overhead && rule == catalogue::TakeYourself::kIfSoundAndNotOverhead);
        EXPECT_EQ(may_take_oneself(family, damage, overhead), may);
      }
    }
  }
}

TEST(Turnaround, MedianAndRangeOfWhatWasRecorded) {
  std::vector<book::Sample> samples;
  std::vector<book::LabResult> results;
  const auto add = [&](const char* sent, const char* reported, const char* laboratory) {
    const auto id = "S" + std::to_string(samples.size());
    book::Sample sample;
    sample.id = {id};
    sample.sent_on = book::Date::parse(sent);
    sample.laboratory = {laboratory};
    samples.push_back(sample);
    book::LabResult result;
    result.sample = {id};
    result.reported_on = book::Date::parse(reported);
    results.push_back(result);
  };
  EXPECT_FALSE(turnaround(samples, results));
  add("2026-02-25", "2026-03-04", "P1");
  add("2026-05-01", "2026-05-04", "P1");
  add("2026-06-01", "2026-06-13", "P2");
  add("2026-06-01", "", "P1");
  add("2026-06-09", "2026-06-01", "P1");
  const auto all = turnaround(samples, results);
  ASSERT_TRUE(all);
  EXPECT_EQ(all->results, 3);
  EXPECT_EQ(all->median_days, 7);
  EXPECT_EQ(all->least_days, 3);
  EXPECT_EQ(all->most_days, 12);
  EXPECT_EQ(turnaround(samples, results, {"P1"})->median_days, 5);
  EXPECT_FALSE(turnaround(samples, results, {"P9"}));
}

}  // namespace
}  // namespace lathbook::sampling
