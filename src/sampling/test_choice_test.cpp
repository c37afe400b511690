#include "sampling/test_choice.h"

#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include <bit>
#include <cmath>
#include <functional>
#include <map>
#include <random>

#include "testing/agreement.h"
#include "testing/csv.h"

namespace lathbook::sampling {
namespace {

using book::Alike;
using ::testing::Contains;
using ::testing::ElementsAre;
using ::testing::HasSubstr;
using ::testing::IsEmpty;

Choice chosen(const ChoiceQuestion& question) {
  auto answer = choose_tests(question);
  if (!answer.ok()) throw std::runtime_error(answer.faults().front().text());
  return std::move(answer).value();
}

Candidate material(std::string id, double probability, std::string group = "", std::optional<Alike> alike = {}) {
  Candidate one;
  one.name = {std::move(id), std::move(group), alike};
  one.probability = probability;
  return one;
}

// ---- the definition, spelled out: every hidden state, every result, every set, every policy -------------------------

/// All that can be said of a question by enumeration. Results are fixed in each world; a test reads one of them.
class Worlds {
 public:
  explicit Worlds(const ChoiceQuestion& question) : q_(question), n_(question.materials.size()) {
    std::map<std::string, std::size_t> group_at;
    for (std::size_t g = 0; g < q_.groups.size(); ++g) group_at[q_.groups[g].id] = g;
    const auto parent = [&](const belief::Named& name) {
      return name.group.empty() ? std::optional<std::size_t>() : group_at.at(name.group);
    };
    std::vector<double> mean(q_.groups.size());
    const std::function<double(std::size_t)> mean_of = [&](std::size_t g) {
      double sum = 0;
      int count = 0;
      for (const auto& m : q_.materials) {
        if (parent(m.name) == g) sum += m.probability, ++count;
      }
      for (std::size_t c = 0; c < q_.groups.size(); ++c) {
        if (parent(q_.groups[c]) == g) {
          const double inner = mean_of(c);
          if (inner >= 0) sum += inner, ++count;
        }
      }
      return count == 0 ? -1 : sum / count;
    };
    for (std::size_t g = 0; g < mean.size(); ++g) mean[g] = std::max(0.0, mean_of(g));
    // Pieces: what a chain of "same piece" joins.
    const std::size_t all = n_ + q_.groups.size();
    std::vector<std::size_t> root(all);
    for (std::size_t i = 0; i < all; ++i) root[i] = i;
    for (std::size_t round = 0; round < all; ++round) {
      for (std::size_t i = 0; i < all; ++i) {
        const auto& name = i < n_ ? q_.materials[i].name : q_.groups[i - n_];
        if (!parent(name) || name.alike != Alike::kSamePiece) continue;
        const auto least = std::min(root[i], root[n_ + *parent(name)]);
        root[i] = root[n_ + *parent(name)] = least;
      }
    }
    piece_.assign(root.begin(), root.begin() + static_cast<std::ptrdiff_t>(n_));

    results_.assign(std::size_t{1} << n_, 0.0);
    states_.assign(std::size_t{1} << n_, 0.0);
    for (std::size_t x = 0; x < std::size_t{1} << all; ++x) {
      const auto state = [&](std::size_t i) { return (x >> i & 1) != 0; };
      double p = 1;
      for (std::size_t i = 0; i < all; ++i) {
        const auto& name = i < n_ ? q_.materials[i].name : q_.groups[i - n_];
        const double own = i < n_ ? q_.materials[i].probability : mean[i - n_];
        const double drawn = state(i) ? own : 1 - own;
        if (!parent(name)) {
          p *= drawn;
        } else {
          const double r = belief::follows(name.alike.value_or(Alike::kSameLook));
          p *= (state(i) == state(n_ + *parent(name)) ? r : 0) + (1 - r) * drawn;
        }
      }
      if (p == 0) continue;
      std::size_t asbestos = x & ((std::size_t{1} << n_) - 1);
      states_[asbestos] += p;
      for (std::size_t clear = 0; clear < std::size_t{1} << n_; ++clear) {
        double q = p;
        for (std::size_t m = 0; m < n_; ++m) {
          const double c = state(m) ? q_.materials[m].clear_if_asbestos : q_.materials[m].clear_if_none;
          q *= (clear >> m & 1) != 0 ? c : 1 - c;
        }
        results_[clear] += q;
      }
    }
  }

