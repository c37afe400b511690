#include "air/quick.h"

#include <gtest/gtest.h>

#include <Eigen/Dense>
#include <cmath>
#include <random>

#include "air/transition.h"
#include "testing/agreement.h"

namespace lathbook::air {
namespace {

struct House {
  std::size_t zones = 0;
  std::size_t classes = 0;
  std::vector<std::pair<std::size_t, std::size_t>> joined;
  std::vector<std::size_t> floors;
  std::vector<double> lost, settled, a_to_b, b_to_a, raised, cleaned, start, source;
};

House random_house(std::mt19937_64& random, std::size_t zones, std::size_t classes, bool with_floors) {
  std::uniform_real_distribution<double> unit(0, 1);
  const auto between = [&](double low, double high) { return low * std::pow(high / low, unit(random)); };
  House house;
  house.zones = zones;
  house.classes = classes;
  for (std::size_t i = 1; i < zones; ++i)
    house.joined.emplace_back(static_cast<std::size_t>(unit(random) * static_cast<double>(i)), i);
  for (std::size_t i = 3; i < zones; i += 3) {
    if (house.joined[i - 1].first != i - 2) house.joined.emplace_back(i - 2, i);
  }
  for (std::size_t i = 0; i < zones; ++i) {
    house.lost.push_back(between(0.1, 5));
    for (std::size_t k = 0; k < classes; ++k) house.settled.push_back(between(1e-3, 10));
    if (with_floors && unit(random) < 0.6) house.floors.push_back(i);
  }
  for (std::size_t e = 0; e < house.joined.size(); ++e) {
    house.a_to_b.push_back(between(0.1, 2000));
    house.b_to_a.push_back(between(0.1, 100));
  }
  for (std::size_t f = 0; f < house.floors.size(); ++f) {
    house.raised.push_back(between(1e-5, 1e-1));
    house.cleaned.push_back(unit(random) < 0.5 ? between(1e-3, 1) : 0);
  }
  for (std::size_t i = 0; i < (zones + house.floors.size()) * classes; ++i) {
    house.start.push_back(unit(random) < 0.5 ? between(1, 1e6) : 0);
    house.source.push_back(unit(random) < 0.3 ? between(1, 1e6) : 0);
  }
  return house;
}

// The general solver, one class at a time, is the yardstick.
TEST(PropertyQuick, AgreesWithTheExactSolver) {
  testing::Agreement agreement("air_quick");
  std::mt19937_64 random(21);
  for (int trial = 0; trial < 60; ++trial) {
    const auto house = random_house(random, 1 + static_cast<std::size_t>(trial) % 12,
                                    1 + static_cast<std::size_t>(trial) % 6, trial % 2 == 1);
    const QuickPlan plan(house.zones, house.joined, house.floors);
    QuickSolver quick(plan, house.classes);
    quick.set({house.lost, house.settled, house.a_to_b, house.b_to_a, house.raised, house.cleaned});
    quick.start(house.start, house.source);
    const std::size_t n = plan.compartments();
    std::vector<double> fibres(n * house.classes);
    std::vector<double> hours_in(n * house.classes);
    for (const double t : {1e-4, 0.01, 0.3, 4.0, 168.0}) {
      quick.at(t, fibres, hours_in);
      for (std::size_t k = 0; k < house.classes; ++k) {
        Eigen::MatrixXd moved = Eigen::MatrixXd::Zero(static_cast<Eigen::Index>(n), static_cast<Eigen::Index>(n));
        Eigen::VectorXd lost = Eigen::VectorXd::Zero(static_cast<Eigen::Index>(n));
        Eigen::VectorXd source(static_cast<Eigen::Index>(n));
        Transition::State state{Eigen::VectorXd(static_cast<Eigen::Index>(n)),
                                Eigen::VectorXd::Zero(static_cast<Eigen::Index>(n))};
        for (std::size_t i = 0; i < house.zones; ++i)
          lost(static_cast<Eigen::Index>(i)) = house.lost[i] + house.settled[i * house.classes + k];
        for (std::size_t e = 0; e < house.joined.size(); ++e) {
          const auto a = static_cast<Eigen::Index>(house.joined[e].first);
          const auto b = static_cast<Eigen::Index>(house.joined[e].second);
          moved(b, a) += house.a_to_b[e];
          moved(a, b) += house.b_to_a[e];
        }
        for (std::size_t f = 0; f < house.floors.size(); ++f) {
          const auto zone = static_cast<Eigen::Index>(house.floors[f]);
          const auto floor = static_cast<Eigen::Index>(house.zones + f);
          const double settled = house.settled[house.floors[f] * house.classes + k];
          lost(zone) -= settled;
          moved(floor, zone) = settled;
          moved(zone, floor) = house.raised[f];
          lost(floor) = house.cleaned[f];
        }
        double scale = 0;
        for (std::size_t i = 0; i < n; ++i) {
          state.fibres(static_cast<Eigen::Index>(i)) = house.start[i * house.classes + k];
          source(static_cast<Eigen::Index>(i)) = house.source[i * house.classes + k];
          scale += house.start[i * house.classes + k] + t * house.source[i * house.classes + k];
        }
        const Transition exact(moved, lost.cwiseMax(0.0), source, t);
        exact.advance(t, state);
        for (std::size_t i = 0; i < n; ++i) {
          const double here = state.fibres(static_cast<Eigen::Index>(i));
          EXPECT_NEAR(fibres[i * house.classes + k], here, 1e-7 * scale);
          if (scale > 0) agreement.apart((fibres[i * house.classes + k] - here) / scale, 1e-7);
          EXPECT_NEAR(hours_in[i * house.classes + k], state.fibre_hours(static_cast<Eigen::Index>(i)),
                      4e-7 * scale * t);
        }
      }
    }
  }
}

TEST(PropertyQuick, AChainOfRoomsFillsInNothing) {
  std::vector<std::pair<std::size_t, std::size_t>> chain;
  std::vector<std::size_t> floors;
  for (std::size_t i = 0; i + 1 < 30; ++i) chain.emplace_back(i, i + 1);
  for (std::size_t i = 0; i < 30; ++i) floors.push_back(i);
  EXPECT_EQ(QuickPlan(30, chain, floors).entries(), 2 * (29 + 30U));
}

}  // namespace
}  // namespace lathbook::air
