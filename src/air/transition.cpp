#include "air/transition.h"

#include <algorithm>
#include <array>
#include <cmath>

namespace lathbook::air {
namespace {

// At rate x h <= 1/16 ten terms leave (1/16)^10/10! = 2.5e-19.
constexpr double kShort = 1.0 / 16;
constexpr int kTerms = 10;
constexpr int kFewestDoublings = 8;  // so that chains of more than ten moves within one short step do not matter

/// Poisson(rate h) terms, their tails P(N >= k) and the sums of those tails, all by adding small to large.
struct Terms {
  std::array<double, kTerms + 2> term{};
  std::array<double, kTerms + 3> tail{};      // tail[k] = P(N >= k)
  std::array<double, kTerms + 4> tail_sum{};  // tail_sum[k] = sum over i >= k of P(N >= i)
};

Terms poisson(double mean) {
  Terms out;
  double power = std::exp(-mean);
  for (int k = 0; k < kTerms + 2; ++k) {
    out.term[static_cast<std::size_t>(k)] = power;
    power *= mean / (k + 1);
  }
  for (std::size_t k = kTerms + 2; k-- > 0;) {
    out.tail[k] = out.tail[k + 1] + out.term[k];
    out.tail_sum[k] = out.tail_sum[k + 1] + out.tail[k];
  }
  return out;
}

/// Puts the diagonal of each column (or, where most has moved, the whole column) to what the losses leave.
void hold_columns(const Eigen::VectorXd& lost, const Eigen::MatrixXd& stayed, Eigen::MatrixXd& kept) {
  const Eigen::RowVectorXd gone = lost.transpose() * stayed;
  for (Eigen::Index i = 0; i < kept.cols(); ++i) {
    const double diagonal = kept(i, i);
    kept(i, i) = 0;
    const double moved = kept.col(i).sum();
    if (moved + gone(i) < 0.5) {
      kept(i, i) = 1 - (moved + gone(i));
    } else {
      kept(i, i) = diagonal;
      if (gone(i) < 0.5) kept.col(i) *= (1 - gone(i)) / (moved + diagonal);
    }
  }
}

}  // namespace

Transition::Transition(const Eigen::MatrixXd& moved_per_h, const Eigen::VectorXd& lost_per_h,
                       const Eigen::VectorXd& source_per_h, double hours)
    : hours_(hours), moved_(moved_per_h), lost_(lost_per_h), source_(source_per_h) {
  const Eigen::Index n = lost_.size();
  moved_.diagonal().setZero();
  const Eigen::VectorXd leaving = moved_.colwise().sum().transpose() + lost_;
  rate_ = std::max(n > 0 ? leaving.maxCoeff() : 0.0, kShort / hours * 1e-3);
  int doublings = kFewestDoublings;
  while (rate_ * std::ldexp(hours, -doublings) > kShort) ++doublings;
  shortest_ = std::ldexp(hours, -doublings);

  jump_ = moved_ / rate_;
  jump_.diagonal() = Eigen::VectorXd::Ones(n) - leaving / rate_;

  const Terms terms = poisson(rate_ * shortest_);
  Eigen::MatrixXd power = Eigen::MatrixXd::Identity(n, n);
  Eigen::MatrixXd kept = Eigen::MatrixXd::Zero(n, n);
  Eigen::MatrixXd stayed = Eigen::MatrixXd::Zero(n, n);
  Eigen::MatrixXd gathered = Eigen::MatrixXd::Zero(n, n);
  for (std::size_t k = 0; k < kTerms; ++k) {
    kept += terms.term[k] * power;
    stayed += terms.tail[k + 1] / rate_ * power;
    gathered += terms.tail_sum[k + 2] / (rate_ * rate_) * power;
    power = jump_ * power;
  }
  hold_columns(lost_, stayed, kept);

  Eigen::VectorXd grown = stayed * source_;
  Eigen::VectorXd gathered_source = gathered * source_;
  double h = shortest_;
  for (int level = 0;; ++level) {
    kept_.push_back(kept);
    stayed_.push_back(stayed);
    grown_.push_back(grown);
    gathered_.push_back(gathered_source);
    if (level == doublings) break;
    gathered_source += h * grown + kept * gathered_source;
    grown += kept * grown;
    stayed += stayed * kept;
    kept = kept * kept;
    hold_columns(lost_, stayed, kept);
    h *= 2;
  }
}

double Transition::level_hours(int level) const {
  return level + 1 == levels() ? hours_ : std::ldexp(shortest_, level);
}

void Transition::step(int level, State& state) const {
  const auto i = static_cast<std::size_t>(level);
  state.fibre_hours += stayed_[i] * state.fibres + gathered_[i];
  state.fibres = kept_[i] * state.fibres + grown_[i];
}

void Transition::advance(double hours, State& state) const {
  if (hours >= hours_) {
    step(levels() - 1, state);
    return;
  }
  double left = hours;
  for (int level = levels() - 2; level >= 0; --level) {
    const double h = std::ldexp(shortest_, level);
    if (left < h) continue;
    step(level, state);
    left -= h;  // exact: both are multiples of the last bit of `hours`
  }
  if (left > 0) short_step(left, state);
}

void Transition::short_step(double hours, State& state) const {
  const Terms terms = poisson(rate_ * hours);
  Eigen::VectorXd power = state.fibres;
  Eigen::VectorXd source = source_;
  Eigen::VectorXd fibres = Eigen::VectorXd::Zero(power.size());
  for (std::size_t k = 0; k < kTerms; ++k) {
    fibres += terms.term[k] * power + terms.tail[k + 1] / rate_ * source;
    state.fibre_hours += terms.tail[k + 1] / rate_ * power + terms.tail_sum[k + 2] / (rate_ * rate_) * source;
    power = jump_ * power;
    source = jump_ * source;
  }
  state.fibres = fibres;
}

}  // namespace lathbook::air
