#include "sampling/test_choice.h"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>
#include <limits>
#include <map>
#include <numeric>
#include <set>
#include <stdexcept>
#include <unordered_map>

#include "sampling/cover.h"

namespace lathbook::sampling {
namespace {

constexpr double kNever = -std::numeric_limits<double>::infinity();
constexpr std::size_t kStepsShown = 200;
constexpr std::size_t kJobsForSkipping = 10;

std::string listed(const std::vector<std::string>& names) {
  if (names.size() < 2) return names.empty() ? "" : names.front();
  return fmt::format("{} and {}", fmt::join(names.begin(), names.end() - 1, ", "), names.back());
}

reason::Faults faults_of(const ChoiceQuestion& question) {
  reason::Faults faults;
  const auto probability = [&](double value, const std::string& where) {
    if (!(value >= 0 && value <= 1))
      faults.push_back({where, fmt::format("{}", value), "is no probability", "a number from 0 to 1"});
  };
  const auto cost = [&](double value, const std::string& where) {
    if (!(value >= 0) || !std::isfinite(value))
      faults.push_back({where, fmt::format("{}", value), "is no cost", "0 or more"});
  };
  std::set<std::string_view> known;
  for (std::size_t m = 0; m < question.materials.size(); ++m) {
    probability(question.materials[m].probability, fmt::format("/materials/{}/probability", m));
    known.insert(question.materials[m].name.id);
  }
  std::set<std::string_view> jobs;
  for (std::size_t j = 0; j < question.jobs.size(); ++j) {
    const auto& job = question.jobs[j];
    const auto at = fmt::format("/jobs/{}", j);
    if (!jobs.insert(job.id).second) faults.push_back({at + "/id", job.id, "is there twice", "each id once"});
    for (std::size_t t = 0; t < job.touches.size(); ++t) {
      if (!known.contains(job.touches[t])) {
        faults.push_back({fmt::format("{}/touches/{}", at, t), job.touches[t], "is no material here",
                          "the id of one of the materials"});
      }
    }
    cost(job.cost_plain, at + "/cost_plain");
    cost(job.cost_as_asbestos, at + "/cost_as_asbestos");
    if (job.cost_elsewhere) cost(*job.cost_elsewhere, at + "/cost_elsewhere");
  }
  cost(question.test.fixed, "/test/fixed");
  cost(question.test.each, "/test/each");
  cost(question.test.again, "/test/again");
  cost(question.test.waiting, "/test/waiting");
  if (question.test.budget) cost(*question.test.budget, "/budget");
  return faults;
}

class Chooser {
 public:
  Chooser(const ChoiceQuestion& question, const belief::Forest& forest)
      : q_(question), forest_(forest), model_(belief::Model::of_presence(forest, priors(question))) {
    look_at_pieces();
    look_at_jobs();
    gather_things();
  }

  Choice run() {
    choose_set();
    order_tests();
    say_what_each_saves();
    say_why_not();
    choose_in_rounds();
    explain();
    return std::move(choice_);
  }

 private:
  /// What a material says of the need of a test.
  enum class Need { kNone, kReleased, kBarred, kTest };

  struct Piece {
    std::vector<std::size_t> members;
    std::size_t tested = 0;  ///< the member a test is of
    bool identified = false;
    double clear = 0;  ///< P(found clear)
    std::optional<std::size_t> thing;
  };

  struct Job {
    double now = 0;
    double gain = 0;                  ///< what plain work saves
    std::vector<std::size_t> pieces;  ///< that have to be found clear
    double clear = 0;                 ///< P(all of them are)
    bool barred = false;              ///< something it touches was identified
    [[nodiscard]] double value() const { return barred || pieces.empty() ? 0 : gain * clear; }
  };

  static std::vector<double> priors(const ChoiceQuestion& question) {
    std::vector<double> own;
    for (const auto& material : question.materials) own.push_back(material.probability);
    return own;
  }

  [[nodiscard]] const std::string& id(std::size_t material) const { return q_.materials[material].name.id; }
  [[nodiscard]] const std::string& tested_id(std::size_t piece) const { return id(pieces_[piece].tested); }
  [[nodiscard]] int samples(std::size_t piece) const { return q_.materials[pieces_[piece].tested].samples; }

