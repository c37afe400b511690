#include "waste/cover.h"

#include <algorithm>
#include <cmath>

namespace lathbook::waste {
namespace {

constexpr double kTiny = 1e-9;
constexpr double kRaise = 1e-7;
constexpr int kMostPivots = 5000;

}  // namespace

Cover::Cover(const Counts& demand)
    : kinds_(demand.size()),
      demand_(demand.begin(), demand.end()),
      basis_(kinds_),
      inverse_(kinds_ * kinds_, 0.0),
      prices_(kinds_, 1.0) {
  for (std::size_t i = 0; i < kinds_; ++i) {
    // Multiples of the golden ratio fall evenly and never together.
    const double spread = static_cast<double>(i + 1) * 0.6180339887498949;
    raised_.push_back(demand_[i] * (1 + kRaise * (spread - std::floor(spread))));
    basis_[i] = i;
    inverse(i, i) = 1;
    trips_ += demand_[i];
  }
  amounts_ = raised_;
}

void Cover::add(const Counts& load) { loads_.insert(loads_.end(), load.begin(), load.end()); }

double Cover::cost(std::size_t column) const { return column >= kinds_ && column < 2 * kinds_ ? 0 : 1; }

double Cover::entry(std::size_t column, std::size_t row) const {
  if (column < kinds_) return column == row ? 1 : 0;
  if (column < 2 * kinds_) return column - kinds_ == row ? -1 : 0;
  return loads_[(column - 2 * kinds_) * kinds_ + row];
}

void Cover::price() {
  std::ranges::fill(prices_, 0.0);
  for (std::size_t row = 0; row < kinds_; ++row) {
    if (cost(basis_[row]) == 0) continue;
    for (std::size_t i = 0; i < kinds_; ++i) prices_[i] += inverse(row, i);
  }
}

void Cover::solve() {
  const std::size_t loads = loads_.size() / std::max<std::size_t>(1, kinds_);
  std::vector<double> column(kinds_);
  for (int pivot = 0; pivot < kMostPivots; ++pivot) {
    price();
    // The column that lowers the number of trips fastest.
    std::size_t enters = 0;
    double most = kTiny;
    for (std::size_t i = 0; i < kinds_; ++i) {
      if (prices_[i] - 1 > most) most = prices_[i] - 1, enters = i;
      if (-prices_[i] > most) most = -prices_[i], enters = kinds_ + i;
    }
    for (std::size_t j = 0; j < loads; ++j) {
      const double* load = loads_.data() + j * kinds_;
      double worth = -1;
      for (std::size_t i = 0; i < kinds_; ++i) worth += prices_[i] * load[i];
      if (worth > most) most = worth, enters = 2 * kinds_ + j;
    }
    work_ += static_cast<std::int64_t>((loads + 4 * kinds_) * kinds_);
    if (most <= kTiny) break;
    for (std::size_t row = 0; row < kinds_; ++row) {
      column[row] = 0;
      for (std::size_t i = 0; i < kinds_; ++i) column[row] += inverse(row, i) * entry(enters, i);
    }
    std::size_t leaves = kinds_;
    for (std::size_t row = 0; row < kinds_; ++row) {
      if (column[row] <= kTiny) continue;
      if (leaves == kinds_ || amounts_[row] * column[leaves] < amounts_[leaves] * column[row]) leaves = row;
    }
    if (leaves == kinds_) break;  // no number of trips is below nothing: only rounding leads here
    const double step = amounts_[leaves] / column[leaves];
    for (std::size_t row = 0; row < kinds_; ++row) {
      if (row == leaves) continue;
      amounts_[row] = std::max(0.0, amounts_[row] - step * column[row]);
      if (column[row] == 0) continue;
      const double factor = column[row] / column[leaves];
      for (std::size_t i = 0; i < kinds_; ++i) inverse(row, i) -= factor * inverse(leaves, i);
    }
    amounts_[leaves] = step;
    for (std::size_t i = 0; i < kinds_; ++i) inverse(leaves, i) /= column[leaves];
    basis_[leaves] = enters;
  }
  trips_ = 0;
  for (std::size_t i = 0; i < kinds_; ++i) {
    prices_[i] = std::max(0.0, prices_[i]);
    trips_ += prices_[i] * demand_[i];
  }
}

std::vector<double> Cover::taken() const {
  std::vector<double> out(loads_.size() / std::max<std::size_t>(1, kinds_), 0.0);
  for (std::size_t row = 0; row < kinds_; ++row) {
    if (basis_[row] >= 2 * kinds_) out[basis_[row] - 2 * kinds_] = amounts_[row];
  }
  return out;
}

}  // namespace lathbook::waste
