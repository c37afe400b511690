// Judging one piece of work by the shipped pack, beside reading that pack: classify must stay small change.
#include <benchmark/benchmark.h>

#include "assets/assets.h"
#include "law/classify.h"

namespace {

using namespace lathbook;

void classify_one(benchmark::State& state) {
  const auto& catalogue = catalogue::shipped();
  const auto& pack = *law::find_pack("gb");
  const law::WorkQuestion question{*catalogue.find_family("insulating-board"),
                                   *catalogue.find_task("drill"),
                                   book::Damage::kNone,
                                   {},
                                   30,
                                   30,
                                   book::Who::kTrade,
                                   {},
                                   false};
  for (auto _ : state) {
    auto answer = law::classify(pack, question);
    benchmark::DoNotOptimize(answer);
  }
}
BENCHMARK(classify_one)->Unit(benchmark::kMicrosecond);

void read_pack(benchmark::State& state) {
  const auto& catalogue = catalogue::shipped();
  for (auto _ : state) {
    auto pack = law::parse_pack(assets::get("data/law/gb.json"), catalogue);
    benchmark::DoNotOptimize(pack);
  }
}
BENCHMARK(read_pack)->Unit(benchmark::kMicrosecond);

}  // namespace
