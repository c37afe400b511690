// Which things to pay for when a value is earned only once everything it needs is there.
//
// Choose a set T of things, each of a whole-number weight. A bundle earns its value when all it needs is in T:
//
//   F(k) = max over T of weight at most k of   sum of the values of the bundles whose needs lie in T
//
// For every k up to a limit. Things needed by the same bundles are one; what no bundle joins is solved apart and the
// parts are put together by dynamic programming. A part of up to 20 things is solved exactly, by the sum over all its
// subsets. A larger one by its concave hull: for a price λ per weight the best set is a smallest cut (polynomial), the
// sets so found are exact at their own weights, and between them the straight line is an upper bound; the gap there is
// closed by branch and bound over cuts, as far as a fixed number of nodes goes (no clock: the same answer everywhere).
//
// Pure integers and doubles: knows no material and no job. Checked against all subsets in cover_test.cpp; measured in
// bench/sampling_bench.cpp.
#pragma once

#include <cstddef>
#include <span>
#include <vector>

namespace lathbook::sampling {

struct Bundle {
  double value = 0;                ///< > 0
  std::vector<std::size_t> needs;  ///< positions of things, each once; not empty
};

/// The best for one weight limit.
struct Cover {
  double value = 0;
  double at_most = 0;               ///< no set within the limit earns more; equal to `value` when that is proved
  std::vector<std::size_t> chosen;  ///< ascending; of the least weight that earns `value`, as far as is known
};

/// F(0), F(1) … up to the smaller of `limit` and the weight of all things that a bundle needs. `weights` are at least
/// 1.
[[nodiscard]] std::vector<Cover> best_by_weight(std::span<const int> weights, std::span<const Bundle> bundles,
                                                int limit);

/// The set of things that maximises value minus price, `price` by thing: the smallest such set. Exact.
[[nodiscard]] std::vector<std::size_t> best_at_price(std::span<const double> price, std::span<const Bundle> bundles);

}  // namespace lathbook::sampling