  [[nodiscard]] Need need_of(std::size_t material) const {
    const auto& one = q_.materials[material];
    if (pieces_[forest_.piece_of(material)].identified) return Need::kBarred;
    if (one.released) return Need::kReleased;
    if (one.probability == 0 && !forest_.materials()[material].group) return Need::kNone;
    return Need::kTest;
  }

  /// P(every one of `pieces` is found clear), given what was seen.
  [[nodiscard]] double all_clear(const std::vector<std::size_t>& pieces) {
    auto logs = seen_;
    for (const auto p : pieces) {
      const auto& one = q_.materials[pieces_[p].tested];
      logs[2 * p] += std::log(one.clear_if_none);
      logs[2 * p + 1] += std::log(one.clear_if_asbestos);
    }
    return std::min(1.0, std::exp(model_.log_evidence(logs) - log_seen_));
  }

  [[nodiscard]] double none_in(const std::vector<std::size_t>& pieces) {
    auto logs = seen_;
    for (const auto p : pieces) logs[2 * p + 1] = kNever;
    return std::min(1.0, std::exp(model_.log_evidence(logs) - log_seen_));
  }

  void look_at_pieces() {
    pieces_.resize(forest_.piece_count());
    seen_ = model_.nothing_seen();
    for (std::size_t m = 0; m < q_.materials.size(); ++m) {
      const auto& material = q_.materials[m];
      const auto p = forest_.piece_of(m);
      auto& piece = pieces_[p];
      if (piece.members.empty() || material.samples < q_.materials[piece.tested].samples) piece.tested = m;
      piece.members.push_back(m);
      piece.identified = piece.identified || material.identified;
      seen_[2 * p] += material.log_seen_if_none;
      seen_[2 * p + 1] += material.log_seen_if_asbestos;
    }
    log_seen_ = model_.log_evidence(seen_);
    if (log_seen_ == kNever) throw std::logic_error("what was seen cannot be");
  }

  void look_at_jobs() {
    std::unordered_map<std::string_view, std::size_t> material_at;
    for (std::size_t m = 0; m < q_.materials.size(); ++m) material_at.emplace(id(m), m);
    jobs_of_.resize(q_.materials.size());
    for (std::size_t j = 0; j < q_.jobs.size(); ++j) {
      const auto& from = q_.jobs[j];
      Job job;
      for (const auto& touched : from.touches) {
        const auto m = material_at.at(touched);
        if (jobs_of_[m].empty() || jobs_of_[m].back() != j) jobs_of_[m].push_back(j);
        const auto need = need_of(m);
        job.barred = job.barred || need == Need::kBarred;
        if (need == Need::kTest) job.pieces.push_back(forest_.piece_of(m));
      }
      std::sort(job.pieces.begin(), job.pieces.end());
      job.pieces.erase(std::unique(job.pieces.begin(), job.pieces.end()), job.pieces.end());
      const double other = std::min(from.cost_as_asbestos, from.cost_elsewhere.value_or(from.cost_as_asbestos));
      job.gain = std::max(0.0, other - from.cost_plain);
      job.now = job.pieces.empty() && !job.barred ? other - job.gain : other;
      choice_.cost_now += job.now;
      double known = job.now;
      if (!job.barred && !job.pieces.empty() && job.gain > 0) {
        job.clear = all_clear(job.pieces);
        known -= job.gain * none_in(job.pieces);
      }
      choice_.cost_with_perfect_information += known;
      jobs_.push_back(std::move(job));
    }
  }

  /// The pieces some job hangs on, in the order of the materials a test would be of.
  void gather_things() {
    std::vector<std::size_t> wanted;
    for (const auto& job : jobs_) {
      if (job.value() > 0) wanted.insert(wanted.end(), job.pieces.begin(), job.pieces.end());
    }
    std::sort(wanted.begin(), wanted.end(),
              [&](std::size_t a, std::size_t b) { return pieces_[a].tested < pieces_[b].tested; });
    wanted.erase(std::unique(wanted.begin(), wanted.end()), wanted.end());
    for (const auto p : wanted) {
      pieces_[p].thing = things_.size();
      pieces_[p].clear = all_clear({p});
      things_.push_back(p);
      weights_.push_back(samples(p));
    }
    for (std::size_t j = 0; j < jobs_.size(); ++j) {
      if (jobs_[j].value() <= 0) continue;
      Bundle bundle{jobs_[j].value(), {}};
      for (const auto p : jobs_[j].pieces) bundle.needs.push_back(*pieces_[p].thing);
      bundles_.push_back(std::move(bundle));
      job_of_bundle_.push_back(j);
    }
  }

