// How fast beliefs follow: exact inference on look-alike groups, beside its peer in the same run, the plain pass over
// the materials that draws no inference at all. The peer shows what reading the numbers costs; the ratio is the price
// of being exact.
#include <benchmark/benchmark.h>

#include <numeric>
#include <random>

#include "belief/forest.h"
#include "evidence/presence.h"

namespace {

using namespace lathbook;

/// One tree: materials under groups of about twenty, those under others, up to one root; a result on every tenth.
struct Tree {
  belief::Forest forest;
  std::vector<double> own;
  std::vector<double> seen;
};

Tree tree(std::size_t materials) {
  std::mt19937_64 engine(1);
  std::uniform_real_distribution<> unit(0.02, 0.98);
  const std::size_t groups = materials / 20 + 1;
  std::vector<belief::Link> group_links(groups);
  for (std::size_t g = 1; g < groups; ++g) group_links[g] = {(g - 1) / 10, static_cast<book::Alike>(1 + g % 3)};
  std::vector<belief::Link> links(materials);
  for (std::size_t m = 0; m < materials; ++m) links[m] = {m % groups, static_cast<book::Alike>(m % 4)};
  Tree made{*belief::Forest::make(std::move(links), std::move(group_links)), {}, {}};
  for (std::size_t m = 0; m < materials; ++m) made.own.push_back(unit(engine));
  made.seen.assign(made.forest.piece_count() * 2, 0.0);
  for (std::size_t m = 0; m < materials; m += 10) made.seen[made.forest.piece_of(m) * 2 + m / 10 % 2] -= 3;
  return made;
}

void infer(benchmark::State& state) {
  const auto made = tree(static_cast<std::size_t>(state.range(0)));
  for (auto _ : state) {
    const auto model = belief::Model::of_presence(made.forest, made.own);
    benchmark::DoNotOptimize(model.infer(made.seen));
  }
  state.SetComplexityN(state.range(0));
}
BENCHMARK(infer)->RangeMultiplier(10)->Range(100, 100000)->Complexity(benchmark::oN)->Unit(benchmark::kMillisecond);

void plain_pass(benchmark::State& state) {
  const auto made = tree(static_cast<std::size_t>(state.range(0)));
  for (auto _ : state) benchmark::DoNotOptimize(std::accumulate(made.own.begin(), made.own.end(), 0.0));
}
BENCHMARK(plain_pass)->Arg(100000)->Unit(benchmark::kMillisecond);

/// The whole answer with three priors, fibres, standings and every reason in words.
void presence(benchmark::State& state) {
  catalogue::FamilyEvidence family;
  family.id = "board";
  family.years = {{1950, 0.1, 0.3, 0.5}, {1980, 0.3, 0.6, 0.8}};
  family.fibres = {{1900, {0.2, 0.7, 0.1, 0, 0, 0}}};
  family.samples.source = family.source = "judgement";
  family.false_negative = 0.05;
  catalogue::EvidenceData data;
  data.specificity = 0.999;
  data.fibre_floor = 0.01;
  data.little_doubt = 0.9;
  data.families = {family};
  const auto count = static_cast<std::size_t>(state.range(0));
  evidence::Question question;
  question.ban = {1999, "judgement"};
  const std::size_t groups = count / 20 + 1;
  for (std::size_t g = 0; g < groups; ++g) {
    question.groups.push_back({"G" + std::to_string(g), g == 0 ? "" : "G" + std::to_string((g - 1) / 10), {}});
  }
  for (std::size_t m = 0; m < count; ++m) {
    evidence::Material one;
    one.id = "M" + std::to_string(m);
    one.family = "board";
    one.years = {1960, 1970};
    one.group = "G" + std::to_string(m % groups);
    question.materials.push_back(one);
    if (m % 10 == 0) question.results.push_back({one.id, m % 20 == 0, {}, 1, {}, {}});
  }
  for (auto _ : state) benchmark::DoNotOptimize(evidence::presence(data, question));
}
BENCHMARK(presence)->Arg(1000)->Arg(100000)->Unit(benchmark::kMillisecond);

}  // namespace