  /// What the jobs cost when `tested` were tested and `clear` of them came back clear.
  [[nodiscard]] double jobs(std::size_t tested, std::size_t clear) const {
    double sum = 0;
    for (const auto& job : q_.jobs) {
      bool plain = true;
      for (const auto& id : job.touches) {
        const auto m = at(id);
        if (q_.materials[m].probability == 0 && q_.materials[m].name.group.empty()) continue;
        bool seen = false;
        bool found = false;
        for (std::size_t t = 0; t < n_; ++t) {
          if ((tested >> t & 1) == 0 || piece_[t] != piece_[m]) continue;
          ((clear >> t & 1) != 0 ? seen : found) = true;
        }
        plain = plain && seen && !found;
      }
      sum += cost(job, plain);
    }
    return sum;
  }

  [[nodiscard]] double of_set(std::size_t tested) const {
    double sum = 0;
    for (std::size_t clear = 0; clear < results_.size(); ++clear) sum += results_[clear] * jobs(tested, clear & tested);
    return sum + test_cost(std::popcount(tested));
  }

  [[nodiscard]] double knowing_all() const {
    double sum = 0;
    for (std::size_t asbestos = 0; asbestos < states_.size(); ++asbestos) {
      for (const auto& job : q_.jobs) {
        bool plain = true;
        for (const auto& id : job.touches) plain = plain && (asbestos >> at(id) & 1) == 0;
        sum += states_[asbestos] * cost(job, plain);
      }
    }
    return sum;
  }

  [[nodiscard]] bool affordable(int tests) const {
    return tests == 0 || !q_.test.budget || q_.test.fixed + q_.test.each * tests <= *q_.test.budget + 1e-9;
  }

  /// The best policy by recursion; a piece is tested once.
  [[nodiscard]] double policy(std::size_t tested, std::size_t clear) const {
    double weight = 0;
    for (std::size_t r = 0; r < results_.size(); ++r) weight += (r & tested) == clear ? results_[r] : 0;
    if (weight <= 1e-15) return 0;
    double best = weight * jobs(tested, clear);
    for (std::size_t round = 1; round < results_.size(); ++round) {
      if ((round & tested) != 0 || !affordable(std::popcount(round | tested))) continue;
      bool twice = false;
      for (std::size_t a = 0; a < n_; ++a) {
        for (std::size_t b = 0; b < n_; ++b)
          twice =
              twice || (a != b && piece_[a] == piece_[b] && (round >> a & 1) != 0 && ((round | tested) >> b & 1) != 0);
      }
      if (twice) continue;
      double value = weight * (q_.test.each * std::popcount(round) + q_.test.waiting +
                               (tested == 0 ? q_.test.fixed : q_.test.again));
      for (std::size_t ok = round;; ok = (ok - 1) & round) {
        value += policy(tested | round, clear | ok);
        if (ok == 0) break;
      }
      best = std::min(best, value);
    }
    return best;
  }

  [[nodiscard]] std::size_t at(const std::string& id) const {
    for (std::size_t m = 0; m < n_; ++m) {
      if (q_.materials[m].name.id == id) return m;
    }
    throw std::logic_error("unknown " + id);
  }

  [[nodiscard]] std::size_t mask(const std::vector<std::string>& ids) const {
    std::size_t mask = 0;
    for (const auto& id : ids) mask |= std::size_t{1} << at(id);
    return mask;
  }

