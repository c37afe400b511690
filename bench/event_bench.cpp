// Draws of an uncertain event beside general solvers of differential equations on the same network, to the same
// tolerance.
//
// The event: eight rooms and a near field, five fibre sizes, six phases over seven days, 72 times asked for, levels and
// integrals. Quick = what a draw costs us (air/quick.h); Exact = the same by air/solution.h; Cvode = SUNDIALS' BDF with
// an analytic Jacobian, one size at a time, integrals as quadratures, rtol 1e-6; SciPy's LSODA in the same run,
// likewise.
#include <benchmark/benchmark.h>
#include <cvodes/cvodes.h>
#include <nvector/nvector_serial.h>
#include <sunlinsol/sunlinsol_dense.h>
#include <sunmatrix/sunmatrix_dense.h>
#include <sys/resource.h>

#include <cmath>
#include <cstdio>
#include <nlohmann/json.hpp>
#include <random>
#include <stdexcept>
#include <string>

#include "air/quick.h"
#include "air/solution.h"
#include "event/uncertain.h"

namespace {

using namespace lathbook;

constexpr double kFractions[] = {0.001, 0.004, 0.012, 0.03, 0.06, 0.11, 0.19, 0.3, 0.45, 0.62, 0.8, 1.0};
constexpr double kTolerance = 1e-6;

/// A hall with rooms off it, a near field in the first; `zones` in all.
air::Scene house(std::size_t zones) {
  air::Scene scene;
  const std::size_t rooms = zones - 1;
  const auto name = [&](std::size_t i) { return i == rooms ? std::string("near") : "r" + std::to_string(i); };
  const auto both = [&](const std::string& a, const std::string& b, double q) {
    scene.flows.push_back({a, b, q});
    scene.flows.push_back({b, a, q});
  };
  for (std::size_t i = 0; i < rooms; ++i) {
    scene.zones.push_back({name(i), 20.0 + 3.0 * static_cast<double>(i % 5), 9.0 + static_cast<double>(i % 4), 0, 0});
    both("outdoors", name(i), 12 + static_cast<double>(i % 3));
    if (i > 0) both(name(i), name((i - 1) / 3), i % 2 == 0 ? 200 : 12);
  }
  scene.zones.push_back({"near", 1.07, 1, 0, 0});
  both("near", "r0", 600);
  for (int k = 0; k < 5; ++k) scene.classes.push_back({std::to_string(k), 0.2, 3e-5 * std::pow(2.5, k)});
  const auto phase = [&](double minutes, double source, double raised, double cleaned) {
    air::Phase one{
        .minutes = minutes, .sources = {}, .flows = {}, .filtration = {}, .resuspension = {}, .surface_removal = {}};
    if (source > 0) one.sources = {{"near", source}};
    for (const auto& zone : scene.zones) {
      if (raised > 0) one.resuspension.push_back({zone.id, raised});
      if (cleaned > 0) one.surface_removal.push_back({zone.id, cleaned});
    }
    scene.phases.push_back(one);
  };
  phase(10, 0, 0, 0);
  phase(12, 5e6, 0, 0);
  phase(30, 0, 1.4e-4, 0);
  phase(20, 0, 3e-2, 4);
  phase(1440, 0, 1.4e-4, 0);
  phase(7 * 1440 - 1512, 0, 1.4e-4, 0);
  return scene;
}

/// The scene's rates as both solvers take them; `n` air compartments and, where something is raised, as many floors.
struct Rates {
  std::vector<std::pair<std::size_t, std::size_t>> joined;
  std::vector<double> volume, lost, settled, a_to_b, b_to_a;
};

Rates rates_of(const air::Scene& scene) {
  Rates out;
  std::map<std::string, std::size_t> index;
  for (const auto& zone : scene.zones) {
    index[zone.id] = out.volume.size();
    out.volume.push_back(zone.volume_m3);
    out.lost.push_back(0);
  }
  std::map<std::pair<std::size_t, std::size_t>, std::size_t> join;
  for (const auto& flow : scene.flows) {
    if (flow.from == "outdoors") continue;
    const std::size_t from = index[flow.from];
    if (flow.to == "outdoors") {
      out.lost[from] += flow.m3_per_h / out.volume[from];
      continue;
    }
    const std::size_t to = index[flow.to];
    const auto [at, fresh] = join.try_emplace(std::minmax(from, to), out.joined.size());
    if (fresh) {
      out.joined.emplace_back(std::min(from, to), std::max(from, to));
      out.a_to_b.push_back(0);
      out.b_to_a.push_back(0);
    }
    (from < to ? out.a_to_b : out.b_to_a)[at->second] += flow.m3_per_h / out.volume[from];
  }
  for (const auto& zone : scene.zones) {
    for (const auto& one : scene.classes)
      out.settled.push_back(one.settling_m_per_s * 3600 * zone.floor_m2 / zone.volume_m3);
  }
  return out;
}

struct Quick {
  explicit Quick(const air::Scene& given) : scene(given), rates(rates_of(given)) {
    for (std::size_t i = 0; i < scene.zones.size(); ++i) all_floors.push_back(i);
    plans.emplace_back(scene.zones.size(), rates.joined, std::vector<std::size_t>{});
    plans.emplace_back(scene.zones.size(), rates.joined, all_floors);
    solvers.emplace_back(plans[0], scene.classes.size());
    solvers.emplace_back(plans[1], scene.classes.size());
  }

