#include "air/solution.h"

#include <gtest/gtest.h>

#include <algorithm>
#include <cmath>
#include <random>

#include "testing/agreement.h"
#include "testing/csv.h"

namespace lathbook::air {
namespace {

Scene one_room(double volume, double air_changes) {
  Scene scene;
  scene.zones = {{"room", volume, 10, 1, 0}};
  scene.flows = {{"outdoors", "room", volume * air_changes}, {"room", "outdoors", volume * air_changes}};
  scene.classes = {{"all", 1, 0}};
  scene.phases.push_back(
      {.minutes = 1000, .sources = {}, .flows = {}, .filtration = {}, .resuspension = {}, .surface_removal = {}});
  return scene;
}

Solution solved(const Scene& scene) {
  const auto solution = Solution::of(scene);
  if (!solution.ok()) throw std::runtime_error(solution.faults().front().text());
  return *solution;
}

std::vector<Leg> whole(const Solution& solution, std::size_t zone) { return {{zone, 0, solution.total_h()}}; }

TEST(PublishedPurge, TimesToClearAWellMixedRoom) {
  testing::Agreement agreement("air_purge");
  for (const auto& row : testing::read_csv("tests/published/purge_times.csv")) {
    const auto solution = solved(one_room(40, std::stod(row.at("air_changes_per_h"))));
    const auto hours = solution.hours_until_below(0, 1 - std::stod(row.at("cleared")));
    ASSERT_TRUE(hours.has_value());
    EXPECT_NEAR(*hours * 60, std::stod(row.at("minutes")), std::stod(row.at("tolerance_min")))
        << row.at("air_changes_per_h");
    agreement.apart(*hours * 60 - std::stod(row.at("minutes")), std::stod(row.at("tolerance_min")));
  }
}

TEST(PropertySolution, OneRoomFollowsItsClosedForm) {
  auto scene = one_room(30, 0.7);
  scene.classes = {{"fine", 0.25, 1e-5}, {"coarse", 0.75, 2e-3}};
  scene.zones[0].start_f_per_ml = 0.2;
  scene.phases[0].minutes = 90;
  scene.phases[0].sources = {{"room", 3e6}};
  scene.phases[0].filtration = {{"room", 20, 0.5}};
  const auto solution = solved(scene);
  double level = 0;
  double integral = 0;
  double load = 0;
  const double t = 1.5;
  for (const auto& one : scene.classes) {
    const double settled = one.settling_m_per_s * 3600 * 10 / 30;
    const double k = 0.7 + 10.0 / 30 + settled;
    const double steady = one.share * 3e6 * 60 / (k * 30e6);
    const double start = one.share * 0.2;
    level += steady + (start - steady) * std::exp(-k * t);
    const double dose = steady * t + (start - steady) * -std::expm1(-k * t) / k;
    integral += dose;
    load += settled * dose * 30e6 / (10 * 1e4);
  }
  EXPECT_NEAR(solution.at(t).f_per_ml(0) / level, 1, 1e-13);
  EXPECT_NEAR(solution.phase_integrals_f_per_ml_h(0)[0] / integral, 1, 1e-13);
  EXPECT_NEAR(solution.end_load_f_per_cm2(0) / load, 1, 1e-13);
  testing::Agreement agreement("air_one_room");
  agreement.apart(solution.at(t).f_per_ml(0) / level - 1, 1e-13);
  agreement.apart(solution.phase_integrals_f_per_ml_h(0)[0] / integral - 1, 1e-13);
  agreement.apart(solution.end_load_f_per_cm2(0) / load - 1, 1e-13);
}

TEST(PropertySolution, NearAndFarFieldReachTheirClosedForm) {
  // Near field 1 m3 that swaps 600 m3/h with a 40 m3 room aired at 60 m3/h: eigenvalues of a 2 x 2 matrix.
  Scene scene;
  scene.zones = {{"near", 1, 0, 0, 0}, {"far", 40, 0, 0, 0}};
  scene.flows = {{"near", "far", 600}, {"far", "near", 600}, {"far", "outdoors", 60}, {"outdoors", "far", 60}};
  scene.classes = {{"all", 1, 0}};
  scene.phases.push_back({.minutes = 10,
                          .sources = {{"near", 1e7}},
                          .flows = {},
                          .filtration = {},
                          .resuspension = {},
                          .surface_removal = {}});
  scene.phases.push_back({.minutes = 5000,
                          .sources = {{"near", 1e7}},
                          .flows = {},
                          .filtration = {},
                          .resuspension = {},
                          .surface_removal = {}});
  const auto solution = solved(scene);
  const double g = 1e7 * 60 / 1e6;  // f/ml m3 per hour
  EXPECT_NEAR(solution.at(solution.total_h()).f_per_ml(1), g / 60, 1e-12 * g);
  EXPECT_NEAR(solution.at(solution.total_h()).f_per_ml(0), g / 60 + g / 600, 1e-12 * g);
  const double a = -600.0;
  const double b = 600.0 / 40;
  const double c = 600.0;
  const double d = -660.0 / 40;
  const double middle = (a + d) / 2;
  const double spread = std::sqrt((a - d) * (a - d) / 4 + b * c);
  const double fast = middle - spread;
  const double slow = (a * d - b * c) / fast;
  const double t = 10.0 / 60;
  // C = steady + x1 v1 e^(slow t) + x2 v2 e^(fast t) with C(0) = 0.
  const double near_end = g / 60 + g / 600;
  const double far_end = g / 60;
  const double ratio_slow = (slow - a) / c;  // far over near of each mode
  const double ratio_fast = (fast - a) / c;
  const double x_slow = (-far_end + ratio_fast * near_end) / (ratio_slow - ratio_fast);
  const double x_fast = -near_end - x_slow;
  EXPECT_NEAR(solution.at(t).f_per_ml(0), near_end + x_slow * std::exp(slow * t) + x_fast * std::exp(fast * t),
              1e-10 * near_end);
  EXPECT_NEAR(solution.at(t).f_per_ml(1),
              far_end + ratio_slow * x_slow * std::exp(slow * t) + ratio_fast * x_fast * std::exp(fast * t),
              1e-10 * near_end);
}

/// Balanced random network: loops through outdoors and pairs of swaps.
Scene random_scene(std::mt19937_64& random, std::size_t zones, std::size_t classes, std::size_t phases) {
  std::uniform_real_distribution<double> unit(0, 1);
  const auto between = [&](double low, double high) { return low * std::pow(high / low, unit(random)); };
  const auto flows = [&] {
    std::vector<Flow> out;
    for (std::size_t i = 0; i < zones; ++i) {
      const auto name = "z" + std::to_string(i);
      const auto other = "z" + std::to_string(static_cast<std::size_t>(unit(random) * static_cast<double>(zones)));
      const double q = between(1, 1000);
      if (other != name) {
        out.push_back({"outdoors", name, q});
        out.push_back({name, other, q});
        out.push_back({other, "outdoors", q});
        const double swap = between(1, 4000);
        out.push_back({name, other, swap});
        out.push_back({other, name, swap});
      } else {
        out.push_back({"outdoors", name, q});
        out.push_back({name, "outdoors", q});
      }
    }
    return out;
  };
  Scene scene;
  for (std::size_t i = 0; i < zones; ++i)
    scene.zones.push_back(
        {"z" + std::to_string(i), between(1, 100), between(1, 40), 0, unit(random) < 0.3 ? between(1, 1e4) : 0});
  scene.flows = flows();
  scene.outdoor_f_per_ml = unit(random) < 0.3 ? 1e-4 : 0;
  for (std::size_t k = 0; k < classes; ++k)
    scene.classes.push_back({"c" + std::to_string(k), 1.0 / static_cast<double>(classes), between(1e-6, 1e-2)});
  for (std::size_t p = 0; p < phases; ++p) {
    Phase phase;
    phase.minutes = between(1, 600);
    const auto pick = [&] {
      return "z" + std::to_string(static_cast<std::size_t>(unit(random) * static_cast<double>(zones)));
    };
    if (p == 0 || unit(random) < 0.5) phase.sources = {{pick(), between(1e4, 1e8)}};
    if (unit(random) < 0.3) phase.flows = flows();
    if (unit(random) < 0.3) phase.filtration = {{pick(), between(10, 500), unit(random)}};
    if (unit(random) < 0.5) phase.resuspension = {{pick(), between(1e-5, 1)}};
    if (unit(random) < 0.3) phase.surface_removal = {{pick(), between(1e-3, 10)}};
    scene.phases.push_back(std::move(phase));
  }
  return scene;
}

TEST(PropertySolution, EveryFibreIsAccountedFor) {
  testing::Agreement agreement("air_balance");
  std::mt19937_64 random(11);
  for (int trial = 0; trial < 25; ++trial) {
    const auto solution = solved(random_scene(random, 1 + static_cast<std::size_t>(trial) % 9, 3, 5));
    EXPECT_LE(solution.balance().relative_error, 1e-12);
    agreement.apart(solution.balance().relative_error, 1e-12);
    EXPECT_GT(solution.balance().emitted, 0);
  }
}

TEST(PropertySolution, LevelsGrowInStepWithSources) {
  std::mt19937_64 random(12);
  for (int trial = 0; trial < 10; ++trial) {
    auto scene = random_scene(random, 4, 2, 4);
    scene.outdoor_f_per_ml = 0;
    for (auto& zone : scene.zones) zone.start_load_f_per_cm2 = 0;
    const auto once = solved(scene);
    for (auto& phase : scene.phases) {
      for (auto& source : phase.sources) source.f_per_min *= 7;
    }
    const auto seven = solved(scene);
    for (std::size_t z = 0; z < 4; ++z) {
      EXPECT_NEAR(seven.largest_mean(whole(seven, z), 0.5), 7 * once.largest_mean(whole(once, z), 0.5),
                  1e-9 * seven.largest_mean(whole(seven, z), 0.5));
      EXPECT_NEAR(seven.end_load_f_per_cm2(z), 7 * once.end_load_f_per_cm2(z), 1e-12 * seven.end_load_f_per_cm2(z));
    }
  }
}

TEST(PropertySolution, CuttingAPhaseInTwoChangesNothing) {
  std::mt19937_64 random(13);
  for (int trial = 0; trial < 10; ++trial) {
    auto scene = random_scene(random, 5, 2, 3);
    const auto before = solved(scene);
    auto cut = scene;
    cut.phases[1].minutes *= 0.37;
    auto rest = scene.phases[1];
    rest.minutes *= 1 - 0.37;
    rest.flows.reset();
    cut.phases.insert(cut.phases.begin() + 2, rest);
    const auto after = solved(cut);
    for (std::size_t z = 0; z < 5; ++z) {
      const auto i = static_cast<Eigen::Index>(z);
      const double want = before.at(before.total_h()).f_per_ml(i);
      EXPECT_NEAR(after.at(after.total_h()).f_per_ml(i), want, 1e-11 * want);
      const double mean = before.largest_mean(whole(before, z), 1);
      EXPECT_NEAR(after.largest_mean(whole(after, z), 1), mean, 1e-9 * mean);
    }
  }
}

// Brute force: the exact integral on a fine grid can only miss the maximum from below, and by little.
TEST(PropertySolution, NoWindowOnAFineGridBeatsTheLargestMean) {
  std::mt19937_64 random(14);
  for (int trial = 0; trial < 8; ++trial) {
    const auto scene = random_scene(random, 3, 2, 4);
    const auto solution = solved(scene);
    const double total = solution.total_h();
    for (const double window : {1.0 / 6, 4.0}) {
      if (window > total) continue;
      Eigen::VectorXd best = Eigen::VectorXd::Zero(3);
      for (int i = 0; i <= 3000; ++i) {
        const double t = (total - window) * i / 3000;
        best = best.cwiseMax(solution.at(t + window).f_per_ml_h - solution.at(t).f_per_ml_h);
      }
      for (std::size_t z = 0; z < 3; ++z) {
        const double found = solution.largest_mean(whole(solution, z), window) * window;
        const double brute = best(static_cast<Eigen::Index>(z));
        EXPECT_GE(found, brute * (1 - 1e-9));
        EXPECT_LE(found, brute * 1.01);
      }
    }
  }
}

TEST(PropertySolution, BelowMeansBelowFromThenOn) {
  std::mt19937_64 random(15);
  int crossed = 0;
  for (int trial = 0; trial < 20; ++trial) {
    auto scene = random_scene(random, 3, 2, 3);
    scene.outdoor_f_per_ml = 0;
    scene.phases.push_back(
        {.minutes = 3000, .sources = {}, .flows = {}, .filtration = {}, .resuspension = {}, .surface_removal = {}});
    const auto solution = solved(scene);
    double last_source = 0;
    double t = 0;
    for (const auto& phase : scene.phases) {
      t += phase.minutes / 60;
      if (!phase.sources.empty()) last_source = t;
    }
    for (std::size_t z = 0; z < 3; ++z) {
      const double level = 0.3 * solution.at(last_source).f_per_ml(static_cast<Eigen::Index>(z));
      if (level <= 0) continue;
      const auto hours = solution.hours_until_below(z, level);
      if (!hours) continue;
      const double at = last_source + *hours;
      if (*hours > 0) {
        EXPECT_NEAR(solution.at(at).f_per_ml(static_cast<Eigen::Index>(z)), level, 1e-9 * level);
      }
      for (int i = 1; i <= 200; ++i) {
        EXPECT_LE(solution.at(at + (solution.total_h() - at) * i / 200).f_per_ml(static_cast<Eigen::Index>(z)),
                  level * (1 + 1e-9));
      }
      ++crossed;
    }
  }
  EXPECT_GT(crossed, 20);
}

TEST(Solution, AWayThroughTwoRoomsAddsUp) {
  std::mt19937_64 random(16);
  const auto solution = solved(random_scene(random, 2, 2, 2));
  const double total = solution.total_h();
  const std::vector<Leg> way{{0, 0, total / 3}, {1, total / 2, total}};
  const double want =
      solution.at(total / 3).f_per_ml_h(0) + solution.at(total).f_per_ml_h(1) - solution.at(total / 2).f_per_ml_h(1);
  EXPECT_NEAR(solution.breathed_f_per_ml_h(way), want, 1e-12 * want);
  EXPECT_NEAR(solution.largest_mean(way, 10 * total), want / (10 * total), 1e-12);
}

TEST(Solution, ReportsEveryMultipleAndEveryPhaseEndOnce) {
  auto scene = one_room(40, 1);
  scene.phases[0].minutes = 25;
  scene.phases.push_back(scene.phases[0]);
  scene.report_every_min = 10;
  EXPECT_EQ(solved(scene).report_times_min(), (std::vector<double>{0, 10, 20, 25, 30, 40, 50}));
  scene.report_every_min = 0.5;
  const auto solution = solved(scene);
  const auto times = solution.report_times_min();
  const auto levels = solution.report_levels(times);
  for (std::size_t i = 0; i < times.size(); ++i) {
    EXPECT_NEAR(levels(0, static_cast<Eigen::Index>(i)), std::exp(-times[i] / 60), 1e-13);
  }
}

// ---- what is refused
// -------------------------------------------------------------------------------------------------

std::string faults_of(const Scene& scene) {
  std::string out;
  for (const auto& fault : check(scene)) out += fault.text() + "\n";
  return out;
}

TEST(FaultScene, FlowsThatDoNotBalanceNameTheZoneAndTheAmount) {
  auto scene = one_room(40, 1);
  scene.flows[0].m3_per_h = 43;
  const auto text = faults_of(scene);
  EXPECT_NE(text.find("zone room"), std::string::npos) << text;
  EXPECT_NE(text.find("+3 m3/h"), std::string::npos) << text;
  scene.flows[0].m3_per_h = 40 * (1 + 9e-7);
  EXPECT_EQ(faults_of(scene), "");
}

TEST(FaultScene, PhaseFlowsAreHeldToTheSame) {
  auto scene = one_room(40, 1);
  scene.phases[0].flows = std::vector<Flow>{{"room", "outdoors", 5}};
  EXPECT_NE(faults_of(scene).find("/phases/0/flows: -5 m3/h"), std::string::npos);
}

TEST(FaultScene, AirWithNoWayOutdoors) {
  auto scene = one_room(40, 1);
  scene.zones.push_back({"a", 10, 1, 0, 0});
  scene.zones.push_back({"b", 10, 1, 0, 0});
  EXPECT_EQ(faults_of(scene), "");  // closed rooms without any flow
  scene.flows.push_back({"a", "b", 5});
  scene.flows.push_back({"b", "a", 5});
  const auto text = faults_of(scene);
  EXPECT_NE(text.find("/flows: a is a zone whose air has no path outdoors"), std::string::npos) << text;
  EXPECT_NE(text.find("/flows: b is"), std::string::npos) << text;
}

TEST(FaultScene, AllFaultsAtOnce) {
  Scene scene = one_room(40, 1);
  scene.zones[0].volume_m3 = -1;
  scene.zones.push_back({"room", 10, -1, 0, 0});
  scene.zones.push_back({"outdoors", 10, 1, -2, 0});
  scene.zones.push_back({"bare", 10, 0, 0, 3});
  scene.classes.push_back({"all", 0.5, -1});
  scene.phases[0].minutes = 0;
  scene.phases[0].sources = {{"attic", 5}};
  scene.phases[0].filtration = {{"room", 5, 1.5}};
  scene.flows.push_back({"room", "room", 1});
  scene.flows.push_back({"room", "shed", 1});
  const auto text = faults_of(scene);
  for (const char* place : {"/zones/0/volume_m3", "/zones/1/id", "/zones/1/floor_m2", "/zones/2/id",
                            "/zones/2/start_f_per_ml", "/zones/3/start_load_f_per_cm2", "/classes/1/id",
                            "/classes/1/settling_m_per_s", "/classes:", "/phases/0/minutes", "/phases/0/sources/0/zone",
                            "/phases/0/filtration/0/efficiency", "/flows/2/to", "/flows/3/to"}) {
    EXPECT_NE(text.find(place), std::string::npos) << place << "\n" << text;
  }
  EXPECT_FALSE(check(Scene{}).empty());
}

TEST(FaultScene, TooMuchToWorkOut) {
  Scene scene = one_room(40, 1);
  for (int i = 0; i < 199; ++i) scene.zones.push_back({"z" + std::to_string(i), 10, 1, 0, 0});
  scene.phases.resize(1000, scene.phases[0]);
  EXPECT_NE(faults_of(scene).find("too much to work out"), std::string::npos);
  scene.zones.resize(20);
  EXPECT_EQ(faults_of(scene), "");
}

TEST(FaultScene, TooManyReportTimes) {
  auto scene = one_room(40, 1);
  scene.report_every_min = 1e-6;
  EXPECT_NE(faults_of(scene).find("/report_every_min"), std::string::npos);
}

}  // namespace
}  // namespace lathbook::air