  [[nodiscard]] double first_cost() const { return q_.test.fixed + q_.test.waiting; }

  /// How many samples the budget pays for.
  [[nodiscard]] int affordable() const {
    const int all = std::accumulate(weights_.begin(), weights_.end(), 0);
    if (!q_.test.budget) return all;
    const double left = *q_.test.budget - q_.test.fixed;
    if (left < 0) return 0;
    if (q_.test.each * all <= left) return all;
    // 100 pays for four at 25, whatever the last bit says.
    return static_cast<int>(std::floor(left / q_.test.each * (1 + 1e-12) + 1e-12));
  }

  [[nodiscard]] double test_cost(int count) const { return count == 0 ? 0 : first_cost() + q_.test.each * count; }

  [[nodiscard]] int weight_of(const std::vector<std::size_t>& set) const {
    int weight = 0;
    for (const auto t : set) weight += weights_[t];
    return weight;
  }

  void choose_set() {
    const auto covers = best_by_weight(weights_, bundles_, affordable());
    const double small = 1e-12 * std::max(choice_.cost_now, 1e-300);
    choice_.cost_best = choice_.cost_now;
    double bound = choice_.cost_now;
    for (std::size_t k = 0; k < covers.size(); ++k) {
      const auto& cover = covers[k];
      const int weight = weight_of(cover.chosen);
      const double cost = choice_.cost_now - cover.value + test_cost(weight);
      if (cost < choice_.cost_best - small) {
        choice_.cost_best = cost;
        set_ = cover.chosen;
      }
      const double least = choice_.cost_now - cover.at_most + test_cost(static_cast<int>(k));
      bound = std::min(bound, least);
      auto padded = cover.chosen;
      pad(padded, static_cast<int>(k) - weight);
      if (weight_of(padded) != static_cast<int>(k)) continue;  // several samples a piece: not every number can be had
      CurvePoint point{{}, static_cast<int>(k), choice_.cost_now - cover.value + test_cost(static_cast<int>(k)), least};
      for (const auto t : padded) point.tests.push_back(tested_id(things_[t]));
      choice_.curve.push_back(std::move(point));
    }
    const double spread = choice_.cost_best - bound;
    choice_.exact = spread <= 1e-9 * std::max(1e-300, choice_.cost_now);
    choice_.gap = choice_.exact || choice_.cost_best <= 0 ? 0 : spread / choice_.cost_best;
  }

  void pad(std::vector<std::size_t>& set, int missing) const {
    for (std::size_t t = 0; t < weights_.size() && missing > 0; ++t) {
      if (weights_[t] > missing || std::binary_search(set.begin(), set.end(), t)) continue;
      set.insert(std::upper_bound(set.begin(), set.end(), t), t);
      missing -= weights_[t];
    }
  }

  /// What most repays its tests first; within one job first what is likeliest to be found, since that saves the rest.
  void order_tests() {
    std::vector<bool> in(things_.size(), false);
    for (const auto t : set_) in[t] = true;
    std::vector<bool> done(things_.size(), false);
    while (true) {
      double best = -1;
      std::vector<std::size_t> pick;
      for (const auto& bundle : bundles_) {
        std::vector<std::size_t> more;
        bool possible = true;
        for (const auto t : bundle.needs) {
          possible = possible && in[t];
          if (!done[t]) more.push_back(t);
        }
        if (!possible || more.empty()) continue;
        double value = 0;
        for (const auto& other : bundles_) {
          const bool fresh =
              std::any_of(other.needs.begin(), other.needs.end(), [&](std::size_t t) { return !done[t]; });
          const bool covered = std::all_of(other.needs.begin(), other.needs.end(), [&](std::size_t t) {
            return done[t] || std::find(more.begin(), more.end(), t) != more.end();
          });
          if (fresh && covered) value += other.value;
        }
        const double rate = value / weight_of(more);
        if (rate > best * (1 + 1e-12)) {
          best = rate;
          pick = std::move(more);
        }
      }
      if (pick.empty()) break;
      std::stable_sort(pick.begin(), pick.end(), [&](std::size_t a, std::size_t b) {
        return pieces_[things_[a]].clear < pieces_[things_[b]].clear;
      });
      for (const auto t : pick) {
        done[t] = true;
        order_.push_back(t);
      }
    }
    for (const auto t : order_) choice_.tests.push_back(tested_id(things_[t]));
  }

