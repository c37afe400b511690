#include "belief/detection.h"

#include <Eigen/Eigenvalues>
#include <algorithm>
#include <cmath>
#include <limits>
#include <vector>

namespace lathbook::belief {
namespace {

constexpr int kPoints = 64;

/// log(1 - exp(x)) for x <= 0, without losing small differences.
double log_one_minus_exp(double x) {
  if (x == 0) return -std::numeric_limits<double>::infinity();
  return x > -0.6931471805599453 ? std::log(-std::expm1(x)) : std::log1p(-std::exp(x));
}

/// log P(seen) when each sample comes back clear with probability `clear`, independently.
double log_seen(double clear, std::span<const Seen> seen) {
  double sum = 0;
  for (const auto& one : seen) {
    const double all_clear = one.samples * std::log(clear);
    sum += one.found ? log_one_minus_exp(all_clear) : all_clear;
  }
  return sum;
}

/// Points and weights for the mean over p; the weights add up to 1.
struct Shares {
  std::vector<double> share;
  std::vector<double> weight;
};

Shares shares_of(const std::optional<Patchiness>& patchiness) {
  if (!patchiness) return {{1.0}, {1.0}};
  const double a = patchiness->mean * patchiness->strength;
  const double b = (1 - patchiness->mean) * patchiness->strength;
  // Golub and Welsch: points and weights are the eigenvalues and first components of the eigenvectors of the symmetric
  // tridiagonal matrix of the recurrence of the Jacobi polynomials, here with weight p^(a-1) (1-p)^(b-1) on [0, 1].
  const double alpha = b - 1;
  const double beta = a - 1;
  Eigen::VectorXd diagonal(kPoints);
  Eigen::VectorXd beside(kPoints - 1);
  for (int k = 0; k < kPoints; ++k) {
    const double twice = 2.0 * k + alpha + beta;
    diagonal[k] = k == 0 ? (beta - alpha) / (alpha + beta + 2) : (beta * beta - alpha * alpha) / (twice * (twice + 2));
    if (k == 0) continue;
    const double n = k;
    // For n = 1 the factors n + α + β and 2n + α + β - 1 are equal and cancel; written out, they would be 0/0 at α + β
    // = -1.
    const double square =
        n == 1 ? 4 * (1 + alpha) * (1 + beta) / ((twice) * (twice) * (twice + 1))
               : 4 * n * (n + alpha) * (n + beta) * (n + alpha + beta) / (twice * twice * (twice + 1) * (twice - 1));
    beside[k - 1] = std::sqrt(square);
  }
  Eigen::SelfAdjointEigenSolver<Eigen::MatrixXd> solver;
  solver.computeFromTridiagonal(diagonal, beside);
  Shares shares;
  for (int k = 0; k < kPoints; ++k) {
    const double first = solver.eigenvectors()(0, k);
    shares.share.push_back(std::clamp((solver.eigenvalues()[k] + 1) / 2, 0.0, 1.0));
    shares.weight.push_back(first * first);
  }
  return shares;
}

}  // namespace

double log_if_none(double specificity, std::span<const Seen> seen) { return log_seen(specificity, seen); }

double log_if_asbestos(const Detection& detection, std::span<const Seen> seen) {
  if (seen.empty()) return 0;
  const auto shares = shares_of(detection.patchiness);
  std::vector<double> terms;
  for (std::size_t i = 0; i < shares.share.size(); ++i) {
    terms.push_back(std::log(shares.weight[i]) + log_seen(1 - shares.share[i] * detection.sensitivity, seen));
  }
  const double high = *std::max_element(terms.begin(), terms.end());
  if (std::isinf(high)) return high;
  double sum = 0;
  for (const double term : terms) sum += std::exp(term - high);
  return high + std::log(sum);
}

double miss_chance(const Detection& detection, int samples) {
  const auto shares = shares_of(detection.patchiness);
  double sum = 0;
  for (std::size_t i = 0; i < shares.share.size(); ++i) {
    sum += shares.weight[i] * std::pow(1 - shares.share[i] * detection.sensitivity, samples);
  }
  return sum;
}

std::optional<int> samples_for(const Detection& detection, double at_most, int limit) {
  const auto shares = shares_of(detection.patchiness);
  std::vector<double> left(shares.weight);
  for (int n = 1; n <= limit; ++n) {
    double miss = 0;
    for (std::size_t i = 0; i < left.size(); ++i) miss += (left[i] *= 1 - shares.share[i] * detection.sensitivity);
    if (miss < at_most) return n;
  }
  return std::nullopt;
}

}  // namespace lathbook::belief