 private:
  static double cost(const PlannedJob& job, bool plain) {
    double cost = job.cost_as_asbestos;
    if (job.cost_elsewhere) cost = std::min(cost, *job.cost_elsewhere);
    return plain ? std::min(cost, job.cost_plain) : cost;
  }
  [[nodiscard]] double test_cost(int tests) const {
    return tests == 0 ? 0 : q_.test.fixed + q_.test.waiting + q_.test.each * tests;
  }

  const ChoiceQuestion& q_;
  std::size_t n_;
  std::vector<std::size_t> piece_;
  std::vector<double> results_;  ///< by the set of materials whose test would be clear
  std::vector<double> states_;   ///< by the set that holds asbestos
};

struct Random {
  std::mt19937_64 engine;
  double unit() { return std::uniform_real_distribution<>(0, 1)(engine); }
  std::size_t below(std::size_t n) { return std::uniform_int_distribution<std::size_t>(0, n - 1)(engine); }
  Alike alike() { return static_cast<Alike>(below(4)); }

  ChoiceQuestion question(std::size_t materials, std::size_t groups, std::size_t jobs) {
    ChoiceQuestion q;
    for (std::size_t g = 0; g < groups; ++g) {
      belief::Named name{"g" + std::to_string(g), "", {}};
      if (g > 0 && unit() < 0.5) name.group = "g0", name.alike = alike();
      q.groups.push_back(name);
    }
    const bool misses = unit() < 0.3;
    const double s = misses ? 0.6 + 0.4 * unit() : 1;
    const double c = misses ? 0.7 + 0.3 * unit() : 1;
    for (std::size_t m = 0; m < materials; ++m) {
      auto one = material("m" + std::to_string(m), unit() < 0.15 ? 0 : unit() < 0.05 ? 1 : unit());
      if (groups > 0 && unit() < 0.6) one.name.group = "g" + std::to_string(below(groups)), one.name.alike = alike();
      one.clear_if_asbestos = 1 - s;
      one.clear_if_none = c;
      q.materials.push_back(one);
    }
    for (std::size_t j = 0; j < jobs; ++j) {
      PlannedJob job;
      job.id = "j" + std::to_string(j);
      for (std::size_t m = 0; m < materials; ++m) {
        if (unit() < 0.4) job.touches.push_back("m" + std::to_string(m));
      }
      job.cost_plain = 100 * unit();
      job.cost_as_asbestos = 300 * unit();
      if (unit() < 0.4) job.cost_elsewhere = 300 * unit();
      q.jobs.push_back(job);
    }
    q.test.fixed = unit() < 0.5 ? 0 : 20 * unit();
    q.test.each = unit() < 0.1 ? 0 : 40 * unit();
    if (unit() < 0.3) q.test.budget = 90 * unit();
    return q;
  }
};

TEST(PropertyTestChoice, AgreesWithEverySetInEveryWorld) {
  testing::Agreement agreement("sampling_every_set");
  int with_tests = 0;
  for (unsigned seed = 0; seed < 3000; ++seed) {
    Random random{std::mt19937_64(seed)};
    auto q = random.question(1 + random.below(5), random.below(4), 1 + random.below(4));
    if (random.unit() < 0.2) q.test.waiting = 15 * random.unit();
    const Worlds worlds(q);
    const auto got = chosen(q);
    double best = worlds.of_set(0);
    std::size_t fewest = 0;
    std::vector<double> by_number(q.materials.size() + 1, 1e300);
    for (std::size_t set = 0; set < std::size_t{1} << q.materials.size(); ++set) {
      const int tests = std::popcount(set);
      if (!worlds.affordable(tests)) continue;
      const double cost = worlds.of_set(set);
      auto& here = by_number[static_cast<std::size_t>(tests)];
      here = std::min(here, cost);
      if (cost < best - 1e-9) {
        best = cost;
        fewest = static_cast<std::size_t>(tests);
      } else if (cost < best + 1e-9) {
        fewest = std::min(fewest, static_cast<std::size_t>(tests));
      }
    }
    ASSERT_NEAR(got.cost_now, worlds.of_set(0), 1e-9) << seed;
    ASSERT_NEAR(got.cost_best, best, 1e-9) << seed;
    agreement.apart(got.cost_best - best, 1e-9);
    ASSERT_NEAR(worlds.of_set(worlds.mask(got.tests)), best, 1e-9) << seed;
    ASSERT_EQ(got.tests.size(), fewest) << seed << ": ties go to fewer tests";
    ASSERT_NEAR(got.cost_with_perfect_information, worlds.knowing_all(), 1e-9) << seed;
    ASSERT_TRUE(got.exact);
    for (std::size_t k = 0; k < got.curve.size(); ++k) {
      ASSERT_EQ(got.curve[k].tests.size(), k);
      ASSERT_NEAR(got.curve[k].expected_cost, by_number[k], 1e-9) << seed << " at " << k;
      ASSERT_NEAR(worlds.of_set(worlds.mask(got.curve[k].tests)), by_number[k], 1e-9) << seed << " at " << k;
    }
    for (const auto& one : got.worth) {
      const auto without = worlds.mask(got.tests) & ~worlds.mask({one.id});
      ASSERT_NEAR(one.saves, worlds.of_set(without) - best, 1e-9) << seed << " " << one.id;
    }
    if (!got.tests.empty()) ++with_tests;
  }
  EXPECT_GT(with_tests, 600);
}

TEST(PropertyTestChoice, ThePolicyAgreesWithRecursionOverEveryRound) {
  testing::Agreement agreement("sampling_every_policy");
  int better = 0;
  for (unsigned seed = 0; seed < 1500; ++seed) {
    Random random{std::mt19937_64(90000 + seed)};
    auto q = random.question(1 + random.below(4), random.below(3), 1 + random.below(3));
    if (seed % 3 == 0) q.test.waiting = 10 * random.unit();
    if (seed % 5 == 0) q.test.again = 20 * random.unit();
    const Worlds worlds(q);
    const auto got = chosen(q);
    ASSERT_TRUE(got.policy.exact);
    const double best = worlds.policy(0, 0);
    ASSERT_NEAR(got.policy.expected_cost, best, 1e-8) << seed;
    agreement.apart(got.policy.expected_cost - best, 1e-8);
    ASSERT_LE(got.policy.expected_cost, got.cost_best + 1e-9) << seed << ": deciding later is never worse";
    if (got.policy.expected_cost < got.cost_best - 1e-6) ++better;
  }
  EXPECT_GT(better, 50) << "in some, knowing a result before the next test saves something";
}

/// The tree that is spelled out, walked in every world, costs what is said.
double walk(const Worlds& worlds, const ChoiceQuestion& q, const PolicyPart& part, const Step& step, std::size_t tested,
            std::size_t clear, double chance) {
  double sum = chance * (q.test.each * static_cast<double>(step.test.size()) + q.test.waiting +
                         (tested == 0 ? q.test.fixed : q.test.again));
  double all = 0;
  for (const auto& branch : step.branches) {
    std::size_t now_tested = tested;
    std::size_t now_clear = clear;
    for (const auto i : step.test) now_tested |= worlds.mask({part.materials[i]});
    for (const auto i : branch.clear) now_clear |= worlds.mask({part.materials[i]});
    const double here = chance * branch.probability;
    all += branch.probability;
    sum += branch.next.empty() ? here * worlds.jobs(now_tested, now_clear)
                               : walk(worlds, q, part, branch.next.front(), now_tested, now_clear, here);
  }
  EXPECT_NEAR(all, 1, 1e-9);
  return sum;
}

TEST(PropertyTestChoice, TheTreeSpelledOutCostsWhatIsSaid) {
  int walked = 0;
  for (unsigned seed = 0; seed < 600; ++seed) {
    Random random{std::mt19937_64(70000 + seed)};
    auto q = random.question(2 + random.below(3), random.below(3), 1 + random.below(3));
    q.test.waiting = 0.5;  // a cost per round makes it one tree
    const auto got = chosen(q);
    if (got.policy.parts.empty()) continue;
    ASSERT_EQ(got.policy.parts.size(), 1U);
    const Worlds worlds(q);
    ASSERT_NEAR(walk(worlds, q, got.policy.parts[0], got.policy.parts[0].first.front(), 0, 0, 1),
                got.policy.expected_cost, 1e-8)
        << seed;
    ++walked;
  }
  EXPECT_GT(walked, 100);
}

TEST(PropertyTestChoice, CheaperTestsNeverLowerTheValueOfThePlan) {
  for (unsigned seed = 0; seed < 400; ++seed) {
    Random random{std::mt19937_64(50000 + seed)};
    auto q = random.question(2 + random.below(12), random.below(4), 2 + random.below(10));
    q.test.budget.reset();
    for (auto& one : q.materials) one.clear_if_asbestos = 0, one.clear_if_none = 1;
    double before = -1;
    for (const double each : {60.0, 30.0, 10.0, 2.0, 0.0}) {
      q.test.each = each;
      const auto got = chosen(q);
      const double value = got.cost_now - got.cost_best;
      ASSERT_GE(value, before - 1e-9) << seed;
      ASSERT_LE(value, got.cost_now - got.cost_with_perfect_information + 1e-9)
          << seed << ": never above knowing all for nothing";
      ASSERT_GE(got.policy.expected_cost, got.policy.at_least - 1e-9);
      ASSERT_GE(got.policy.expected_cost, got.cost_with_perfect_information - 1e-9);
      ASSERT_LE(got.policy.expected_cost, got.cost_best + 1e-9) << seed;
      before = value;
    }
    q.test.each = 7;
    double dearer = 1e300;
    for (const double budget : {0.0, 15.0, 30.0, 60.0, 500.0}) {
      q.test.budget = budget;
      const double cost = chosen(q).cost_best;
      ASSERT_LE(cost, dearer + 1e-9) << seed << ": a larger budget never costs more";
      dearer = cost;
    }
  }
}

TEST(PropertyTestChoice, TwoHundredCandidatesAreWithinOnePerCent) {
  double worst = 0;
  for (unsigned seed = 0; seed < 3; ++seed) {
    Random random{std::mt19937_64(seed)};
    ChoiceQuestion q;
    for (std::size_t g = 0; g < 20; ++g) q.groups.push_back({"g" + std::to_string(g), "", {}});
    for (std::size_t m = 0; m < 200; ++m) {
      auto one = material("m" + std::to_string(m), 0.05 + 0.6 * random.unit());
      if (random.unit() < 0.7)
        one.name.group = "g" + std::to_string(random.below(20)),
        one.name.alike = static_cast<Alike>(1 + random.below(3));
      q.materials.push_back(one);
    }
    for (std::size_t j = 0; j < 100; ++j) {
      PlannedJob job{"j" + std::to_string(j), {}, 50 + 300 * random.unit(), 400 + 900 * random.unit(), {}};
      for (std::size_t i = 0; i < 1 + random.below(5); ++i)
        job.touches.push_back("m" + std::to_string(random.below(200)));
      q.jobs.push_back(job);
    }
    q.test.fixed = 20;
    q.test.each = 35;
    if (seed > 0) q.test.budget = 20 + 35 * (seed == 1 ? 23 : 41);
    const auto got = chosen(q);
    worst = std::max(worst, got.gap);
    EXPECT_LT(got.gap, 0.01) << seed;
    EXPECT_GT(got.tests.size(), 5U);
    EXPECT_TRUE(q.test.budget || got.exact) << "without a budget a smallest cut settles it";
    EXPECT_GE(got.policy.expected_cost, got.policy.at_least);
    double cost = got.cost_now;
    for (const auto& point : got.curve) {
      ASSERT_GE(point.expected_cost, point.at_least - 1e-9);
      cost = std::min(cost, point.expected_cost);
    }
    EXPECT_NEAR(cost, got.cost_best, 1e-9);
  }
  RecordProperty("worst_gap", std::to_string(worst));
}

TEST(PublishedTestChoice, ValueOfInformationExamples) {
  testing::Agreement agreement("sampling_textbook");
  for (const auto& row : testing::read_csv("tests/published/value_of_information.csv")) {
    const auto number = [&](const char* key) { return std::stod(row.at(key)); };
    ChoiceQuestion q;
    q.materials = {material("site", number("prior"))};
    q.materials[0].clear_if_asbestos = number("clear_if_there");
    q.materials[0].clear_if_none = number("clear_if_not");
    q.jobs = {{"act", {"site"}, 0, number("at_stake"), {}}};
    const auto got = chosen(q);
    ASSERT_EQ(got.worth.size(), 1U) << row.at("case");
    const double value = row.at("asked") == "value" ? got.cost_now - got.cost_best : got.worth[0].chance_clear;
    EXPECT_NEAR(value, number("printed"), number("tolerance")) << row.at("case");
    agreement.apart(value / number("printed") - 1, number("tolerance") / number("printed"));
  }
}

// ---- by hand
// ----------------------------------------------------------------------------------------------------------

TEST(TestChoice, OneJobOneTestByHand) {
  ChoiceQuestion q;
  q.materials = {material("M1", 0.3)};
  q.jobs = {{"J1", {"M1"}, 100, 500, 450}};
  q.test = {20, 30, 0, 0, {}};
  const auto got = chosen(q);
  EXPECT_DOUBLE_EQ(got.cost_now, 450);
  EXPECT_DOUBLE_EQ(got.cost_best, 50 + 0.7 * 100 + 0.3 * 450);
  EXPECT_DOUBLE_EQ(got.cost_with_perfect_information, 0.7 * 100 + 0.3 * 450);
  EXPECT_THAT(got.tests, ElementsAre("M1"));
  ASSERT_EQ(got.curve.size(), 2U);
  EXPECT_DOUBLE_EQ(got.curve[0].expected_cost, 450);
  EXPECT_NEAR(got.worth[0].saves, 0.7 * 350 - 50, 1e-9);
  EXPECT_TRUE(got.exact);
  EXPECT_EQ(got.gap, 0);
}

TEST(TestChoice, ATestOfTheSamePieceCoversAndALookAlikeDoesNot) {
  ChoiceQuestion q;
  q.groups = {{"g", "", {}}};
  q.materials = {material("a", 0.2, "g", Alike::kSamePiece), material("b", 0.2, "g", Alike::kSamePiece),
                 material("c", 0.2, "g", Alike::kSameJobAndLook)};
  q.jobs = {{"J1", {"b"}, 0, 100, {}}, {"J2", {"c"}, 0, 100, {}}};
  q.test = {0, 10, 0, 0, {}};
  const auto got = chosen(q);
  EXPECT_THAT(got.tests, ::testing::UnorderedElementsAre("a", "c"));
  EXPECT_NEAR(got.cost_best, 20 + 20 + 20, 1e-9);
  ASSERT_EQ(got.not_worth.size(), 1U);
  EXPECT_EQ(got.not_worth[0].id, "b");
  EXPECT_THAT(got.not_worth[0].why, HasSubstr("The test of a covers it"));
}

TEST(TestChoice, SaysWhyATestIsNotWorthIt) {
  ChoiceQuestion q;
  q.materials = {material("either", 0.3), material("dear", 0.9),      material("none", 0), material("idle", 0.5),
                 material("sure", 1),     material("with_sure", 0.1), material("out", 0.4)};
  q.materials[6].released = true;
  q.jobs = {{"same", {"either"}, 500, 500, {}},
            {"small", {"dear"}, 0, 50, {}},
            {"free", {"none", "out"}, 10, 90, {}},
            {"lost", {"sure", "with_sure"}, 0, 900, {}}};
  q.test = {0, 30, 0, 0, {}};
  const auto got = chosen(q);
  EXPECT_THAT(got.tests, IsEmpty());
  EXPECT_DOUBLE_EQ(got.cost_now, 500 + 50 + 10 + 900);
  std::map<std::string, std::string> why;
  for (const auto& one : got.not_worth) why[one.id] = one.why;
  EXPECT_EQ(why.at("either"), "same would cost no less if it were found clear.");
  EXPECT_EQ(why.at("dear"), "Testing it costs 30.00 and would save 5.00 on average.");
  EXPECT_THAT(why.at("none"), HasSubstr("no test is needed"));
  EXPECT_EQ(why.at("idle"), "No planned job touches it.");
  EXPECT_THAT(why.at("sure"), HasSubstr("certain to hold asbestos"));
  EXPECT_EQ(why.at("with_sure"), "lost also touches something that is certain to hold asbestos.");
  EXPECT_THAT(why.at("out"), HasSubstr("released already"));
}

TEST(TestChoice, AKnownResultMovesTheLookAlikes) {
  ChoiceQuestion q;
  q.groups = {{"g", "", {}}};
  q.materials = {material("tested", 0.3, "g", Alike::kSameJobAndLook),
                 material("like", 0.3, "g", Alike::kSameJobAndLook)};
  q.jobs = {{"J1", {"like"}, 0, 100, {}}};
  q.test = {0, 10, 0, 0, {}};
  const double before = chosen(q).worth[0].chance_clear;
  EXPECT_NEAR(before, 0.7, 1e-12);
  q.materials[0].log_seen_if_none = std::log(0.001);  // found, with one false alarm in a thousand
  q.materials[0].identified = true;
  const auto after = chosen(q);
  EXPECT_THAT(after.tests, IsEmpty());
  // The source S given the find: members hold it with 0.965 when S does, with 0.015 when not.
  const double with = 0.3 * (0.965 + 0.035 * 0.001);
  const double without = 0.7 * (0.015 + 0.985 * 0.001);
  const double clear = (with * 0.035 + without * 0.985) / (with + without);
  EXPECT_NEAR(after.cost_with_perfect_information, 100 - 100 * clear, 1e-9);
}

TEST(TestChoice, APieceThatNeedsThreeSamplesIsPaidForThree) {
  ChoiceQuestion q;
  q.materials = {material("ceiling", 0.5)};
  q.materials[0].samples = 3;
  q.jobs = {{"J1", {"ceiling"}, 0, 200, {}}};
  q.test = {0, 40, 0, 0, {}};
  EXPECT_THAT(chosen(q).tests, IsEmpty());
  q.test.each = 30;
  EXPECT_DOUBLE_EQ(chosen(q).cost_best, 90 + 100);
  q.test.budget = 89;
  EXPECT_THAT(chosen(q).tests, IsEmpty());
}

TEST(FaultTestChoice, NamesEachBadInput) {
  ChoiceQuestion q;
  q.materials = {material("M1", 1.2), material("M1", 0.2, "nowhere")};
  q.jobs = {{"J1", {"M9"}, -5, 10, {}}, {"J1", {}, 1, 1, -2.0}};
  q.test = {-1, 3, 0, 0, {}};
  const auto answer = choose_tests(q);
  ASSERT_FALSE(answer.ok());
  std::vector<std::string> where;
  for (const auto& fault : answer.faults()) where.push_back(fault.where);
  EXPECT_THAT(where, ::testing::UnorderedElementsAre("/materials/0/probability", "/jobs/0/touches/0",
                                                     "/jobs/0/cost_plain", "/jobs/1/id", "/jobs/1/cost_elsewhere",
                                                     "/test/fixed", "/materials/1/id", "/materials/1/group"));
}

}  // namespace
}  // namespace lathbook::sampling
