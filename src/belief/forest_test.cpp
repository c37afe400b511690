#include "belief/forest.h"

#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include <cmath>
#include <random>

#include "testing/agreement.h"

namespace lathbook::belief {
namespace {

using book::Alike;

constexpr double kNever = -std::numeric_limits<double>::infinity();

Link in(std::size_t group, Alike alike) { return {group, alike}; }

Forest forest(std::vector<Link> materials, std::vector<Link> groups) {
  auto made = Forest::make(std::move(materials), std::move(groups));
  EXPECT_TRUE(made.ok());
  return std::move(made).value();
}

/// The definition, spelled out: every hidden state of every material and group, one by one. `likelihood` is by
/// material.
struct Enumerated {
  std::vector<double> of_material;
  double evidence = 0;
};
Enumerated enumerate(const Forest& forest, std::size_t states, const std::vector<double>& own,
                     const std::vector<double>& likelihood) {
  const std::size_t m_count = forest.material_count();
  const std::size_t g_count = forest.groups().size();
  std::vector<std::vector<double>> mean(g_count);
  const auto group_mean = [&](auto&& self, std::size_t g) -> std::vector<double> {
    std::vector<double> sum(states, 0.0);
    double n = 0;
    for (std::size_t m = 0; m < m_count; ++m) {
      if (forest.materials()[m].group != g) continue;
      for (std::size_t x = 0; x < states; ++x) sum[x] += own[m * states + x];
      ++n;
    }
    for (std::size_t c = 0; c < g_count; ++c) {
      if (forest.groups()[c].group != g) continue;
      const auto inner = self(self, c);
      if (inner.empty()) continue;
      for (std::size_t x = 0; x < states; ++x) sum[x] += inner[x];
      ++n;
    }
    if (n == 0) return {};
    for (auto& value : sum) value /= n;
    return sum;
  };
  for (std::size_t g = 0; g < g_count; ++g) {
    mean[g] = group_mean(group_mean, g);
    if (mean[g].empty()) mean[g].assign(states, 1.0 / static_cast<double>(states));
  }
  Enumerated result;
  result.of_material.assign(m_count * states, 0.0);
  std::vector<std::size_t> state(m_count + g_count, 0);
  while (true) {
    double p = 1;
    const auto link_probability = [&](const Link& link, std::size_t x, const double* mine) {
      if (!link.group) return mine[x];
      const double r = follows(link.alike);
      return (x == state[m_count + *link.group] ? r : 0.0) + (1 - r) * mine[x];
    };
    for (std::size_t m = 0; m < m_count; ++m) {
      p *= link_probability(forest.materials()[m], state[m], &own[m * states]) * likelihood[m * states + state[m]];
    }
    for (std::size_t g = 0; g < g_count; ++g)
      p *= link_probability(forest.groups()[g], state[m_count + g], mean[g].data());
    result.evidence += p;
    for (std::size_t m = 0; m < m_count; ++m) result.of_material[m * states + state[m]] += p;
    std::size_t i = 0;
    while (i < state.size() && ++state[i] == states) state[i++] = 0;
    if (i == state.size()) break;
  }
  for (auto& value : result.of_material) value /= result.evidence;
  return result;
}

std::vector<double> by_piece(const Forest& forest, std::size_t states, const std::vector<double>& likelihood) {
  std::vector<double> logs(forest.piece_count() * states, 0.0);
  for (std::size_t m = 0; m < forest.material_count(); ++m) {
    for (std::size_t x = 0; x < states; ++x)
      logs[forest.piece_of(m) * states + x] += std::log(likelihood[m * states + x]);
  }
  return logs;
}

struct Random {
  std::mt19937_64 engine;
  double unit() { return std::uniform_real_distribution<>(0, 1)(engine); }
  std::size_t below(std::size_t n) { return std::uniform_int_distribution<std::size_t>(0, n - 1)(engine); }
  Alike alike() { return static_cast<Alike>(below(4)); }