  /// One draw; the near field's fibre-hours at all times together, to be held against the other solver's.
  double run() {
    const std::size_t n = scene.zones.size();
    const std::size_t k = scene.classes.size();
    std::vector<double> air_now(n * k, 0.0);
    std::vector<double> floor_now(n * k, 0.0);
    double sum = 0;
    for (const auto& phase : scene.phases) {
      const bool floors = !phase.resuspension.empty();
      auto& solver = solvers[floors ? 1 : 0];
      const std::size_t m = floors ? 2 * n : n;
      const std::vector<double> raised(floors ? n : 0, floors ? phase.resuspension[0].per_h : 0);
      const std::vector<double> cleaned(floors ? n : 0,
                                        phase.surface_removal.empty() ? 0 : phase.surface_removal[0].per_h);
      std::vector<double> start(air_now);
      if (floors) start.insert(start.end(), floor_now.begin(), floor_now.end());
      std::vector<double> source(m * k, 0.0);
      for (const auto& one : phase.sources) {
        for (std::size_t c = 0; c < k; ++c) source[(n - 1) * k + c] = one.f_per_min * 60 / static_cast<double>(k);
      }
      solver.set({rates.lost, rates.settled, rates.a_to_b, rates.b_to_a, raised, cleaned});
      solver.start(start, source);
      std::vector<double> now(m * k);
      std::vector<double> hours(m * k);
      for (const double fraction : kFractions) {
        solver.at(fraction * phase.minutes / 60, now, hours);
        for (std::size_t c = 0; c < k; ++c) sum += hours[(n - 1) * k + c];
      }
      for (std::size_t i = 0; i < n * k; ++i) {
        air_now[i] = now[i];
        floor_now[i] = floors ? now[n * k + i] : floor_now[i] + rates.settled[i] * hours[i];
      }
    }
    return sum;
  }

