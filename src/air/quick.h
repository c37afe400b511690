// The same equations as solution.h for thousands of draws: levels and integrals at chosen times, all size classes at
// once.
//
// exp(tA) x and its integrals come from a rational approximation of exp on the negative axis in partial fractions, five
// pairs of complex poles (Caratheodory-Fejer, error 2.7e-10 in levels; up to 4e-7 in integrals), so each
// time costs one sparse elimination whatever the stiffness and however long the time: no steps. Rooms are joined by few
// doors, so with a minimum-degree order the elimination is close to linear in the number of zones. Size classes and
// poles run side by side in the vector registers. Accuracy: 4e-7 of the largest amount at the phase's start or put in
// during it (absolute, not of each component; solution.h is for that). Checked against solution.h in quick_test.cpp.
#pragma once

#include <cstddef>
#include <span>
#include <utility>
#include <vector>

namespace lathbook::air {

/// Which compartments are joined to which: zones by flows (in either direction), zones to their floors. Shared by all
/// draws.
class QuickPlan {
 public:
  /// `joined`: pairs of zones with a flow in some draw. `floors`: zones whose floor gives something off.
  QuickPlan(std::size_t zones, std::span<const std::pair<std::size_t, std::size_t>> joined,
            std::span<const std::size_t> floors);

  [[nodiscard]] std::size_t zones() const { return zones_; }
  [[nodiscard]] std::size_t compartments() const { return order_.size(); }
  [[nodiscard]] const std::vector<std::size_t>& floors() const { return floors_; }
  /// Entries of the factorised matrix off its diagonal, both sides.
  [[nodiscard]] std::size_t entries() const { return slots_; }

 private:
  friend class QuickSolver;
  struct Pivot {
    std::size_t node = 0;
    std::vector<std::size_t> later;   // its neighbours that are eliminated after it
    std::vector<std::size_t> down;    // slot of (later[i], node)
    std::vector<std::size_t> up;      // slot of (node, later[i])
    std::vector<std::size_t> update;  // for each (i, j): slot of (later[i], later[j]); the diagonal when i == j
  };
  struct Join {
    std::size_t a = 0;
    std::size_t b = 0;
    std::size_t a_from_b = 0;  // slots
    std::size_t b_from_a = 0;
  };
  std::size_t zones_ = 0;
  std::size_t slots_ = 0;
  std::vector<std::size_t> floors_;
  std::vector<std::size_t> order_;
  std::vector<Pivot> pivots_;
  std::vector<Join> zone_joins_;   // in the order of `joined`
  std::vector<Join> floor_joins_;  // in the order of `floors`
};

/// One phase of one draw. Reused from draw to draw; not shared between threads.
class QuickSolver {
 public:
  QuickSolver(const QuickPlan& plan, std::size_t classes);

  /// Shares per hour. Per zone: `lost` to outdoors, filters; per class and zone: `settled`. Per pair of the plan: of a
  /// to b and of b to a. Per floor of the plan: `raised` into the air, `cleaned` away.
  struct Rates {
    std::span<const double> lost;
    std::span<const double> settled;  ///< [zone * classes + class]
    std::span<const double> a_to_b;
    std::span<const double> b_to_a;
    std::span<const double> raised;
    std::span<const double> cleaned;
  };
  void set(const Rates& rates);
  /// Fibres in each compartment (zones, then the plan's floors) at the start of the phase and put in per hour:
  /// [compartment * classes + class].
  void start(std::span<const double> fibres, std::span<const double> per_hour);
  /// Fibres and fibre-hours after `hours`, in the same order.
  void at(double hours, std::span<double> fibres, std::span<double> fibre_hours);

 private:
  const QuickPlan* plan_;
  std::size_t classes_;
  std::size_t lanes_;  // classes x poles, padded to whole vector registers
  bool fed_ = false;
  std::vector<double> pole_re_, pole_im_;
  std::vector<double> weight_;          // per lane: c, c/theta, c/theta^2 (re, im each)
  std::vector<double> diagonal_;        // per compartment and lane: A_ii
  std::vector<double> off_;             // per slot and lane
  std::vector<double> start_, source_;  // per compartment and lane
  std::vector<double> a_re_, a_im_, d_re_, d_im_;
  std::vector<double> x_re_, x_im_, y_re_, y_im_;
};

}  // namespace lathbook::air