  Forest forest(std::size_t materials, std::size_t groups) {
    std::vector<Link> g(groups);
    for (std::size_t i = 1; i < groups; ++i) {
      if (unit() < 0.8) g[i] = in(below(i), alike());
    }
    // Names in any order: the parent need not come before the child.
    std::vector<std::size_t> order(groups);
    for (std::size_t i = 0; i < groups; ++i) order[i] = i;
    std::shuffle(order.begin(), order.end(), engine);
    std::vector<Link> shuffled(groups);
    for (std::size_t i = 0; i < groups; ++i) {
      shuffled[order[i]] = g[i];
      if (g[i].group) shuffled[order[i]].group = order[*g[i].group];
    }
    std::vector<Link> m(materials);
    for (auto& link : m) {
      if (groups > 0 && unit() < 0.85) link = in(below(groups), alike());
    }
    return belief::forest(std::move(m), std::move(shuffled));
  }
  std::vector<double> distributions(std::size_t rows, std::size_t states) {
    std::vector<double> values(rows * states);
    for (std::size_t r = 0; r < rows; ++r) {
      double sum = 0;
      for (std::size_t x = 0; x < states; ++x) sum += values[r * states + x] = -std::log(unit());
      for (std::size_t x = 0; x < states; ++x) values[r * states + x] /= sum;
    }
    return values;
  }
};

TEST(PropertyForest, AgreesWithEveryHiddenStateOnRandomForests) {
  testing::Agreement agreement("evidence_forests");
  for (unsigned seed = 0; seed < 1500; ++seed) {
    Random random{std::mt19937_64(seed)};
    const std::size_t states = seed % 5 == 0 ? 3 : 2;
    const auto f = random.forest(1 + random.below(states == 2 ? 6 : 4), random.below(4));
    const auto own = random.distributions(f.material_count(), states);
    std::vector<double> likelihood(f.material_count() * states);
    for (auto& value : likelihood) value = random.unit() < 0.1 ? 1e-9 : random.unit();
    const auto truth = enumerate(f, states, own, likelihood);
    const Model model(f, states, own);
    const auto got = model.infer(by_piece(f, states, likelihood));
    ASSERT_NEAR(got.log_evidence, std::log(truth.evidence), 1e-9) << seed;
    ASSERT_EQ(got.log_evidence, model.log_evidence(by_piece(f, states, likelihood)));
    for (std::size_t i = 0; i < got.of_material.size(); ++i) {
      ASSERT_NEAR(got.of_material[i], truth.of_material[i], 1e-12) << seed;
      agreement.apart(got.of_material[i] - truth.of_material[i], 1e-12);
    }
  }
}

TEST(PropertyForest, HoldsAlsoWhenEvidenceRulesStatesOut) {
  int possible = 0;
  for (unsigned seed = 0; seed < 600; ++seed) {
    Random random{std::mt19937_64(1000 + seed)};
    const auto f = random.forest(1 + random.below(6), random.below(4));
    std::vector<double> own(f.material_count() * 2);
    for (std::size_t m = 0; m < f.material_count(); ++m) {
      const double p = random.unit() < 0.3 ? static_cast<double>(random.below(2)) : random.unit();
      own[2 * m] = 1 - p;
      own[2 * m + 1] = p;
    }
    std::vector<double> likelihood(f.material_count() * 2, 1.0);
    for (std::size_t m = 0; m < f.material_count(); ++m) {
      if (random.unit() < 0.5) likelihood[2 * m + random.below(2)] = 0.0;
    }
    const auto truth = enumerate(f, 2, own, likelihood);
    const auto got = Model(f, 2, own).infer(by_piece(f, 2, likelihood));
    if (truth.evidence == 0) {
      ASSERT_EQ(got.log_evidence, kNever) << seed;
      ASSERT_THAT(got.of_material, ::testing::IsEmpty());
      continue;
    }
    ++possible;
    for (std::size_t i = 0; i < got.of_material.size(); ++i)
      ASSERT_NEAR(got.of_material[i], truth.of_material[i], 1e-12) << seed;
  }
  EXPECT_GT(possible, 200);
}

TEST(PropertyForest, APositiveLookAlikeNeverLowersABelief) {
  for (unsigned seed = 0; seed < 400; ++seed) {
    Random random{std::mt19937_64(5000 + seed)};
    const auto f = random.forest(2 + random.below(20), 1 + random.below(6));
    std::vector<double> own(f.material_count());
    for (auto& p : own) p = random.unit();
    const auto model = Model::of_presence(f, own);
    auto seen = model.nothing_seen();
    for (auto& value : seen) value = random.unit() < 0.5 ? 0.0 : -3 * random.unit();
    const auto before = model.infer(seen).of_material;
    seen[2 * f.piece_of(random.below(f.material_count()))] -= 2.0;  // likelier with asbestos than without
    const auto after = model.infer(seen).of_material;
    for (std::size_t m = 0; m < own.size(); ++m) ASSERT_GE(after[2 * m + 1], before[2 * m + 1] - 1e-12) << seed;
  }
}

TEST(Forest, KeepsTenThousandContraryResultsApart) {
  // 5,000 results for and 5,000 against: each product alone is far below the smallest double.
  const std::size_t n = 10000;
  std::vector<Link> materials(n, in(0, Alike::kSameLook));
  const auto f = forest(std::move(materials), std::vector<Link>(1));
  const std::vector<double> own(n, 0.5);
  const auto model = Model::of_presence(f, own);
  auto seen = model.nothing_seen();
  for (std::size_t m = 0; m < n; ++m) seen[2 * f.piece_of(m) + m % 2] = std::log(1e-3);
  const auto got = model.infer(seen);
  ASSERT_TRUE(std::isfinite(got.log_evidence));
  // Results for and against cancel pair by pair, so a member sees a source at odds of the one message its own pair
  // lacks.
  const double for_source = (0.75 + 0.25 * 0.5 * 1.001) / (0.75e-3 + 0.25 * 0.5 * 1.001);
  const double source = 1 / (1 + for_source);
  const double before = 0.75 * source + 0.25 * 0.5;
  EXPECT_NEAR(got.of_material[1], before / (before + (1 - before) * 1e-3), 1e-9);
  EXPECT_NEAR(got.of_material[1] + got.of_material[3], 1.0, 1e-9);
}

TEST(Forest, JoinsPiecesAndCompaniesThroughNestedGroups) {
  // g0: m0 same piece, g1 same piece of it: m1 same piece, m2 same job and look, m3 same look.
  const auto f = forest(
      {in(0, Alike::kSamePiece), in(1, Alike::kSamePiece), in(1, Alike::kSameJobAndLook), in(1, Alike::kSameLook), {}},
      {{}, in(0, Alike::kSamePiece)});
  EXPECT_EQ(f.piece_of(0), f.piece_of(1));
  EXPECT_NE(f.piece_of(0), f.piece_of(2));
  EXPECT_EQ(f.company_of(0), f.company_of(2));
  EXPECT_NE(f.company_of(0), f.company_of(3));
  EXPECT_EQ(f.tree_of(0), f.tree_of(3));
  EXPECT_NE(f.tree_of(0), f.tree_of(4));
}

TEST(FaultForest, NamesEveryGroupOfARing) {
  const auto made = Forest::make({in(0, Alike::kSameLook)}, {in(1, Alike::kSameLook), in(2, Alike::kSameKind),
                                                             in(0, Alike::kSameLook), in(0, Alike::kSameLook)});
  ASSERT_FALSE(made.ok());
  std::vector<std::string> places;
  for (const auto& fault : made.faults()) places.push_back(fault.where);
  EXPECT_THAT(places, ::testing::ElementsAre("/groups/0/group", "/groups/1/group", "/groups/2/group"));
}

TEST(FaultForest, NamesAGroupThatIsNotThere) {
  const auto made = Forest::make({in(4, Alike::kSameLook)}, std::vector<Link>(1));
  ASSERT_FALSE(made.ok());
  EXPECT_EQ(made.faults().front().where, "/materials/0/group");
}

TEST(FaultForest, TellsOfEveryNameThatIsOff) {
  const std::vector<Named> materials = {{"a", "x", {}}, {"a", "g", Alike::kSameLook}, {"b", "", Alike::kSamePiece}};
  const std::vector<Named> groups = {{"g", "", {}}, {"g", "", {}}};
  const auto made = make_forest(materials, groups);
  ASSERT_FALSE(made.ok());
  std::vector<std::string> lines;
  for (const auto& fault : made.faults()) lines.push_back(fault.text());
  EXPECT_THAT(lines, ::testing::UnorderedElementsAre(
                         "/groups/1/id: g is there twice; allowed: each id once",
                         "/materials/1/id: a is there twice; allowed: each id once",
                         "/materials/0/group: x is no group here; allowed: the id of one of the groups",
                         "/materials/2/alike: same piece says how alike, but not to what; allowed: a group beside it"));
}

}  // namespace
}  // namespace lathbook::belief