  void say_what_each_saves() {
    for (const auto t : order_) {
      Worth worth{tested_id(things_[t]), weights_[t], -q_.test.each * weights_[t], pieces_[things_[t]].clear, {}};
      if (order_.size() == 1) worth.saves -= first_cost();
      for (std::size_t b = 0; b < bundles_.size(); ++b) {
        const auto needs = sorted(bundles_[b].needs);
        if (!std::binary_search(needs.begin(), needs.end(), t)) continue;
        if (!std::includes(set_.begin(), set_.end(), needs.begin(), needs.end())) continue;
        worth.saves += bundles_[b].value;
        worth.jobs.push_back(q_.jobs[job_of_bundle_[b]].id);
      }
      choice_.worth.push_back(std::move(worth));
    }
  }

  static std::vector<std::size_t> sorted(std::vector<std::size_t> list) {
    std::sort(list.begin(), list.end());
    return list;
  }

  void say_why_not() {
    for (std::size_t m = 0; m < q_.materials.size(); ++m) {
      const auto& piece = pieces_[forest_.piece_of(m)];
      const bool planned = piece.thing && std::binary_search(set_.begin(), set_.end(), *piece.thing);
      if (planned && piece.tested == m) continue;
      if (jobs_of_[m].empty()) {
        if (!planned) choice_.not_worth.push_back({id(m), "No planned job touches it.", true});
        continue;
      }
      choice_.not_worth.push_back(
          {id(m), planned ? fmt::format("The test of {} covers it: same piece.", id(piece.tested)) : why_not(m),
           false});
    }
  }

  std::string why_not(std::size_t m) {
    switch (need_of(m)) {
      case Need::kReleased:
        return "Plain work on it is released already.";
      case Need::kNone:
        return "Its probability is 0 and it is in no group: no test is needed.";
      case Need::kBarred:
        return "Asbestos was found in it or its piece: no further test releases it.";
      case Need::kTest:
        break;
    }
    const auto p = forest_.piece_of(m);
    std::vector<std::string> gaining;
    std::vector<std::string> all;
    for (const auto j : jobs_of_[m]) {
      all.push_back(q_.jobs[j].id);
      if (jobs_[j].gain > 0) gaining.push_back(q_.jobs[j].id);
    }
    if (gaining.empty()) {
      return fmt::format("{} would cost no less if it were found clear.", listed(all));
    }
    if (!pieces_[p].thing) {
      if (all_clear({p}) <= 0) return "As things stand it is certain to hold asbestos: no test would find it clear.";
      const bool found = std::all_of(jobs_of_[m].begin(), jobs_of_[m].end(),
                                     [&](std::size_t j) { return jobs_[j].gain <= 0 || jobs_[j].barred; });
      return fmt::format("{} also touch{} something {}.", listed(gaining), gaining.size() == 1 ? "es" : "",
                         found ? "in which asbestos was found" : "that is certain to hold asbestos");
    }
    return why_too_dear(*pieces_[p].thing);
  }

  /// The best set of further tests that holds `thing`: what it would save and cost.
  [[nodiscard]] std::string why_too_dear(std::size_t thing) const {
    std::vector<double> price(things_.size());
    for (std::size_t t = 0; t < price.size(); ++t) price[t] = q_.test.each * weights_[t];
    for (const auto t : set_) price[t] = 0;
    price[thing] = 0;
    // Only what hangs on `thing`: the rest has been found not worth it, or is done already.
    std::vector<Bundle> hanging;
    for (const auto& bundle : bundles_) {
      if (std::find(bundle.needs.begin(), bundle.needs.end(), thing) != bundle.needs.end()) hanging.push_back(bundle);
    }
    auto extra = best_at_price(price, hanging);
    if (extra.empty()) {  // nothing repays even the others it needs: take the job that comes nearest to it
      double best = kNever;
      for (const auto& bundle : hanging) {
        double net = bundle.value;
        for (const auto t : bundle.needs) net -= price[t];
        if (net > best) {
          best = net;
          extra = sorted(bundle.needs);
        }
      }
    }
    if (!std::binary_search(extra.begin(), extra.end(), thing))
      extra = sorted([&] {
        auto with = extra;
        with.push_back(thing);
        return with;
      }());
    double saves = 0;
    for (const auto& bundle : hanging) {
      const auto needs = sorted(bundle.needs);
      if (std::all_of(needs.begin(), needs.end(), [&](std::size_t t) {
            return std::binary_search(extra.begin(), extra.end(), t) || std::binary_search(set_.begin(), set_.end(), t);
          }))
        saves += bundle.value;
    }
    std::vector<std::string> others;
    int count = 0;
    for (const auto t : extra) {
      if (std::binary_search(set_.begin(), set_.end(), t)) continue;
      count += weights_[t];
      if (t != thing) others.push_back(tested_id(things_[t]));
    }
    const double cost = q_.test.each * count + (set_.empty() ? first_cost() : 0);
    const auto with = others.empty() ? std::string() : fmt::format(" together with {}", listed(others));
    if (saves > cost * (1 + 1e-9)) {
      return fmt::format(
          "Testing it{} costs {} and would save {} on average, but {}.", with, sum(cost), sum(saves),
          q_.test.budget ? "the budget does not reach that far" : "other tests were found to serve better");
    }
    return fmt::format("Testing it{} costs {} and would save {} on average.", with, sum(cost), sum(saves));
  }

