// Testing in rounds: what to test first, and what next once the results are known.
//
// The exact policy by dynamic programming over what is known: each thing is untested, clear or found. With G(S) the
// probability that all of S are found clear, the probability of a state (A clear, B found) follows by inclusion and
// exclusion, P(A, B + b) = P(A, B) - P(A + b, B), and the best policy by
//
//   W(s) = max( earned(s) P(s),  max over sets R of untested things of  sum over results of W(s + result) - cost(R)
//   P(s)
//   )
//
// where a job earns its gain once all it needs is clear, and a round costs `per_round` beside `each` for every unit of
// weight. Without a cost per round one thing at a time is best, and only that is tried. 3^n states; with rounds that
// cost, 5^n steps. Checked against recursion over explicit worlds in test_choice_test.cpp.
#pragma once

#include <cstddef>
#include <cstdint>
#include <span>
#include <vector>

namespace lathbook::sampling {

struct Step;

/// What came back of a round, and what is then best.
struct Branch {
  std::vector<std::size_t> clear;
  std::vector<std::size_t> found;
  double probability = 0;  ///< given that the round is reached
  std::vector<Step> next;  ///< empty = stop, else one
};

/// One round.
struct Step {
  std::vector<std::size_t> test;  ///< ascending
  std::vector<Branch> branches;   ///< empty when the tree was cut short here
};

struct RoundsQuestion {
  std::vector<int> weights;  ///< of each thing, at least 1; at most kMostInRounds things
  struct Job {
    double gain = 0;
    std::uint32_t needs = 0;  ///< bits of things, not 0
  };
  std::vector<Job> jobs;
  std::vector<double> all_clear;  ///< G, by bits: 2^n values
  double first_round = 0;         ///< paid with the first round
  double later_round = 0;         ///< paid with every later one
  double each = 0;                ///< for a unit of weight
  int weight_limit = 0;
};

struct RoundsAnswer {
  double saving = 0;        ///< expected, over testing nothing; never negative
  std::vector<Step> first;  ///< empty = test nothing, else one
};

inline constexpr std::size_t kMostInRounds = 10;
inline constexpr std::size_t kMostInDearRounds = 8;  ///< when a later round costs something

/// `steps_shown` limits the tree that is spelled out, not the policy.
[[nodiscard]] RoundsAnswer best_in_rounds(const RoundsQuestion& question, std::size_t steps_shown);

}  // namespace lathbook::sampling
