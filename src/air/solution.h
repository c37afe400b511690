// Fibres in every zone over time, exactly: the answer to a Scene.
//
// Per size class k and zone i, with C fibres per m3 of air and L fibres per m2 of floor:
//   V_i dC_i/dt = sum_j Q_ji C_j - C_i sum_j Q_ij - (v_k A_i + filtration_i) C_i + R_i A_i L_i + G_i
//   A_i dL_i/dt = v_k A_i C_i - (R_i + S_i) A_i L_i
// Classes do not meet, phases follow one another, so each (class, phase) is one Transition. No step size: levels and
// integrals at any time come from the matrix exponential; maxima of running means and the times a level is passed are
// roots found on the exact solution (to 1e-9 of their bracket or better), bracketed on a grid of eight points per
// doubling of time since each phase began. Accuracy: 1e-12 of each value for rates x time up to 1e4. Checked in
// air_test (two-zone closed forms, purge times, 113-bit arithmetic, balance to 1e-12) and against SciPy's expm and
// LSODA (tests/tools/air_reference.py).
#pragma once

#include <Eigen/Dense>
#include <memory>
#include <optional>
#include <span>
#include <string>
#include <vector>

#include "air/scene.h"
#include "reason/fault.h"
#include "reason/reason.h"

namespace lathbook::air {

/// Part of a way through the house: in one zone from one time to another, hours since the start.
struct Leg {
  std::size_t zone = 0;
  double from_h = 0;
  double to_h = 0;
};

/// Where every fibre went, in fibres. What came in = emitted + at_start + from_outdoors.
struct Balance {
  double emitted = 0;         ///< by sources
  double at_start = 0;        ///< in the air and on floors at time 0
  double from_outdoors = 0;   ///< carried in with outdoor air
  double exhausted = 0;       ///< carried outdoors
  double deposited = 0;       ///< on floors at the end
  double airborne = 0;        ///< in the air at the end
  double removed = 0;         ///< by filters and off floors
  double relative_error = 0;  ///< |came in - accounted for| / came in
};

struct Levels {
  Eigen::VectorXd f_per_ml;    ///< per zone, all classes together
  Eigen::VectorXd f_per_ml_h;  ///< integral since time 0
};

class Solution {
 public:
  /// All faults of `check(scene)`, or the solution.
  [[nodiscard]] static reason::Result<Solution> of(const Scene& scene);

  [[nodiscard]] double total_h() const;
  [[nodiscard]] Levels at(double hours) const;

  /// Fibre level integrated over the legs, f/ml h.
  [[nodiscard]] double breathed_f_per_ml_h(std::span<const Leg> legs) const;
  /// The largest mean over any `window_h` of the level met along the legs (in order of time, not overlapping); outside
  /// the legs the air counts as clean. A way shorter than the window is averaged over the window all the same.
  [[nodiscard]] double largest_mean(std::span<const Leg> legs, double window_h) const;
  /// Hours from the end of the last source until the zone's level stays under `f_per_ml`; empty when it does not within
  /// the time computed.
  [[nodiscard]] std::optional<double> hours_until_below(std::size_t zone, double f_per_ml) const;

  [[nodiscard]] std::vector<double> phase_integrals_f_per_ml_h(std::size_t zone) const;
  [[nodiscard]] double end_load_f_per_cm2(std::size_t zone) const;
  [[nodiscard]] const Balance& balance() const;

  /// 0, each multiple of `report_every_min`, each phase's end, in minutes; and the level of each zone then (zones x
  /// times).
  [[nodiscard]] std::vector<double> report_times_min() const;
  [[nodiscard]] Eigen::MatrixXd report_levels(std::span<const double> times_min) const;

  /// How the answer came about, for its reader.
  [[nodiscard]] reason::Reasons reasons() const;

 private:
  struct Work;
  explicit Solution(std::shared_ptr<const Work> work) : work_(std::move(work)) {}
  std::shared_ptr<const Work> work_;
};

}  // namespace lathbook::air