  // ---- in rounds ---------------------------------------------------------------------------------------------------

  struct Cluster {
    std::vector<std::size_t> needed;   ///< pieces some job hangs on
    std::vector<std::size_t> telling;  ///< pieces that only tell of others
    std::vector<std::size_t> bundles;
  };

  /// Parts that neither a job nor a tree of look-alikes joins; all in one when a budget or a round's cost does.
  [[nodiscard]] std::vector<Cluster> clusters(bool in_one) {
    std::vector<std::size_t> leader(pieces_.size());
    std::iota(leader.begin(), leader.end(), std::size_t{0});
    const auto find = [&](std::size_t p) {
      while (leader[p] != p) p = leader[p] = leader[leader[p]];
      return p;
    };
    const auto join = [&](std::size_t a, std::size_t b) { leader[find(a)] = find(b); };
    std::set<std::size_t> trees;
    for (const auto p : things_) {
      join(p, forest_.tree_of_piece(p));
      trees.insert(forest_.tree_of_piece(p));
      if (in_one) join(p, things_.front());
    }
    for (const auto& bundle : bundles_) {
      for (const auto t : bundle.needs) join(things_[t], things_[bundle.needs.front()]);
    }
    std::map<std::size_t, std::size_t> place;
    std::vector<Cluster> made;
    const auto here = [&](std::size_t p) -> Cluster& {
      const auto [at, fresh] = place.emplace(find(p), made.size());
      if (fresh) made.emplace_back();
      return made[at->second];
    };
    for (const auto p : things_) here(p).needed.push_back(p);
    for (std::size_t b = 0; b < bundles_.size(); ++b) here(things_[bundles_[b].needs.front()]).bundles.push_back(b);
    for (std::size_t p = 0; p < pieces_.size(); ++p) {
      const auto& piece = pieces_[p];
      if (piece.members.empty() || piece.thing || piece.identified || !trees.contains(forest_.tree_of_piece(p)))
        continue;
      const double clear = all_clear({p});
      if (clear > 0 && clear < 1) here(forest_.tree_of_piece(p)).telling.push_back(p);
    }
    return made;
  }

  [[nodiscard]] RoundsQuestion rounds_over(const std::vector<std::size_t>& list, const Cluster& cluster) {
    RoundsQuestion rounds;
    std::map<std::size_t, std::size_t> bit;
    for (const auto p : list) {
      bit.emplace(p, rounds.weights.size());
      rounds.weights.push_back(samples(p));
    }
    for (const auto b : cluster.bundles) {
      RoundsQuestion::Job job{jobs_[job_of_bundle_[b]].gain, 0};
      for (const auto t : bundles_[b].needs) job.needs |= std::uint32_t{1} << bit.at(things_[t]);
      rounds.jobs.push_back(job);
    }
    const std::size_t sets = std::size_t{1} << list.size();
    for (std::size_t mask = 0; mask < sets; ++mask) {
      std::vector<std::size_t> in;
      for (std::size_t i = 0; i < list.size(); ++i) {
        if ((mask >> i & 1) != 0) in.push_back(list[i]);
      }
      rounds.all_clear.push_back(mask == 0 ? 1.0 : all_clear(in));
    }
    rounds.each = q_.test.each;
    rounds.weight_limit = std::numeric_limits<int>::max() / 4;
    if (q_.test.budget) {
      const double left = *q_.test.budget - q_.test.fixed;
      if (left < 0) {
        rounds.weight_limit = 0;
      } else if (q_.test.each > 0) {
        rounds.weight_limit = static_cast<int>(std::min(left / q_.test.each * (1 + 1e-12) + 1e-12, 1e9));
      }
    }
    return rounds;
  }

