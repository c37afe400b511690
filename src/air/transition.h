// One linear system of fibres moving between compartments, carried through a stretch of time exactly.
//
//   dx/dt = A x + b,  A = R - diag(lost + what leaves each column of R),  R >= 0, lost >= 0, b >= 0
//
// x are fibres in compartments (air of a zone, floor of a zone); R moves them between compartments, `lost` takes them
// away. Answers x(t) and its integral for any t up to the length given, to about 1e-13 of *each component* when that
// component's own decay is not itself ill-conditioned (relative error grows as decay rate x time x rounding, as it
// must), whatever the stiffness: nothing is ever subtracted. E(h) = exp(A h) and J(h) = integral of E come from a
// series of non-negative terms (uniformization) at a small h, then E(2h) = E(h)^2 and J(2h) = J + J E; after each
// doubling the columns are held to what the losses lost^T J say must be left (as in the algorithm of Grassmann, Taksar
// and Heyman), which stops rounding errors from doubling too. Checked against 113-bit arithmetic and against SciPy
// (air_test, tests/tools/air_reference.py).
#pragma once

#include <Eigen/Dense>
#include <vector>

namespace lathbook::air {

class Transition {
 public:
  /// `moved_per_h(j, i)`: share of compartment i that goes to j per hour; its diagonal is not read. `hours` > 0.
  Transition(const Eigen::MatrixXd& moved_per_h, const Eigen::VectorXd& lost_per_h, const Eigen::VectorXd& source_per_h,
             double hours);

  /// Fibres, and fibre-hours since the start.
  struct State {
    Eigen::VectorXd fibres;
    Eigen::VectorXd fibre_hours;
  };

  /// Carries `state` on by the time of one level, 2^level times the shortest.
  void step(int level, State& state) const;
  /// Carries `state` on by 0 <= `hours` <= the length given.
  void advance(double hours, State& state) const;

  /// The same system over another length of time.
  [[nodiscard]] Transition over(double hours) const { return {moved_, lost_, source_, hours}; }

  [[nodiscard]] int levels() const { return static_cast<int>(kept_.size()); }  ///< the last one is the whole length
  [[nodiscard]] double level_hours(int level) const;
  [[nodiscard]] double hours() const { return hours_; }

 private:
  void short_step(double hours, State& state) const;

  double hours_;
  double shortest_;  ///< hours of level 0
  double rate_;      ///< uniformization rate per hour
  Eigen::MatrixXd moved_;
  Eigen::VectorXd lost_;
  Eigen::MatrixXd jump_;
  Eigen::VectorXd source_;
  std::vector<Eigen::MatrixXd> kept_;      ///< E of each level
  std::vector<Eigen::MatrixXd> stayed_;    ///< J of each level
  std::vector<Eigen::VectorXd> grown_;     ///< J b
  std::vector<Eigen::VectorXd> gathered_;  ///< integral of J b
};

}  // namespace lathbook::air
