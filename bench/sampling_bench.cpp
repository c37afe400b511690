// Which tests are worth paying for, beside a peer in the same run: one sum over all subsets of 20, which any exact
// method that uses no structure has to make.
#include <benchmark/benchmark.h>

#include <random>
#include <string>
#include <vector>

#include "sampling/test_choice.h"

namespace {

using namespace lathbook;

sampling::ChoiceQuestion house(std::size_t materials, std::size_t jobs, std::size_t groups, bool budget) {
  std::mt19937_64 engine(materials * 1000 + jobs);
  const auto unit = [&] { return std::uniform_real_distribution<>(0, 1)(engine); };
  const auto below = [&](std::size_t n) { return std::uniform_int_distribution<std::size_t>(0, n - 1)(engine); };
  sampling::ChoiceQuestion q;
  for (std::size_t g = 0; g < groups; ++g) q.groups.push_back({"g" + std::to_string(g), "", {}});
  for (std::size_t m = 0; m < materials; ++m) {
    sampling::Candidate one;
    one.name = {"m" + std::to_string(m), "", {}};
    if (groups > 0 && unit() < 0.7) {
      one.name.group = "g" + std::to_string(below(groups));
      one.name.alike = static_cast<book::Alike>(1 + below(3));
    }
    one.probability = 0.05 + 0.6 * unit();
    q.materials.push_back(one);
  }
  for (std::size_t j = 0; j < jobs; ++j) {
    sampling::PlannedJob job{"j" + std::to_string(j), {}, 50 + 300 * unit(), 400 + 900 * unit(), {}};
    const std::size_t width = 1 + below(5);
    for (std::size_t i = 0; i < width; ++i) job.touches.push_back("m" + std::to_string(below(materials)));
    q.jobs.push_back(job);
  }
  q.test.fixed = 20;
  q.test.each = 35;
  if (budget) q.test.budget = 20 + 35 * static_cast<double>(materials) / 7;
  return q;
}

/// The peer: for each of 2^20 subsets the value of its best smaller neighbour, one addition each.
void all_subsets_of_20(benchmark::State& state) {
  std::vector<double> value(std::size_t{1} << 20, 0.5);
  for (auto _ : state) {
    for (std::size_t bit = 1; bit < value.size(); bit <<= 1) {
      for (std::size_t mask = 0; mask < value.size(); ++mask) {
        if ((mask & bit) != 0) value[mask] += value[mask ^ bit];
      }
    }
    benchmark::DoNotOptimize(value.data());
    std::fill(value.begin(), value.end(), 0.5);
  }
}
BENCHMARK(all_subsets_of_20)->Unit(benchmark::kMillisecond);

void choose(benchmark::State& state) {
  const auto q = house(static_cast<std::size_t>(state.range(0)), static_cast<std::size_t>(state.range(1)),
                       static_cast<std::size_t>(state.range(0)) / 10, state.range(2) != 0);
  double gap = 0;
  double policy_gap = 0;
  for (auto _ : state) {
    const auto chosen = sampling::choose_tests(q);
    gap = chosen->gap;
    policy_gap = (chosen->policy.expected_cost - chosen->policy.at_least) / chosen->policy.expected_cost;
    benchmark::DoNotOptimize(gap);
  }
  state.counters["gap_percent"] = 100 * gap;
  state.counters["policy_gap_percent"] = 100 * policy_gap;
}
BENCHMARK(choose)
    ->ArgNames({"materials", "jobs", "budget"})
    ->Args({20, 40, 0})
    ->Args({20, 40, 1})
    ->Args({200, 100, 0})
    ->Args({200, 100, 1})
    ->Args({200, 300, 1})
    ->Unit(benchmark::kMillisecond);

}  // namespace
