#include "air/transition.h"

#include <gtest/gtest.h>

#include <cmath>
#include <random>

#include "testing/agreement.h"

namespace lathbook::air {
namespace {

using Eigen::Index;
using Eigen::MatrixXd;
using Eigen::VectorXd;
using Wide = __float128;
using WideMatrix = std::vector<std::vector<Wide>>;

WideMatrix times(const WideMatrix& a, const WideMatrix& b) {
  const std::size_t n = a.size();
  WideMatrix out(n, std::vector<Wide>(n, 0));
  for (std::size_t i = 0; i < n; ++i) {
    for (std::size_t k = 0; k < n; ++k) {
      for (std::size_t j = 0; j < n; ++j) out[i][j] += a[i][k] * b[k][j];
    }
  }
  return out;
}

/// exp of the augmented matrix [A b 0; 0 0 0; I 0 0] t in 113-bit arithmetic: a plain Taylor series, scaled and
/// squared.
WideMatrix wide_exponential(const MatrixXd& moved, const VectorXd& lost, const VectorXd& source, double hours) {
  const auto n = static_cast<std::size_t>(lost.size());
  WideMatrix a(2 * n + 1, std::vector<Wide>(2 * n + 1, 0));
  Wide largest = 0;
  for (std::size_t i = 0; i < n; ++i) {
    Wide leaving = lost(static_cast<Index>(i));
    for (std::size_t j = 0; j < n; ++j) {
      if (i == j) continue;
      const Wide rate = moved(static_cast<Index>(j), static_cast<Index>(i));
      a[j][i] = rate * hours;
      leaving += rate;
    }
    a[i][i] = -leaving * hours;
    a[n + i][i] = hours;
    a[i][2 * n] = static_cast<Wide>(source(static_cast<Index>(i))) * hours;
    largest = std::max(largest, leaving * hours);
  }
  int doublings = 8;
  while (largest > 0.25 * std::ldexp(1.0, doublings)) ++doublings;
  const Wide scale = std::ldexp(1.0, -doublings);
  for (auto& row : a) {
    for (auto& x : row) x *= scale;
  }
  const std::size_t m = a.size();
  WideMatrix sum(m, std::vector<Wide>(m, 0));
  for (std::size_t i = 0; i < m; ++i) sum[i][i] = 1;
  WideMatrix term = sum;
  for (int k = 1; k < 30; ++k) {
    term = times(term, a);
    for (std::size_t i = 0; i < m; ++i) {
      for (std::size_t j = 0; j < m; ++j) {
        term[i][j] /= k;
        sum[i][j] += term[i][j];
      }
    }
  }
  for (int d = 0; d < doublings; ++d) sum = times(sum, sum);
  return sum;
}

struct System {
  MatrixXd moved;
  VectorXd lost;
  VectorXd source;
  VectorXd start;
};

System random_system(std::mt19937_64& random, Index n, double slowest, double fastest) {
  std::uniform_real_distribution<double> unit(0, 1);
  const auto rate = [&] { return std::exp(std::log(slowest) + unit(random) * std::log(fastest / slowest)); };
  System out{MatrixXd::Zero(n, n), VectorXd::Zero(n), VectorXd::Zero(n), VectorXd::Zero(n)};
  for (Index i = 0; i < n; ++i) {
    for (Index j = 0; j < n; ++j) {
      if (i != j && unit(random) < 0.5) out.moved(j, i) = rate();
    }
    if (unit(random) < 0.5) out.lost(i) = rate();
    if (unit(random) < 0.5) out.source(i) = 1e6 * rate();
    if (unit(random) < 0.5) out.start(i) = 1e6 * rate();
  }
  return out;
}

void expect_near_wide(const System& system, double hours, double at, double tolerance, testing::Agreement& agreement) {
  const auto n = system.lost.size();
  const Transition transition(system.moved, system.lost, system.source, hours);
  Transition::State state{system.start, VectorXd::Zero(n)};
  transition.advance(at, state);
  const auto wide = wide_exponential(system.moved, system.lost, system.source, at);
  const auto size = static_cast<std::size_t>(n);
  for (std::size_t i = 0; i < size; ++i) {
    Wide fibres = wide[i][2 * size];
    Wide hours_in = wide[size + i][2 * size];
    for (std::size_t j = 0; j < size; ++j) {
      fibres += wide[i][j] * static_cast<Wide>(system.start(static_cast<Index>(j)));
      hours_in += wide[size + i][j] * static_cast<Wide>(system.start(static_cast<Index>(j)));
    }
    const auto want = static_cast<double>(fibres);
    const auto want_hours = static_cast<double>(hours_in);
    if (want > 1e-250) {
      EXPECT_NEAR(state.fibres(static_cast<Index>(i)) / want, 1, tolerance);
      agreement.apart(state.fibres(static_cast<Index>(i)) / want - 1, tolerance);
    }
    if (want_hours > 1e-250) {
      EXPECT_NEAR(state.fibre_hours(static_cast<Index>(i)) / want_hours, 1, tolerance);
      agreement.apart(state.fibre_hours(static_cast<Index>(i)) / want_hours - 1, tolerance);
    }
  }
}

// Every component to 1e-12 of itself, however small beside the others.
TEST(PropertyTransition, EachComponentAgreesWith113BitArithmetic) {
  testing::Agreement agreement("air_wide");
  std::mt19937_64 random(4);
  for (int trial = 0; trial < 40; ++trial) {
    const auto system = random_system(random, 1 + trial % 6, 1e-4, 1e2);
    expect_near_wide(system, 5, 5, 1e-12, agreement);
    expect_near_wide(system, 5, 1.2345, 1e-12, agreement);
    expect_near_wide(system, 5, 1e-7, 1e-12, agreement);
  }
}

TEST(PropertyTransition, StiffSystemsTooWhereWhatIsLeftIsNotNoise) {
  testing::Agreement agreement("air_stiff");
  std::mt19937_64 random(5);
  for (int trial = 0; trial < 15; ++trial) {
    auto system = random_system(random, 4, 1e-5, 1e5);
    system.lost *= 1e-4;  // slow losses: the answer itself stays well conditioned
    expect_near_wide(system, 10, 10, 1e-12, agreement);
  }
}

TEST(PropertyTransition, StepsOfAnyLengthJoinUp) {
  std::mt19937_64 random(6);
  for (int trial = 0; trial < 20; ++trial) {
    const auto system = random_system(random, 5, 1e-3, 1e3);
    const Transition transition(system.moved, system.lost, system.source, 4);
    Transition::State whole{system.start, VectorXd::Zero(5)};
    transition.advance(4, whole);
    Transition::State parts{system.start, VectorXd::Zero(5)};
    for (const double h : {0.1, 1.9, 0.0, 1e-9, 2 - 1e-9}) transition.advance(h, parts);
    for (Index i = 0; i < 5; ++i) {
      if (whole.fibres(i) > 0) {
        EXPECT_NEAR(parts.fibres(i) / whole.fibres(i), 1, 1e-10);
      }
      if (whole.fibre_hours(i) > 0) {
        EXPECT_NEAR(parts.fibre_hours(i) / whole.fibre_hours(i), 1, 1e-10);
      }
    }
  }
}

TEST(Transition, NothingMovesInAClosedCompartment) {
  const Transition transition(MatrixXd::Zero(1, 1), VectorXd::Zero(1), VectorXd::Constant(1, 6.0), 3);
  Transition::State state{VectorXd::Constant(1, 2.0), VectorXd::Zero(1)};
  transition.advance(3, state);
  EXPECT_NEAR(state.fibres(0), 2 + 6 * 3, 1e-13);
  EXPECT_NEAR(state.fibre_hours(0), 2 * 3 + 6 * 4.5, 1e-12);
}

}  // namespace
}  // namespace lathbook::air
