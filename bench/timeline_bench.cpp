// The critical path of 1,000 activities, its ranges, and the best bundling; beside a bare longest path over the same
// network with nothing but numbers in arrays, which is the least any of it can cost.
#include <benchmark/benchmark.h>

#include <algorithm>
#include <random>

#include "timeline/bundle.h"
#include "timeline/plan.h"

namespace {

using namespace lathbook::timeline;

Request network(int n) {
  std::mt19937 random(1);
  Request out{.start = *Date::parse("2025-01-06"), .calendar = Calendar::kWorking};
  for (int i = 0; i < n; ++i) {
    Activity one;
    one.id = "A" + std::to_string(i);
    const double days = static_cast<double>(random() % 10);
    one.days = {days * 0.5, days, days * 2};
    for (int k = 0; k < 3 && i > 0; ++k) one.after.push_back("A" + std::to_string(random() % static_cast<unsigned>(i)));
    std::ranges::sort(one.after);
    one.after.erase(std::ranges::unique(one.after).begin(), one.after.end());
    if (random() % 5 == 0) one.lead_days = 3;
    out.activities.push_back(std::move(one));
  }
  return out;
}

void plans(benchmark::State& state) {
  const auto request = network(static_cast<int>(state.range(0)));
  for (auto _ : state) benchmark::DoNotOptimize(plan(request));
}

void bare_longest_path(benchmark::State& state) {
  const auto request = network(static_cast<int>(state.range(0)));
  std::vector<std::vector<std::size_t>> before;
  for (const auto& one : request.activities) {
    auto& list = before.emplace_back();
    for (const auto& id : one.after) list.push_back(static_cast<std::size_t>(std::stoi(id.substr(1))));
  }
  for (auto _ : state) {
    std::vector<double> finish(before.size());
    for (std::size_t i = 0; i < before.size(); ++i) {
      double ready = 0;
      for (const auto j : before[i]) ready = std::max(ready, finish[j]);
      finish[i] = ready + request.activities[i].lead_days + request.activities[i].days.likely;
    }
    benchmark::DoNotOptimize(finish);
  }
}

void range_of_dates(benchmark::State& state) {
  const auto request = network(static_cast<int>(state.range(0)));
  for (auto _ : state) benchmark::DoNotOptimize(ranges(request, 2000, 1));
}

void bundles(benchmark::State& state) {
  std::mt19937 random(2);
  std::vector<Removal> removals;
  for (int i = 0; i < state.range(0); ++i) {
    const char* rooms[] = {"", "loft", "hall"};
    removals.push_back({"M" + std::to_string(i), "R", rooms[random() % 3], static_cast<double>(random() % 90),
                        static_cast<double>(1 + random() % 5), static_cast<double>(random() % 60)});
  }
  const std::vector<FirmCost> firms = {{"R", 1200, 400}};
  for (auto _ : state) benchmark::DoNotOptimize(bundle(removals, firms));
}

BENCHMARK(bare_longest_path)->Arg(1000)->Unit(benchmark::kMicrosecond);
BENCHMARK(plans)->Arg(40)->Arg(1000)->Unit(benchmark::kMicrosecond);
BENCHMARK(range_of_dates)->Arg(40)->Unit(benchmark::kMillisecond);
BENCHMARK(bundles)->Arg(12)->Arg(16)->Unit(benchmark::kMillisecond);

}  // namespace
