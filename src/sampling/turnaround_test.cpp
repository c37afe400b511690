#include "sampling/turnaround.h"

#include <gtest/gtest.h>

#include <algorithm>
#include <random>
#include <vector>

namespace lathbook::sampling {
namespace {

reason::Date day(int n) { return reason::Date::parse("2024-01-01")->plus_days(n); }
const UsualDays kFallback{5, 10, "judgement"};

TEST(PropertyTurnaround, WithEverythingBackItIsThePlainQuantile) {
  std::mt19937_64 engine(3);
  for (int run = 0; run < 200; ++run) {
    std::vector<SentSample> samples;
    std::vector<int> waits;
    const int n = 3 + static_cast<int>(engine() % 30);
    for (int i = 0; i < n; ++i) {
      waits.push_back(static_cast<int>(engine() % 25));
      samples.push_back({day(i), day(i + waits.back())});
    }
    std::sort(waits.begin(), waits.end());
    // The first day by which at least half (nine tenths) are back.
    const auto by = [&](int tenths) { return waits[static_cast<std::size_t>((n * tenths + 9) / 10 - 1)]; };
    const auto got = turnaround(samples, day(100), kFallback);
    ASSERT_EQ(got.usual_days, by(5));
    ASSERT_EQ(got.slow_days, by(9));
    ASSERT_EQ(got.reports, n);
  }
}

TEST(Turnaround, ProductLimitByHand) {
  // Back after 2, 4, 4, 9; still out after 3 and 12. S: 5/6, then 5/6*2/4 = 0.417, then 0.417*1/2 = 0.208.
  const std::vector<SentSample> samples = {{day(0), day(2)}, {day(0), day(4)}, {day(0), day(4)},
                                           {day(0), day(9)}, {day(9), {}},     {day(0), {}}};
  const auto got = turnaround(samples, day(12), kFallback);
  EXPECT_EQ(got.usual_days, 4);
  EXPECT_EQ(got.slow_days, 12) << "nobody knows yet: at least as long as the longest wait";
}

TEST(Turnaround, SamplesStillOutMakeItSlower) {
  std::vector<SentSample> samples = {{day(0), day(3)}, {day(0), day(4)}, {day(0), day(5)}};
  const auto before = turnaround(samples, day(30), kFallback);
  for (int i = 0; i < 4; ++i) samples.push_back({day(0), {}});
  EXPECT_GT(turnaround(samples, day(30), kFallback).usual_days, before.usual_days);
}

TEST(Turnaround, TooFewReportsSayNothing) {
  const std::vector<SentSample> samples = {{day(0), day(30)}, {day(0), day(31)}, {day(5), day(1)}};
  const auto got = turnaround(samples, day(40), kFallback);
  EXPECT_EQ(got.usual_days, 5);
  EXPECT_EQ(got.slow_days, 10);
  EXPECT_EQ(got.reports, 0);
}

}  // namespace
}  // namespace lathbook::sampling