  air::Scene scene;
  Rates rates;
  std::vector<std::size_t> all_floors;
  std::vector<air::QuickPlan> plans;
  std::vector<air::QuickSolver> solvers;
};

// ---- SUNDIALS

struct System {
  std::size_t n = 0;
  std::vector<double> a;  // column by column
  std::vector<double> b;
};

int right_side(realtype, N_Vector y, N_Vector dy, void* data) {
  const auto& system = *static_cast<System*>(data);
  const double* x = N_VGetArrayPointer(y);
  double* out = N_VGetArrayPointer(dy);
  for (std::size_t i = 0; i < system.n; ++i) out[i] = system.b[i];
  for (std::size_t j = 0; j < system.n; ++j) {
    for (std::size_t i = 0; i < system.n; ++i) out[i] += system.a[j * system.n + i] * x[j];
  }
  return 0;
}

int jacobian(realtype, N_Vector, N_Vector, SUNMatrix matrix, void* data, N_Vector, N_Vector, N_Vector) {
  const auto& system = *static_cast<System*>(data);
  for (std::size_t j = 0; j < system.n; ++j) {
    double* column = SUNDenseMatrix_Column(matrix, static_cast<sunindextype>(j));
    for (std::size_t i = 0; i < system.n; ++i) column[i] = system.a[j * system.n + i];
  }
  return 0;
}

int quadrature(realtype, N_Vector y, N_Vector dq, void* data) {
  const auto& system = *static_cast<System*>(data);
  const double* x = N_VGetArrayPointer(y);
  double* out = N_VGetArrayPointer(dq);
  for (std::size_t i = 0; i < system.n; ++i) out[i] = x[i];
  return 0;
}

double run_cvode(const air::Scene& scene, const Rates& rates) {
  const std::size_t n = scene.zones.size();
  const std::size_t m = 2 * n;
  double sum = 0;
  SUNContext context = nullptr;
  SUNContext_Create(nullptr, &context);
  const auto size = static_cast<sunindextype>(m);
  for (std::size_t k = 0; k < scene.classes.size(); ++k) {
    N_Vector y = N_VNew_Serial(size, context);
    N_Vector q = N_VNew_Serial(size, context);
    N_VConst(0, y);
    N_VConst(0, q);
    SUNMatrix matrix = SUNDenseMatrix(size, size, context);
    SUNLinearSolver solver = SUNLinSol_Dense(y, matrix, context);
    void* memory = CVodeCreate(CV_BDF, context);
    System system{m, std::vector<double>(m * m), std::vector<double>(m)};
    CVodeInit(memory, right_side, 0, y);
    CVodeSStolerances(memory, kTolerance, 1e-3);  // fibres
    CVodeSetUserData(memory, &system);
    CVodeSetLinearSolver(memory, solver, matrix);
    CVodeSetJacFn(memory, jacobian);
    CVodeSetMaxNumSteps(memory, 100000);
    CVodeQuadInit(memory, quadrature, q);
    for (const auto& phase : scene.phases) {
      std::fill(system.a.begin(), system.a.end(), 0.0);
      std::fill(system.b.begin(), system.b.end(), 0.0);
      const auto at = [&](std::size_t i, std::size_t j) -> double& { return system.a[j * m + i]; };
      for (std::size_t i = 0; i < n; ++i) {
        const double settled = rates.settled[i * scene.classes.size() + k];
        at(i, i) -= rates.lost[i] + settled;
        at(n + i, i) += settled;
        if (!phase.resuspension.empty()) {
          at(n + i, n + i) -= phase.resuspension[i].per_h;
          at(i, n + i) += phase.resuspension[i].per_h;
        }
        if (!phase.surface_removal.empty()) at(n + i, n + i) -= phase.surface_removal[i].per_h;
      }
      for (std::size_t e = 0; e < rates.joined.size(); ++e) {
        const auto [a, b] = rates.joined[e];
        at(a, a) -= rates.a_to_b[e];
        at(b, a) += rates.a_to_b[e];
        at(b, b) -= rates.b_to_a[e];
        at(a, b) += rates.b_to_a[e];
      }
      for (const auto& one : phase.sources)
        system.b[n - 1] = one.f_per_min * 60 / static_cast<double>(scene.classes.size());
      CVodeReInit(memory, 0, y);
      N_VConst(0, q);
      CVodeQuadReInit(memory, q);
      const double hours = phase.minutes / 60;
      CVodeSetStopTime(memory, hours);
      realtype reached = 0;
      for (const double fraction : kFractions) {
        if (CVode(memory, fraction * hours, y, &reached, CV_NORMAL) < 0) throw std::runtime_error("CVODE gave up");
        CVodeGetQuad(memory, &reached, q);
        sum += N_VGetArrayPointer(q)[n - 1];
      }
    }
    CVodeFree(&memory);
    SUNLinSolFree(solver);
    SUNMatDestroy(matrix);
    N_VDestroy(y);
    N_VDestroy(q);
  }
  SUNContext_Free(&context);
  return sum;
}

// ---- SciPy

/// Milliseconds for one draw by SciPy's LSODA, from tests/tools/lsoda_time.py.
double scipy_ms(const air::Scene& scene, const Rates& rates) {
  nlohmann::json problem = {{"n", scene.zones.size()}, {"lost", rates.lost},     {"a_to_b", rates.a_to_b},
                            {"b_to_a", rates.b_to_a},  {"joined", rates.joined}, {"rtol", kTolerance},
                            {"fractions", kFractions}};
  for (std::size_t k = 0; k < scene.classes.size(); ++k) {
    nlohmann::json row;
    for (std::size_t i = 0; i < scene.zones.size(); ++i) row.push_back(rates.settled[i * scene.classes.size() + k]);
    problem["settled"].push_back(row);
  }
  for (const auto& phase : scene.phases) {
    problem["phases"].push_back(
        {{"hours", phase.minutes / 60},
         {"source",
          phase.sources.empty() ? 0.0 : phase.sources[0].f_per_min * 60 / static_cast<double>(scene.classes.size())},
         {"raised", phase.resuspension.empty() ? 0.0 : phase.resuspension[0].per_h},
         {"cleaned", phase.surface_removal.empty() ? 0.0 : phase.surface_removal[0].per_h}});
  }
  const std::string command =
      std::string("/usr/bin/python3 ") + LATHBOOK_ROOT + "/tests/tools/lsoda_time.py '" + problem.dump() + "'";
  FILE* pipe = popen(command.c_str(), "r");
  double ms = 0;
  if (pipe == nullptr || fscanf(pipe, "%lf", &ms) != 1) throw std::runtime_error("lsoda_time.py said nothing");
  pclose(pipe);
  return ms;
}

void quick_draw(benchmark::State& state) {
  Quick quick(house(static_cast<std::size_t>(state.range(0))));
  for (auto _ : state) benchmark::DoNotOptimize(quick.run());
  state.counters["zones"] = static_cast<double>(state.range(0));
}
BENCHMARK(quick_draw)->Arg(9)->Arg(18)->Arg(36)->Unit(benchmark::kMicrosecond);

void exact_draw(benchmark::State& state) {
  const auto scene = house(9);
  for (auto _ : state) {
    const auto solved = air::Solution::of(scene);
    benchmark::DoNotOptimize(solved->balance().relative_error);
  }
}
BENCHMARK(exact_draw)->Unit(benchmark::kMicrosecond);

void cvode_draw(benchmark::State& state) {
  const auto scene = house(9);
  const auto rates = rates_of(scene);
  Quick quick(scene);
  // The same answer first, or the times mean nothing.
  const double theirs = run_cvode(scene, rates);
  const double apart = std::abs(theirs / quick.run() - 1);
  if (!(apart < 1e-4)) state.SkipWithError("the two solvers disagree");
  for (auto _ : state) benchmark::DoNotOptimize(run_cvode(scene, rates));
  state.counters["apart"] = apart;
}
BENCHMARK(cvode_draw)->Unit(benchmark::kMicrosecond);

void scipy_draw(benchmark::State& state) {
  const auto scene = house(9);
  const auto rates = rates_of(scene);
  for (auto _ : state) {
    const double ms = scipy_ms(scene, rates);
    state.SetIterationTime(ms / 1e3);
  }
}
BENCHMARK(scipy_draw)->UseManualTime()->Iterations(3)->Unit(benchmark::kMicrosecond);

/// The whole of an answer: 10,000 draws or a little more (a power of two), bands, correlations; two threads.
void ten_thousand_draws(benchmark::State& state) {
  event::Scene scene;
  for (int i = 0; i < 8; ++i)
    scene.rooms.push_back({"r" + std::to_string(i), 20.0 + 3.0 * (i % 5), 9.0 + i % 4, "room", {}});
  for (std::size_t i = 1; i < 8; ++i) scene.openings.push_back({i, (i - 1) / 3, i % 2 == 0 ? "open" : "closed", {}});
  scene.work = {{0, "insulating-board", "drill", {}, 6, 10, 22}};
  scene.cleaning = {{0, "sweep", 52, 72}};
  scene.people = {{"P1", {{0, true, 10, 22}, {0, false, 22, 72}}, {{"ffp2", 10, 22, {}, false}}},
                  {"P2", {{1, false, 0, 72}}, {}}};
  event::Settings settings;
  settings.draws = 10'000;
  settings.wanted_error = 0;
  settings.workers = 2;
  settings.changes = false;
  std::size_t draws = 0;
  for (auto _ : state) {
    const auto answer = event::uncertain(scene, catalogue::shipped_air_data(), catalogue::shipped(), settings);
    draws = answer->draws;
  }
  rusage usage{};
  getrusage(RUSAGE_SELF, &usage);
  state.counters["draws"] = static_cast<double>(draws);
  state.counters["peak_MB"] = static_cast<double>(usage.ru_maxrss) / 1024;
}
BENCHMARK(ten_thousand_draws)->UseRealTime()->MeasureProcessCPUTime()->Iterations(2)->Unit(benchmark::kMillisecond);

}  // namespace
