// Reading the catalogue, beside reading the same bytes as bare JSON: what the checks and the structs cost on top.
#include <benchmark/benchmark.h>

#include <nlohmann/json.hpp>

#include "assets/assets.h"
#include "catalogue/catalogue.h"

namespace {

using lathbook::assets::get;

void read_catalogue(benchmark::State& state) {
  for (auto _ : state) {
    auto parsed = lathbook::catalogue::parse_catalogue({get("data/families.json"), get("data/tasks.json"),
                                                        get("data/controls.json"), get("data/respirators.json"),
                                                        get("data/sources.json")});
    benchmark::DoNotOptimize(parsed);
  }
}
BENCHMARK(read_catalogue)->Unit(benchmark::kMicrosecond);

void read_bare_json(benchmark::State& state) {
  for (auto _ : state) {
    for (const char* file : {"families", "tasks", "controls", "respirators", "sources"}) {
      auto parsed = nlohmann::json::parse(get("data/" + std::string(file) + ".json"));
      benchmark::DoNotOptimize(parsed);
    }
  }
}
BENCHMARK(read_bare_json)->Unit(benchmark::kMicrosecond);

}  // namespace
