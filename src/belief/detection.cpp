#include "belief/detection.h"

#include <Eigen/Eigenvalues>
#include <algorithm>
#include <array>
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

Shares shares_of(const Patchiness& patchiness) {
  const double a = patchiness.mean * patchiness.strength;
  const double b = (1 - patchiness.mean) * patchiness.strength;
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

/// E[(1 - p s)^k] for k = 0 … most, with p ~ Beta(a, b). 1 - p s is (1 - s) + s (1 - p), so the k-th is the Bernstein
/// polynomial at s of the moments E[(1 - p)^j] = (b)_j / (a+b)_j, and de Casteljau's triangle holds them all.
std::vector<double> clear_chances(double a, double b, double s, int most) {
  std::vector<double> row = {1};
  for (int j = 0; j < most; ++j) row.push_back(row.back() * (b + j) / (a + b + j));
  std::vector<double> chances = {1};
  while (row.size() > 1) {
    for (std::size_t j = 0; j + 1 < row.size(); ++j) row[j] = (1 - s) * row[j] + s * row[j + 1];
    row.pop_back();
    chances.push_back(row.front());
  }
  return chances;
}

/// The same for a detection as given.
std::vector<double> chances_of(const Detection& detection, int most) {
  if (!detection.patchiness) {
    std::vector<double> chances = {1};
    for (int n = 0; n < most; ++n) chances.push_back(chances.back() * (1 - detection.sensitivity));
    return chances;
  }
  const auto [mean, strength] = *detection.patchiness;
  return clear_chances(mean * strength, (1 - mean) * strength, detection.sensitivity, most);
}

/// How many samples the finite sums are used for; their cost grows with the square.
constexpr int kMostForSums = 127;

/// How many samples there are, as far as it matters.
int total(std::span<const Seen> seen) {
  int sum = 0;
  for (const auto& one : seen) sum = std::min(sum, kMostForSums + 1) + std::min(one.samples, kMostForSums + 1);
  return sum;
}

/// With c = 1 - p s, a find among n is 1 - c^n = p s (1 + c + … + c^(n-1)). The p's of all finds change the Beta's a,
/// the rest is a polynomial in c: no term is negative.
double log_of_few(const Patchiness& patchiness, double s, std::span<const Seen> seen) {
  const double a = patchiness.mean * patchiness.strength;
  const double b = (1 - patchiness.mean) * patchiness.strength;
  std::vector<double> coefficient = {1};  // of c^k
  double log_finds = 0;
  int finds = 0;
  for (const auto& one : seen) {
    const auto n = static_cast<std::size_t>(one.samples);
    if (!one.found) {
      coefficient.insert(coefficient.begin(), n, 0);
      continue;
    }
    log_finds += std::log(s * (a + finds) / (a + b + finds));
    ++finds;
    std::vector<double> next(coefficient.size() + n - 1);
    for (std::size_t k = 0; k < coefficient.size(); ++k) {
      for (std::size_t j = 0; j < n; ++j) next[k + j] += coefficient[k];
    }
    coefficient = std::move(next);
  }
  const auto chances = clear_chances(a + finds, b, s, static_cast<int>(coefficient.size()) - 1);
  double sum = 0;
  for (std::size_t k = 0; k < coefficient.size(); ++k) sum += coefficient[k] * chances[k];
  return log_finds + std::log(sum);
}

}  // namespace

double log_if_none(double specificity, std::span<const Seen> seen) { return log_seen(specificity, seen); }

double log_if_asbestos(const Detection& detection, std::span<const Seen> seen) {
  if (seen.empty()) return 0;
  if (!detection.patchiness) return log_seen(1 - detection.sensitivity, seen);
  if (total(seen) <= kMostForSums) return log_of_few(*detection.patchiness, detection.sensitivity, seen);
  const auto shares = shares_of(*detection.patchiness);
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
  const std::array<Seen, 1> all_clear = {{{false, samples}}};
  return samples == 0 ? 1 : std::exp(log_if_asbestos(detection, all_clear));
}

std::optional<int> samples_for(const Detection& detection, double at_most, int limit) {
  // Most families need few: the first ten are worked out together.
  for (int most = 10, n = 1; n <= limit; most = limit) {
    most = std::min(most, limit);
    const auto chances = chances_of(detection, most);
    for (; n <= most; ++n) {
      if (chances[static_cast<std::size_t>(n)] < at_most) return n;
    }
  }
  return std::nullopt;
}

}  // namespace lathbook::belief
