#include "evidence/presence.h"

#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include <algorithm>
#include <array>
#include <cmath>
#include <random>
#include <set>

#include "belief/forest.h"
#include "book/words.h"
#include "testing/agreement.h"
#include "testing/csv.h"

namespace lathbook::evidence {
namespace {

using book::Alike;
using book::Fibre;
using book::Standing;
using ::testing::ElementsAre;
using ::testing::HasSubstr;

const catalogue::EvidenceData& data() { return catalogue::shipped_evidence(); }

const Ban kBan{1999, "si-1999-2373"};

Material material(std::string id, double prior, std::string group = "", std::optional<Alike> alike = {}) {
  Material m;
  m.id = std::move(id);
  m.family = "insulating-board";
  m.years = {1960, 1970};
  m.group = std::move(group);
  m.alike = alike;
  m.prior = GivenPrior{prior, prior, prior};
  return m;
}

Answer answered(const Question& question) {
  auto got = presence(data(), question);
  EXPECT_TRUE(got.ok()) << (got.ok() ? "" : got.faults().front().text());
  return std::move(got).value();
}

std::vector<std::string> texts(const reason::Faults& faults) {
  std::vector<std::string> lines;
  for (const auto& fault : faults) lines.push_back(fault.text());
  return lines;
}

// ---- belief ---------------------------------------------------------------------------------------------------------

TEST(PublishedPresence, ReproducesTextbookBayes) {
  testing::Agreement agreement("evidence_bayes");
  for (const auto& row : testing::read_csv("tests/published/bayes.csv")) {
    Question q;
    q.materials = {material("m", std::stod(row.at("prior")))};
    q.ban = kBan;
    for (int i = 0; i < std::stoi(row.at("results")); ++i) {
      q.results.push_back(
          {"m", row.at("found") == "yes", {}, 1, std::stod(row.at("sensitivity")), std::stod(row.at("specificity"))});
    }
    const double got = answered(q).materials[0].probability;
    EXPECT_NEAR(got, std::stod(row.at("posterior")), std::stod(row.at("tolerance"))) << row.at("case");
    agreement.apart(got - std::stod(row.at("posterior")), std::stod(row.at("tolerance")));
  }
}

struct Random {
  std::mt19937_64 engine;
  double unit() { return std::uniform_real_distribution<>(0, 1)(engine); }
  std::size_t below(std::size_t n) { return std::uniform_int_distribution<std::size_t>(0, n - 1)(engine); }
  bool coin(double p) { return unit() < p; }
};

Question random_question(Random& random, std::size_t materials, std::size_t groups) {
  Question q;
  q.ban = kBan;
  for (std::size_t g = 0; g < groups; ++g) {
    Group group{"G" + std::to_string(g), "", {}};
    if (g > 0 && random.coin(0.7)) {
      group.group = "G" + std::to_string(random.below(g));
      group.alike = static_cast<Alike>(random.below(4));
    }
    q.groups.push_back(group);
  }
  for (std::size_t m = 0; m < materials; ++m) {
    auto one = material("M" + std::to_string(m), random.unit());
    if (groups > 0 && random.coin(0.85)) {
      one.group = "G" + std::to_string(random.below(groups));
      one.alike = static_cast<Alike>(random.below(4));
    }
    q.materials.push_back(one);
  }
  for (std::size_t r = random.below(materials + 2); r > 0; --r) {
    q.results.push_back({"M" + std::to_string(random.below(materials)),
                         random.coin(0.5),
                         {},
                         1 + static_cast<int>(random.below(3)),
                         0.5 + 0.5 * random.unit() * 0.99,
                         0.5 + 0.5 * random.unit() * 0.99});
  }
  return q;
}

/// Every hidden state of every material and source, from the words of docs/calc.md alone.
std::vector<double> by_enumeration(const Question& q) {
  const std::size_t m_count = q.materials.size();
  const std::size_t g_count = q.groups.size();
  const auto r_of = [](std::optional<Alike> alike) {
    constexpr std::array kShares = {1.0, 0.95, 0.75, 0.3};
    return kShares.at(static_cast<std::size_t>(alike.value_or(Alike::kSameLook)));
  };
  const auto group_index = [&](const std::string& id) {
    for (std::size_t g = 0; g < g_count; ++g) {
      if (q.groups[g].id == id) return g;
    }
    return g_count;
  };
  std::vector<double> mean(g_count, 0.5);
  for (std::size_t g = g_count; g-- > 0;) {  // members come later than the group they are in
    double sum = 0;
    double n = 0;
    for (const auto& m : q.materials) {
      if (m.group != q.groups[g].id) continue;
      sum += m.prior->middle;
      n += 1;
    }
    for (std::size_t c = g + 1; c < g_count; ++c) {
      if (q.groups[c].group != q.groups[g].id || mean[c] < 0) continue;
      sum += mean[c];
      n += 1;
    }
    mean[g] = n > 0 ? sum / n : -1;
  }
  std::vector<double> present(m_count, 0.0);
  // One state at a time, counted up like a number. Each is kept apart rather than as bits of one number: where g++ 12
  // compares two such bits at -O1 it drops one of them (its combine pass makes a lone `bt` of both).
  std::vector<char> state(m_count + g_count, 0);
  const auto next_state = [&] {
    const auto zero = std::find(state.begin(), state.end(), 0);
    std::fill(state.begin(), zero, 0);
    if (zero == state.end()) return false;
    *zero = 1;
    return true;
  };
  double all = 0;
  do {
    const auto bit = [&](std::size_t i) { return state[i] != 0; };
    double p = 1;
    const auto draw = [&](bool x, const std::string& group, std::optional<Alike> alike, double own) {
      const double independent = x ? own : 1 - own;
      if (group.empty()) return independent;
      const double r = r_of(alike);
      return (x == bit(m_count + group_index(group)) ? r : 0.0) + (1 - r) * independent;
    };
    for (std::size_t g = 0; g < g_count; ++g)
      p *= draw(bit(m_count + g), q.groups[g].group, q.groups[g].alike, mean[g] < 0 ? 0.5 : mean[g]);
    for (std::size_t m = 0; m < m_count; ++m)
      p *= draw(bit(m), q.materials[m].group, q.materials[m].alike, q.materials[m].prior->middle);
    for (const auto& result : q.results) {
      const bool x = bit(static_cast<std::size_t>(std::stoi(result.material.substr(1))));
      const double none_found = std::pow(x ? 1 - *result.sensitivity : *result.specificity, result.samples);
      p *= result.found ? 1 - none_found : none_found;
    }
    all += p;
    for (std::size_t m = 0; m < m_count; ++m) present[m] += bit(m) ? p : 0;
  } while (next_state());
  for (auto& value : present) value /= all;
  return present;
}

TEST(PropertyPresence, AgreesWithEveryHiddenState) {
  testing::Agreement agreement("evidence_hidden_states");
  for (unsigned seed = 0; seed < 2000; ++seed) {
    Random random{std::mt19937_64(seed)};
    const auto materials = 1 + random.below(6);  // drawn before the groups: the order of arguments is the compiler's
    const auto q = random_question(random, materials, random.below(5));
    const auto truth = by_enumeration(q);
    const auto got = answered(q);
    for (std::size_t m = 0; m < truth.size(); ++m) {
      ASSERT_NEAR(got.materials[m].probability, truth[m], 1e-11) << "seed " << seed << " M" << m;
      agreement.apart(got.materials[m].probability - truth[m], 1e-11);
    }
  }
}

TEST(PropertyPresence, APositiveLookAlikeNeverLowersABeliefNorAClearOneRaisesIt) {
  for (unsigned seed = 0; seed < 400; ++seed) {
    Random random{std::mt19937_64(90000 + seed)};
    const auto materials = 2 + random.below(12);
    auto q = random_question(random, materials, 1 + random.below(5));
    const auto before = answered(q);
    const bool found = random.coin(0.5);
    q.results.push_back({"M" + std::to_string(random.below(q.materials.size())), found, {}, 1, 0.9, 0.95});
    const auto after = answered(q);
    for (std::size_t m = 0; m < before.materials.size(); ++m) {
      const double change = after.materials[m].probability - before.materials[m].probability;
      ASSERT_GE(found ? change : -change, -1e-12) << seed;
    }
  }
}

TEST(Presence, FamilyDefaultsShareTheHiddenShareOfSpotsAcrossResultsOfOnePiece) {
  Question q;
  q.ban = kBan;
  q.materials = {material("a", 0.5), material("b", 0.5)};
  for (auto& m : q.materials) m.family = "textured-coating";
  q.results = {{"a", false, {}, 1, {}, {}}, {"a", false, {}, 1, {}, {}}, {"b", false, {}, 2, {}, {}}};
  const auto got = answered(q);
  EXPECT_NEAR(got.materials[0].probability, got.materials[1].probability, 1e-12);
  // p ~ Beta(3.2, 0.8), s = 0.9: E[(1 - 0.9 p)^2] = 1 - 1.8 E[p] + 0.81 E[p^2].
  const double miss = 1 - 1.8 * 0.8 + 0.81 * (3.2 * 4.2 / (4.0 * 5.0));
  const double clear = 0.999 * 0.999;
  EXPECT_NEAR(got.materials[0].probability, 0.5 * miss / (0.5 * miss + 0.5 * clear), 1e-12);
}

TEST(Presence, TheRangeCoversTheBeliefEvenWhereItIsNotMonotoneInThePriors) {
  // A find on a is explained by the source at a low prior and by a's own draw at a high one, so b falls as a's prior
  // rises.
  Question q;
  q.ban = kBan;
  q.groups = {{"g", "", {}}};
  q.materials = {material("a", 0.5, "g", Alike::kSameLook), material("b", 0.01, "g", Alike::kSameJobAndLook)};
  q.materials[0].prior = GivenPrior{0.001, 0.5, 0.999};
  q.results = {{"a", true, {}, 1, 0.99, 0.999}};
  const auto got = answered(q);
  for (const auto& one : got.materials) {
    EXPECT_LE(one.low, one.probability);
    EXPECT_LE(one.probability, one.high);
  }
  auto likelier = q;
  likelier.materials[0].prior = GivenPrior{0.999, 0.999, 0.999};
  q.materials[0].prior = GivenPrior{0.9, 0.9, 0.9};
  q.materials[1].prior = GivenPrior{0.01, 0.01, 0.01};
  EXPECT_GT(answered(likelier).materials[0].probability, answered(q).materials[0].probability);
}

TEST(Presence, PriorsWidenWithWhatTheFamilyLeavesOpen) {
  Question q;
  q.ban = kBan;
  q.materials = {material("a", 0)};
  q.materials[0].prior.reset();
  const auto got = answered(q).materials[0];
  EXPECT_NEAR(got.probability, 0.65, 1e-9);
  EXPECT_NEAR(got.low, 0.4, 1e-9);
  EXPECT_NEAR(got.high, 0.88, 1e-9);
}

// ---- fibres ---------------------------------------------------------------------------------------------------------

TEST(Presence, AFindMovesTheFibresOfItsLookAlikes) {
  Question q;
  q.ban = kBan;
  q.groups = {{"g", "", {}}};
  q.materials = {material("a", 0.5, "g", Alike::kSamePiece), material("b", 0.5, "g", Alike::kSameLook),
                 material("c", 0.5, "g", Alike::kSamePiece), material("d", 0.5)};
  const auto before = answered(q);
  q.results = {{"a", true, {Fibre::kCrocidolite}, 1, {}, {}}};
  const auto after = answered(q);
  const auto croc = static_cast<std::size_t>(Fibre::kCrocidolite);
  EXPECT_DOUBLE_EQ(after.materials[0].fibres[croc], 1);
  EXPECT_DOUBLE_EQ(after.materials[2].fibres[croc], 1) << "one piece";
  // The source is crocidolite for certain: b follows it with 0.75 and otherwise keeps its own share.
  EXPECT_NEAR(after.materials[1].fibres[croc], 0.75 + 0.25 * before.materials[1].fibres[croc], 1e-12);
  EXPECT_NEAR(after.materials[3].fibres[croc], before.materials[3].fibres[croc], 1e-12);
  EXPECT_THAT(after.materials[2].found_fibres, ElementsAre(Fibre::kCrocidolite));
  for (const auto& one : after.materials)
    EXPECT_NEAR(std::accumulate(one.fibres.begin(), one.fibres.end(), 0.0), 1, 1e-12);
}

TEST(Presence, TwoFindsOfOnePieceMayNameDifferentFibres) {
  Question q;
  q.ban = kBan;
  q.materials = {material("a", 0.5)};
  q.results = {{"a", true, {Fibre::kAmosite}, 1, {}, {}}, {"a", true, {Fibre::kChrysotile}, 1, {}, {}}};
  const auto got = answered(q).materials[0];
  EXPECT_THAT(got.found_fibres, ElementsAre(Fibre::kChrysotile, Fibre::kAmosite));
  EXPECT_NEAR(got.fibres[0] + got.fibres[1], 1, 1e-12);
}

// ---- standing -------------------------------------------------------------------------------------------------------

TEST(PropertyPresence, NoBeliefHoweverLowReleasesWork) {
  int released = 0;
  int unlikely = 0;
  for (unsigned seed = 0; seed < 3000; ++seed) {
    Random random{std::mt19937_64(700000 + seed)};
    const auto materials = 1 + random.below(8);
    auto q = random_question(random, materials, random.below(4));
    std::vector<int> needed;
    for (auto& m : q.materials) {
      const int year = 1940 + static_cast<int>(random.below(80));
      m.years = {year, year + static_cast<int>(random.below(10))};
      m.years_proven = random.coin(0.5);
      m.samples_needed = 1 + static_cast<int>(random.below(3));
      if (random.coin(0.7)) {
        const double p = std::pow(10, -9 * random.unit());
        m.prior = GivenPrior{p / 2, p, std::min(1.0, 2 * p)};
      }
      if (random.coin(0.1)) m.prior = GivenPrior{0, 0, 0};
    }
    for (auto& result : q.results) {
      if (random.coin(0.3)) result.sensitivity = 1.0;
      if (random.coin(0.3)) result.sensitivity.reset();
    }
    const auto got = answered(q);
    // Pieces from the links alone, by spreading until nothing changes.
    std::vector<std::size_t> piece(q.materials.size() + q.groups.size());
    for (std::size_t i = 0; i < piece.size(); ++i) piece[i] = i;
    for (bool changed = true; changed;) {
      changed = false;
      const auto join = [&](std::size_t i, const std::string& group, std::optional<Alike> alike) {
        if (group.empty() || alike != Alike::kSamePiece) return;
        const std::size_t g = q.materials.size() + static_cast<std::size_t>(std::stoi(group.substr(1)));
        const auto low = std::min(piece[i], piece[g]);
        changed |= piece[i] != low || piece[g] != low;
        piece[i] = piece[g] = low;
      };
      for (std::size_t m = 0; m < q.materials.size(); ++m) join(m, q.materials[m].group, q.materials[m].alike);
      for (std::size_t g = 0; g < q.groups.size(); ++g)
        join(q.materials.size() + g, q.groups[g].group, q.groups[g].alike);
    }
    for (std::size_t m = 0; m < q.materials.size(); ++m) {
      int clear = 0;
      bool found = false;
      for (const auto& result : q.results) {
        if (piece[static_cast<std::size_t>(std::stoi(result.material.substr(1)))] != piece[m]) continue;
        found |= result.found;
        if (!result.found) clear += result.samples;
      }
      const bool late = q.materials[m].years_proven && q.materials[m].years.from > kBan.year;
      const auto standing = got.materials[m].standing;
      if (found) {
        ASSERT_EQ(standing, Standing::kIdentified) << seed;
      } else if (standing == Standing::kNoneDetected) {
        ASSERT_GE(clear, q.materials[m].samples_needed) << seed;
      } else if (standing == Standing::kProvenLater) {
        ASSERT_TRUE(late) << seed;
      }
      if (late && !found) {
        ASSERT_EQ(standing, Standing::kProvenLater) << seed;
      }
      if (clear == 0 && !late) {
        ASSERT_FALSE(book::releases(standing)) << seed << " at belief " << got.materials[m].probability;
        unlikely += got.materials[m].probability < 1e-4;
      }
      released += book::releases(standing);
    }
  }
  EXPECT_GT(released, 300);
  EXPECT_GT(unlikely, 300);
}

TEST(Presence, EnoughClearSamplesOfThePieceSettleItAndNoFewer) {
  Question q;
  q.ban = kBan;
  q.groups = {{"g", "", {}}};
  q.materials = {material("a", 0.5, "g", Alike::kSamePiece), material("b", 0.5, "g", Alike::kSamePiece),
                 material("c", 0.5, "g", Alike::kSameJobAndLook)};
  for (auto& m : q.materials) m.samples_needed = 2;
  q.results = {{"a", false, {}, 1, {}, {}}};
  auto got = answered(q);
  EXPECT_EQ(got.materials[0].standing, Standing::kPresumed);
  EXPECT_THAT(got.materials[0].reasons.front().text, HasSubstr("1 clear sample of a does not settle it: 2 are needed"));
  q.results.push_back({"b", false, {}, 1, {}, {}});
  got = answered(q);
  EXPECT_EQ(got.materials[0].standing, Standing::kNoneDetected);
  EXPECT_EQ(got.materials[1].standing, Standing::kNoneDetected);
  EXPECT_EQ(got.materials[2].standing, Standing::kPresumed) << "a clear look-alike lowers belief, not standing";
}

TEST(Presence, AClearResultFromATestThatMissesTooMuchSettlesNothing) {
  Question q;
  q.ban = kBan;
  q.materials = {material("a", 0.01)};
  q.results = {{"a", false, {}, 1, 0.6, 1.0}};
  EXPECT_EQ(answered(q).materials[0].standing, Standing::kPresumed);
  q.results = {{"a", false, {}, 4, 0.6, 1.0}};
  EXPECT_EQ(answered(q).materials[0].standing, Standing::kNoneDetected);
}

TEST(Presence, AFindStronglyPresumesTheSameJobAndLookOnly) {
  Question q;
  q.ban = kBan;
  q.groups = {{"g", "", {}}};
  q.materials = {material("a", 0.5, "g", Alike::kSameJobAndLook), material("b", 0.5, "g", Alike::kSameJobAndLook),
                 material("c", 0.5, "g", Alike::kSameLook)};
  q.results = {{"a", true, {}, 1, {}, {}}};
  const auto got = answered(q);
  EXPECT_EQ(got.materials[0].standing, Standing::kIdentified);
  EXPECT_EQ(got.materials[1].standing, Standing::kStronglyPresumed);
  EXPECT_EQ(got.materials[2].standing, Standing::kPresumed);
}

TEST(Presence, YearsAfterTheBanReleaseOnlyWhenProven) {
  Question q;
  q.ban = kBan;
  q.materials = {material("a", 0.001), material("b", 0.001), material("c", 0.001)};
  q.materials[0].years = {2000, 2004};
  q.materials[0].years_proven = true;
  q.materials[1].years = {2000, 2004};
  q.materials[2].years = {1999, 2004};
  q.materials[2].years_proven = true;
  const auto got = answered(q);
  EXPECT_EQ(got.materials[0].standing, Standing::kProvenLater);
  EXPECT_EQ(got.materials[1].standing, Standing::kPresumed);
  EXPECT_EQ(got.materials[2].standing, Standing::kPresumed);
}

// ---- contradiction and faults
// ----------------------------------------------------------------------------------------

TEST(Presence, KeepsBothOfTwoContraryResultsAndLetsTheFindDecide) {
  Question q;
  q.ban = kBan;
  q.groups = {{"g", "", {}}};
  q.materials = {material("a", 0.3, "g", Alike::kSamePiece), material("b", 0.3, "g", Alike::kSamePiece),
                 material("z", 0.2)};
  q.results = {{"a", true, {}, 1, {}, {}}, {"b", false, {}, 5, {}, {}}};
  const auto got = answered(q);
  ASSERT_EQ(got.conflicts.size(), 1U);
  EXPECT_THAT(got.conflicts[0].materials, ElementsAre("a", "b"));
  EXPECT_THAT(got.reasons.front().text, HasSubstr("speak against each other: found in a, clear in b"));
  EXPECT_EQ(got.materials[0].standing, Standing::kIdentified);
  EXPECT_EQ(got.materials[1].standing, Standing::kIdentified);
}

TEST(Presence, SurvivesCertaintiesThatExcludeEachOther) {
  Question q;
  q.ban = kBan;
  q.materials = {material("a", 0.3), material("never", 0.0), material("z", 0.2), material("zero", 0.0)};
  q.results = {{"a", true, {}, 1, 1.0, 1.0}, {"a", false, {}, 1, 1.0, 1.0}, {"never", true, {}, 1, 1.0, 1.0}};
  const auto got = answered(q);
  EXPECT_GT(got.materials[0].probability, 0.999);
  EXPECT_GT(got.materials[1].probability, 0.999);
  EXPECT_DOUBLE_EQ(got.materials[2].probability, 0.2) << "other trees are left alone";
  EXPECT_EQ(got.materials[3].probability, 0.0);
  EXPECT_EQ(got.conflicts.size(), 2U);
  EXPECT_EQ(got.materials[0].standing, Standing::kIdentified);
}

TEST(FaultPresence, NamesEveryFieldThatIsOff) {
  Question q;
  q.ban = kBan;
  q.materials = {material("a", 0.3), material("b", 0.3)};
  q.materials[0].family = "marzipan";
  q.materials[1].years = {1970, 1960};
  q.materials[1].prior = GivenPrior{0.5, 0.4, 1.4};
  q.results = {{"x", false, {}, 1, {}, {}}, {"b", false, {Fibre::kAmosite}, 0, 1.5, {}}};
  const auto got = presence(data(), q);
  ASSERT_FALSE(got.ok());
  EXPECT_THAT(texts(got.faults()),
              ElementsAre("/materials/0/family: marzipan is no family here; allowed: an id in data/families.json",
                          "/materials/1/year_to: 1960 is before year_from; allowed: a year from 1970 on",
                          "/materials/1/prior: 0.4 (0.5 to 1.4) is not in order; allowed: low, middle and high from 0 "
                          "to 1, from small to large",
                          "/results/0/material: x is no material here; allowed: the id of one of the materials",
                          "/results/1/fibres: amosite is named though nothing was found; allowed: no fibres",
                          "/results/1/samples: 0 is too small; allowed: at least 1",
                          "/results/1/sensitivity: 1.5 is no probability; allowed: 0 to 1"));
}

}  // namespace
}  // namespace lathbook::evidence
