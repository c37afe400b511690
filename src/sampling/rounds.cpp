#include "sampling/rounds.h"

#include <algorithm>
#include <bit>
#include <cmath>
#include <numeric>
#include <stdexcept>

namespace lathbook::sampling {
namespace {

using Bits = std::uint32_t;

class Policy {
 public:
  explicit Policy(const RoundsQuestion& question) : q_(question), n_(question.weights.size()) {
    if (n_ > kMostInRounds || q_.all_clear.size() != std::size_t{1} << n_)
      throw std::logic_error("too many things for the exact policy, or no chance for each set");
    // Base 3: digit 0 untested, 1 clear, 2 found. clear_place[mask] is the number with digit 1 at each bit.
    place_.assign(std::size_t{1} << n_, 0);
    std::size_t power = 1;
    for (std::size_t t = 0; t < n_; ++t, power *= 3) {
      for (Bits mask = 0; mask < (Bits{1} << t); ++mask) place_[mask | (Bits{1} << t)] = place_[mask] + power;
    }
    states_ = power;
    fill_chances();
    solve();
  }

  [[nodiscard]] double saving() const { return worth_[0]; }

  [[nodiscard]] std::vector<Step> tree(Bits clear, Bits found, std::size_t& left) const {
    const Bits round = choice_[at(clear, found)];
    if (round == 0) return {};
    Step step{positions(round), {}};
    if (left == 0) return {step};
    --left;
    const double here = chance_[at(clear, found)];
    for (Bits ok = round;; ok = (ok - 1) & round) {
      const Bits bad = round & ~ok;
      const double p = chance_[at(clear | ok, found | bad)];
      if (p > 1e-14 * here)
        step.branches.push_back({positions(ok), positions(bad), p / here, tree(clear | ok, found | bad, left)});
      if (ok == 0) break;
    }
    return {step};
  }

 private:
  [[nodiscard]] std::size_t at(Bits clear, Bits found) const { return place_[clear] + 2 * place_[found]; }

  static std::vector<std::size_t> positions(Bits bits) {
    std::vector<std::size_t> list;
    for (; bits != 0; bits &= bits - 1) list.push_back(static_cast<std::size_t>(std::countr_zero(bits)));
    return list;
  }

  [[nodiscard]] Bits everything() const { return (Bits{1} << n_) - 1; }

  void fill_chances() {
    chance_.assign(states_, 0.0);
    for (Bits found = 0; found <= everything(); ++found) {
      const Bits others = everything() & ~found;
      for (Bits clear = others;; clear = (clear - 1) & others) {
        if (found == 0) {
          chance_[at(clear, 0)] = q_.all_clear[clear];
        } else {
          const Bits b = found & (~found + 1);
          // Differences of nearly equal numbers may fall a hair below 0.
          chance_[at(clear, found)] =
              std::max(0.0, chance_[at(clear, found & ~b)] - chance_[at(clear | b, found & ~b)]);
        }
        if (clear == 0) break;
      }
    }
  }

  void solve() {
    worth_.assign(states_, 0.0);
    choice_.assign(states_, 0);
    std::vector<int> weight(std::size_t{1} << n_, 0);
    for (Bits mask = 1; mask <= everything() && n_ > 0; ++mask)
      weight[mask] = weight[mask & (mask - 1)] + q_.weights[static_cast<std::size_t>(std::countr_zero(mask))];
    double most = 0;
    for (const auto& job : q_.jobs) most += job.gain;
    const bool batches = q_.later_round > 0;
    // More tested first: those states have what they lead to worked out already.
    std::vector<Bits> order(std::size_t{1} << n_);
    std::iota(order.begin(), order.end(), Bits{0});
    std::sort(order.begin(), order.end(), [](Bits a, Bits b) { return std::popcount(a) > std::popcount(b); });
    for (const Bits tested : order) {
      const Bits untested = everything() & ~tested;
      std::vector<Bits> rounds;
      for (Bits round = untested; round != 0; round = (round - 1) & untested) {
        if (weight[tested] + weight[round] > q_.weight_limit) continue;
        if (batches || std::has_single_bit(round)) rounds.push_back(round);
      }
      // Fewer tests first, then earlier things, so that a tie is settled so.
      std::sort(rounds.begin(), rounds.end(),
                [&](Bits a, Bits b) { return weight[a] != weight[b] ? weight[a] < weight[b] : a < b; });
      for (Bits clear = tested;; clear = (clear - 1) & tested) {
        const Bits found = tested & ~clear;
        const std::size_t here = at(clear, found);
        double best = 0;
        for (const auto& job : q_.jobs) {
          if ((job.needs & ~clear) == 0) best += job.gain;
        }
        best *= chance_[here];
        for (const Bits round : rounds) {
          double worth = -(q_.each * weight[round] + (tested == 0 ? q_.first_round : q_.later_round)) * chance_[here];
          for (Bits ok = round;; ok = (ok - 1) & round) {
            worth += worth_[at(clear | ok, found | (round & ~ok))];
            if (ok == 0) break;
          }
          if (worth > best + 1e-13 * most) {
            best = worth;
            choice_[here] = round;
          }
        }
        worth_[here] = best;
        if (clear == 0) break;
      }
    }
  }

  const RoundsQuestion& q_;
  std::size_t n_;
  std::size_t states_ = 1;
  std::vector<std::size_t> place_;
  std::vector<double> chance_;
  std::vector<double> worth_;
  std::vector<Bits> choice_;
};

}  // namespace

RoundsAnswer best_in_rounds(const RoundsQuestion& question, std::size_t steps_shown) {
  const Policy policy(question);
  RoundsAnswer answer;
  answer.saving = policy.saving();
  answer.first = policy.tree(0, 0, steps_shown);
  return answer;
}

}  // namespace lathbook::sampling