  /// The tests of `order` one by one, each left out once every job that wants it is lost: expected number of samples.
  [[nodiscard]] double expected_samples(const std::vector<std::size_t>& order) {
    std::vector<bool> earlier(things_.size(), false);
    std::vector<bool> in(things_.size(), false);
    for (const auto t : order) in[t] = true;
    double sum = 0;
    for (const auto t : order) {
      std::vector<std::vector<std::size_t>> conditions;  // of each job that wants it: what has to have been clear
      for (const auto& bundle : bundles_) {
        if (std::find(bundle.needs.begin(), bundle.needs.end(), t) == bundle.needs.end()) continue;
        if (!std::all_of(bundle.needs.begin(), bundle.needs.end(), [&](std::size_t n) { return in[n]; })) continue;
        std::vector<std::size_t> before;
        for (const auto n : bundle.needs) {
          if (earlier[n]) before.push_back(things_[n]);
        }
        conditions.push_back(std::move(before));
      }
      const bool always =
          std::any_of(conditions.begin(), conditions.end(), [](const auto& before) { return before.empty(); });
      double wanted = 1;
      if (!always && conditions.size() <= kJobsForSkipping) {
        wanted = 0;
        for (std::size_t mask = 1; mask < (std::size_t{1} << conditions.size()); ++mask) {
          std::set<std::size_t> all;
          bool odd = false;
          for (std::size_t c = 0; c < conditions.size(); ++c) {
            if ((mask >> c & 1) == 0) continue;
            odd = !odd;
            all.insert(conditions[c].begin(), conditions[c].end());
          }
          wanted += (odd ? 1 : -1) * all_clear({all.begin(), all.end()});
        }
      }
      sum += wanted * weights_[t];
      earlier[t] = true;
    }
    return sum;
  }

  /// No policy saves more than this on the jobs of a part, before what a first round costs: each test's cost is shared
  /// out over the jobs that want it, and every job is taken for itself, with all results known.
  [[nodiscard]] double at_most(const Cluster& cluster) const {
    std::vector<double> users(things_.size(), 0.0);
    for (const auto b : cluster.bundles) {
      for (const auto t : bundles_[b].needs) ++users[t];
    }
    double sum = 0;
    for (const auto b : cluster.bundles) {
      const auto& job = jobs_[job_of_bundle_[b]];
      double net = job.gain;
      for (const auto t : bundles_[b].needs) net -= q_.test.each * weights_[t] / users[t];
      sum += job.clear * std::max(0.0, net);
    }
    return sum;
  }

