// The fewest loads when a load may be taken in part: a linear program, for what it says of the whole one.
//
//   least Σ x_j   so that   Σ x_j a_ij ≥ demand_i for each kind i,   x ≥ 0
// over the loads j known so far (a_ij pieces of kind i). Its prices p ≥ 0 have Σ p_i demand_i = Σ x_j and p · a_j ≤ 1
// for each known load; where that holds for every load that goes, known or not, no plan has fewer than Σ p_i demand_i
// trips (Gilmore & Gomory 1961). Whoever uses the prices as a proof must show that of all loads: nothing here is
// trusted.
//
// Revised simplex from one load for each piece, the most promising column first; each demand is raised by a hair of its
// own (1e-7 at most) so that no two bases tie. Sizes: some dozens of kinds, some thousands of loads.
// Checked in cover_test.cpp: closed forms; that loads and prices prove each other to be best.
#pragma once

#include <cstdint>
#include <span>
#include <vector>

#include "waste/layout.h"

namespace lathbook::waste {

class Cover {
 public:
  /// Demands above 0.
  explicit Cover(const Counts& demand);

  /// A load: so many of each kind.
  void add(const Counts& load);

  /// Solves for the loads there are; again after more were added goes on from where it was.
  void solve();

  [[nodiscard]] double trips() const { return trips_; }
  [[nodiscard]] std::span<const double> prices() const { return prices_; }  ///< of each kind, none below 0
  /// How much of each load is taken, in the order they were added.
  [[nodiscard]] std::vector<double> taken() const;
  /// Products of numbers done so far.
  [[nodiscard]] std::int64_t work() const { return work_; }

 private:
  [[nodiscard]] double& inverse(std::size_t row, std::size_t column) { return inverse_[row * kinds_ + column]; }
  [[nodiscard]] double entry(std::size_t column, std::size_t row) const;
  [[nodiscard]] double cost(std::size_t column) const;
  void price();

  // Columns: one load of a single piece of each kind, one surplus of each kind, then the loads added.
  std::size_t kinds_ = 0;
  std::vector<double> demand_;
  std::vector<double> raised_;
  std::vector<double> loads_;  ///< row by row, one a load
  std::vector<std::size_t> basis_;
  std::vector<double> inverse_;
  std::vector<double> amounts_;
  std::vector<double> prices_;
  double trips_ = 0;
  std::int64_t work_ = 0;
};

}  // namespace lathbook::waste
