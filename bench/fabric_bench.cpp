// What the fabric costs: touches of a job and of a whole book, a plan and its validation, a route; and how each grows.
#include <benchmark/benchmark.h>

#include <algorithm>
#include <chrono>
#include <random>

#include "fabric/house_fixture.h"
#include "fabric/plan.h"
#include "fabric/route.h"
#include "fabric/touch.h"
#include "fabric/validate.h"

namespace {

using namespace lathbook;
using namespace lathbook::fabric;

/// 20 rooms a storey of 5 x 4; `rooms` a multiple of 20.
fixture::House house_of(int rooms, int materials) { return fixture::big_house(5, 4, rooms / 20, materials, 42); }

Plan plan_of(const fixture::House& h) { return *Plan::build(h.storeys, h.rooms); }

std::vector<book::Cut> job(const fixture::House& h, std::uint64_t seed) {
  std::mt19937_64 random(seed);
  std::vector<book::Cut> cuts;
  for (int i = 0; i < 5; ++i) {
    const auto& room = h.rooms[random() % h.rooms.size()];
    const book::Face face = i == 0   ? fixture::kFloor
                            : i == 1 ? fixture::kCeiling
                                     : fixture::wall(1 + static_cast<int>(random() % 4));
    const double u = std::uniform_real_distribution<double>(0.2, 2.8)(random);
    const double v = std::uniform_real_distribution<double>(0.2, 2.2)(random);
    const bool flat = i < 2;
    const Point at = flat ? Point{room.outline[0].x_m + u, room.outline[0].y_m + v} : Point{u, v};
    cuts.push_back(fixture::hole(room.id.text, face, at, book::Depth::kThrough));
  }
  return cuts;
}

void touches_of_a_job(benchmark::State& state) {
  const auto h = house_of(static_cast<int>(state.range(0)), static_cast<int>(state.range(1)));
  const auto plan = plan_of(h);
  const MaterialIndex index(plan, h.materials);
  const auto cuts = job(h, 1);
  for (auto _ : state) benchmark::DoNotOptimize(touches(plan, index, cuts));
}
BENCHMARK(touches_of_a_job)->Args({60, 500})->Args({60, 10000})->Args({200, 10000})->Unit(benchmark::kMicrosecond);

/// The peer: the same job with nothing prepared, plan and index built for it.
void touches_from_nothing(benchmark::State& state) {
  const auto h = house_of(static_cast<int>(state.range(0)), static_cast<int>(state.range(1)));
  const auto cuts = job(h, 1);
  for (auto _ : state) {
    const auto plan = plan_of(h);
    benchmark::DoNotOptimize(touches(plan, h.materials, cuts));
  }
}
BENCHMARK(touches_from_nothing)->Args({60, 500})->Unit(benchmark::kMicrosecond);

void touches_of_2000_jobs(benchmark::State& state) {
  const auto h = house_of(60, 10000);
  const auto plan = plan_of(h);
  const MaterialIndex index(plan, h.materials);
  std::vector<std::vector<book::Cut>> jobs;
  for (std::uint64_t i = 0; i < 2000; ++i) jobs.push_back(job(h, i));
  for (auto _ : state) {
    for (const auto& one : jobs) benchmark::DoNotOptimize(touches(plan, index, one));
  }
}
BENCHMARK(touches_of_2000_jobs)->Unit(benchmark::kMillisecond);

void plan_built(benchmark::State& state) {
  const auto h = house_of(static_cast<int>(state.range(0)), 0);
  for (auto _ : state) benchmark::DoNotOptimize(Plan::build(h.storeys, h.rooms));
}
BENCHMARK(plan_built)->Arg(60)->Arg(120)->Arg(200)->Unit(benchmark::kMillisecond);

void book_validated(benchmark::State& state) {
  const auto h = house_of(static_cast<int>(state.range(0)), 10000);
  book::Book book;
  book.storeys = h.storeys;
  book.rooms = h.rooms;
  book.materials = h.materials;
  for (auto _ : state) benchmark::DoNotOptimize(validate(book));
}
BENCHMARK(book_validated)->Arg(60)->Arg(200)->Unit(benchmark::kMillisecond);

/// Routes between 20 pairs of spots all over the house, one or three each; the counters give the dearest of them and
/// how many found a way. The first rows keep the materials of a room the same, for the growth over rooms.
void routes(benchmark::State& state) {
  const auto h = house_of(static_cast<int>(state.range(0)), static_cast<int>(state.range(1)));
  const auto plan = plan_of(h);
  const MaterialIndex index(plan, h.materials);
  std::vector<bool> blocks(h.materials.size(), true);
  std::mt19937_64 random(7);
  std::vector<RouteRequest> requests;
  for (int i = 0; i < 20; ++i) {
    RouteRequest request;
    for (Spot* spot : {&request.from, &request.to}) {
      // An end somebody would choose: not in the middle of a material.
      do {
        *spot = {h.rooms[random() % h.rooms.size()].id,
                 fixture::wall(1 + static_cast<int>(random() % 4)),
                 {std::uniform_real_distribution<double>(0.3, 2.7)(random),
                  std::uniform_real_distribution<double>(0.3, 2.1)(random)}};
      } while (
          !touches(plan, index, std::vector{fixture::hole(spot->room.text, spot->face, spot->at, book::Depth::kLayer)})
               .empty());
    }
    request.count = static_cast<int>(state.range(2));
    requests.push_back(request);
  }
  double dearest_ms = 0;
  double found = 0;
  std::size_t next = 0;
  for (auto _ : state) {
    const auto begun = std::chrono::steady_clock::now();
    const auto answer = find_routes(plan, index, blocks, requests[next++ % requests.size()]);
    dearest_ms = std::max(dearest_ms,
                          std::chrono::duration<double, std::milli>(std::chrono::steady_clock::now() - begun).count());
    found += answer->routes.empty() ? 0 : 1;
  }
  state.counters["dearest_ms"] = dearest_ms;
  state.counters["found"] = found / static_cast<double>(state.iterations());
}
BENCHMARK(routes)
    ->ArgsProduct({{20}, {167}, {1, 3}})
    ->ArgsProduct({{60}, {500}, {1, 3}})
    ->ArgsProduct({{120}, {1000}, {1, 3}})
    ->ArgsProduct({{200}, {1667}, {1, 3}})
    ->ArgsProduct({{60}, {250, 1000}, {1, 3}})
    ->Iterations(20)
    ->Unit(benchmark::kMillisecond);

}  // namespace