  void choose_in_rounds() {
    auto& policy = choice_.policy;
    const double later = q_.test.again + q_.test.waiting;
    const bool in_one = later > 0 || q_.test.budget.has_value();
    const std::size_t most = later > 0 ? kMostInDearRounds : kMostInRounds;
    double saving = 0;
    double bound = 0;
    bool first_paid = false;  // the first round's cost is in `saving` already
    std::size_t shown = kStepsShown;
    for (const auto& cluster : clusters(in_one)) {
      auto list = cluster.needed;
      list.insert(list.end(), cluster.telling.begin(), cluster.telling.end());
      const bool whole = list.size() <= most;
      if (!whole) list = cluster.needed;
      const double limit = at_most(cluster);
      if (list.size() <= most) {
        auto rounds = rounds_over(list, cluster);
        rounds.later_round = later;
        if (in_one) rounds.first_round = first_cost();
        first_paid = in_one;
        auto best = best_in_rounds(rounds, shown);
        saving += best.saving;
        bound += whole ? best.saving : std::max(best.saving, limit - (in_one ? first_cost() : 0));
        policy.exact = policy.exact && whole;
        if (best.first.empty()) continue;
        for (const auto i : best.first.front().test) policy.first.push_back(tested_id(list[i]));
        PolicyPart part;
        for (const auto p : list) part.materials.push_back(tested_id(p));
        part.first = std::move(best.first);
        policy.parts.push_back(std::move(part));
      } else {
        // The best set, one test after the other as long as one is still wanted; or at once when rounds cost.
        std::vector<std::size_t> order;
        double value = 0;
        if (in_one) {
          order = order_;
          value = choice_.cost_now - choice_.cost_best + (order.empty() ? 0 : q_.test.each * weight_of(order));
          first_paid = true;
        } else {
          std::vector<double> price(things_.size());
          for (std::size_t t = 0; t < price.size(); ++t) price[t] = q_.test.each * weights_[t];
          std::vector<Bundle> mine;
          for (const auto b : cluster.bundles) mine.push_back(bundles_[b]);
          order = best_at_price(price, mine);
          for (const auto& bundle : mine) {
            const auto needs = sorted(bundle.needs);
            if (std::includes(order.begin(), order.end(), needs.begin(), needs.end())) value += bundle.value;
          }
          std::stable_sort(order.begin(), order.end(), [&](std::size_t a, std::size_t b) {
            return pieces_[things_[a]].clear < pieces_[things_[b]].clear;
          });
        }
        const double paid = later > 0 ? weight_of(order) : expected_samples(order);
        saving += value - q_.test.each * paid;
        bound += std::max(value - q_.test.each * paid, limit - (in_one ? first_cost() : 0));
        policy.exact = false;
        if (later > 0) {
          for (const auto t : order) policy.first.push_back(tested_id(things_[t]));
        } else if (!order.empty()) {
          policy.first.push_back(tested_id(things_[order.front()]));
        }
      }
    }
    if (!first_paid) {
      saving -= first_cost();
      bound -= first_cost();
    }
    if (saving <= 1e-11 * choice_.cost_now) {
      saving = 0;
      policy.first.clear();
      policy.parts.clear();
    }
    policy.expected_cost = choice_.cost_now - saving;
    policy.at_least = policy.exact ? policy.expected_cost : choice_.cost_now - std::max(saving, bound);
  }

  [[nodiscard]] std::string sum(double amount) const { return q_.sum ? q_.sum(amount) : fmt::format("{:.2f}", amount); }

  void explain() {
    auto& why = choice_.reasons;
    const auto samples = weight_of(set_);
    why.push_back({fmt::format("With no test the jobs are expected to cost {}: every untested suspect counts as "
                               "asbestos.",
                               sum(choice_.cost_now)),
                   "arithmetic"});
    if (set_.empty()) {
      why.push_back({"No set of tests saves more than it costs.", "arithmetic"});
    } else {
      why.push_back({fmt::format("Testing {} ({} sample{}) brings the expected cost, tests included, to {}.",
                                 listed(choice_.tests), samples, samples == 1 ? "" : "s", sum(choice_.cost_best)),
                     "arithmetic"});
    }
    why.push_back({fmt::format("Knowing everything for nothing would bring it to {}; no test is worth more than that.",
                               sum(choice_.cost_with_perfect_information)),
                   "arithmetic"});
    const bool misses = std::any_of(things_.begin(), things_.end(), [&](std::size_t p) {
      return q_.materials[pieces_[p].tested].clear_if_asbestos > 0;
    });
    if (misses) {
      why.push_back(
          {"Tests that may miss asbestos let some jobs be done plain where it is; no price is put on that here, "
           "so the plan looks somewhat cheaper than it is.",
           "judgement"});
    }
  }

  const ChoiceQuestion& q_;
  const belief::Forest& forest_;
  belief::Model model_;
  std::vector<double> seen_;
  double log_seen_ = 0;
  std::vector<Piece> pieces_;
  std::vector<Job> jobs_;
  std::vector<std::vector<std::size_t>> jobs_of_;  ///< by material
  std::vector<std::size_t> things_;                ///< pieces
  std::vector<int> weights_;
  std::vector<Bundle> bundles_;
  std::vector<std::size_t> job_of_bundle_;
  std::vector<std::size_t> set_;    ///< things, ascending
  std::vector<std::size_t> order_;  ///< the same, best first
  Choice choice_;
};

}  // namespace

reason::Result<Choice> choose_tests(const ChoiceQuestion& question) {
  auto faults = faults_of(question);
  std::vector<belief::Named> materials;
  for (const auto& material : question.materials) materials.push_back(material.name);
  const auto forest = belief::make_forest(materials, question.groups);
  if (!forest.ok()) faults.insert(faults.end(), forest.faults().begin(), forest.faults().end());
  if (!faults.empty()) return faults;
  return Chooser(question, *forest).run();
}

}  // namespace lathbook::sampling
