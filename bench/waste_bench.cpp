// Fewest trips: 30 different pieces proved, sheets and thick things; beside a plain first-fit of the same masses, which
// proves nothing.
#include <benchmark/benchmark.h>

#include <algorithm>
#include <chrono>
#include <random>

#include "waste/load.h"

namespace {

using namespace lathbook::waste;

std::vector<LoadPiece> pieces(int n, double thinnest_m, double thickest_m, unsigned seed) {
  std::mt19937 random(seed);
  std::uniform_real_distribution<double> length(0.6, 2.4), width(0.4, 1.2), thickness(thinnest_m, thickest_m),
      mass(5, 60);
  std::vector<LoadPiece> out;
  for (int i = 0; i < n; ++i) {
    out.push_back({"W" + std::to_string(i), length(random), width(random), thickness(random), mass(random), 1});
  }
  return out;
}

const LoadVehicle kVan{.inside = {2.5, 1.3, 1.2}, .payload_kg = 250, .door_width_m = {}, .door_height_m = {}};

void plans(benchmark::State& state, double thinnest_m, double thickest_m) {
  unsigned seed = 0;
  int proved = 0, asked = 0;
  double dearest_ms = 0;
  for (auto _ : state) {
    const auto begun = std::chrono::steady_clock::now();
    const auto plan = load_plan(pieces(static_cast<int>(state.range(0)), thinnest_m, thickest_m, ++seed), kVan, {});
    proved += plan->proved_fewest;
    ++asked;
    dearest_ms = std::max(dearest_ms,
                          std::chrono::duration<double, std::milli>(std::chrono::steady_clock::now() - begun).count());
    benchmark::DoNotOptimize(plan);
  }
  state.counters["proved"] = static_cast<double>(proved) / asked;
  state.counters["dearest_ms"] = dearest_ms;
}

void sheets(benchmark::State& state) { plans(state, 0.004, 0.012); }
void thick(benchmark::State& state) { plans(state, 0.05, 0.4); }
void very_thick(benchmark::State& state) { plans(state, 0.05, 0.6); }

void first_fit(benchmark::State& state) {
  unsigned seed = 0;
  for (auto _ : state) {
    auto all = pieces(static_cast<int>(state.range(0)), 0.004, 0.012, ++seed);
    std::ranges::sort(all, std::greater{}, &LoadPiece::mass_kg);
    std::vector<double> trips;
    for (const auto& piece : all) {
      const auto room =
          std::ranges::find_if(trips, [&](double mass) { return mass + piece.mass_kg <= kVan.payload_kg; });
      if (room == trips.end()) {
        trips.push_back(piece.mass_kg);
      } else {
        *room += piece.mass_kg;
      }
    }
    benchmark::DoNotOptimize(trips);
  }
}

BENCHMARK(first_fit)->Arg(30);
BENCHMARK(sheets)->Arg(30)->Unit(benchmark::kMillisecond)->Iterations(200);
BENCHMARK(thick)->Arg(12)->Arg(20)->Arg(30)->Unit(benchmark::kMillisecond)->Iterations(20);
BENCHMARK(very_thick)->Arg(30)->Unit(benchmark::kMillisecond)->Iterations(40);

}  // namespace
