#include "assess/score.h"

#include <gmock/gmock.h>

#include <cmath>
#include <sstream>

#include "book/words.h"
#include "testing/agreement.h"
#include "testing/csv.h"

namespace lathbook::assess {
namespace {

using book::Damage;
using book::Fibre;
using book::Surface;
using ::testing::HasSubstr;

std::vector<std::string> parts(const std::string& text, char by) {
  std::vector<std::string> out;
  std::stringstream in(text);
  for (std::string one; std::getline(in, one, by);) out.push_back(one);
  return out;
}

std::vector<int> numbers(const std::string& text) {
  std::vector<int> out;
  for (const auto& one : parts(text, ';')) out.push_back(std::stoi(one));
  return out;
}

const catalogue::Family& family(const std::string& id) {
  const auto* found = catalogue::shipped().find_family(id);
  if (found == nullptr) throw std::runtime_error("no family " + id);
  return *found;
}

/// Every set of fibre types, the empty one (not known) first.
std::vector<std::vector<Fibre>> all_fibre_sets() {
  std::vector<std::vector<Fibre>> sets;
  for (unsigned mask = 0; mask < 64; ++mask) {
    std::vector<Fibre> set;
    for (unsigned i = 0; i < 6; ++i) {
      if ((mask >> i & 1U) != 0) set.push_back(static_cast<Fibre>(i));
    }
    sets.push_back(set);
  }
  return sets;
}

constexpr std::array kDamages = {Damage::kNone, Damage::kLow, Damage::kMedium, Damage::kHigh};
constexpr std::array kSurfaces = {Surface::kComposite, Surface::kSealed, Surface::kUnsealed, Surface::kBare};

TEST(PublishedMaterialScore, TableAndDerivedRows) {
  testing::Agreement agreement("assess_material");
  for (const auto& row : testing::read_csv("tests/published/material_score.csv")) {
    const auto given = [&](const char* key) { return std::stoi(row.at(key)); };
    const MaterialFactors factors{given("product"), given("damage"), given("surface"), given("fibre")};
    const auto by_numbers = material_score(factors);
    ASSERT_TRUE(by_numbers.ok()) << row.at("item");
    EXPECT_EQ(by_numbers->total, given("total")) << row.at("item");
    EXPECT_EQ(word(by_numbers->band), row.at("band")) << row.at("item");
    agreement.same();
    if (row.at("family").empty()) continue;
    std::vector<Fibre> fibres;
    for (const auto& one : parts(row.at("fibres"), '+')) fibres.push_back(*book::from_word<Fibre>(one));
    MaterialState state{family(row.at("family")), *book::from_word<Damage>(row.at("damage_word")),
                        book::from_word<Surface>(row.at("surface_word")), fibres};
    const auto by_words = material_score(state);
    ASSERT_TRUE(by_words.ok()) << row.at("item");
    EXPECT_EQ(by_words->factors, factors) << row.at("item");
  }
}

TEST(PublishedPriorityScore, DerivedRows) {
  testing::Agreement agreement("assess_priority");
  for (const auto& row : testing::read_csv("tests/published/priority_score.csv")) {
    book::PriorityFactors factors{numbers(row.at("activity")), numbers(row.at("disturbance")),
                                  numbers(row.at("exposure")), numbers(row.at("maintenance"))};
    const auto total = [&](Rounding rounding) { return priority_score(factors, rounding).value().total.value(); };
    EXPECT_EQ(total(Rounding::kUp), std::stod(row.at("up"))) << row.at("item");
    EXPECT_EQ(total(Rounding::kHalfUp), std::stod(row.at("half_up"))) << row.at("item");
    EXPECT_NEAR(total(Rounding::kNone), std::stod(row.at("none")), std::stod(row.at("tolerance"))) << row.at("item");
    agreement.same();
  }
}

TEST(PropertyMaterialScore, WorseStatesNeverScoreLess) {
  int compared = 0;
  for (const auto& one : catalogue::shipped().families) {
    if (!one.suspect) continue;
    for (const auto& fibres : all_fibre_sets()) {
      for (const auto damage : kDamages) {
        for (const auto surface : kSurfaces) {
          const auto here = material_score(MaterialState{one, damage, surface, fibres}).value();
          EXPECT_GE(here.total, 2);
          EXPECT_LE(here.total, 12);
          if (damage != Damage::kHigh) {
            const auto worse = static_cast<Damage>(static_cast<int>(damage) + 1);
            EXPECT_GT(material_score(MaterialState{one, worse, surface, fibres}).value().total, here.total) << one.id;
          }
          if (surface != Surface::kBare) {
            const auto worse = static_cast<Surface>(static_cast<int>(surface) + 1);
            EXPECT_GE(material_score(MaterialState{one, damage, worse, fibres}).value().total, here.total) << one.id;
          }
          const auto unknown = material_score(MaterialState{one, damage, surface, {}}).value();
          EXPECT_GE(unknown.total, here.total) << one.id << ": an unknown type scores below a known one";
          for (const auto more : {Fibre::kChrysotile, Fibre::kAmosite, Fibre::kCrocidolite}) {
            auto mixed = fibres;
            mixed.push_back(more);
            if (!fibres.empty()) {
              EXPECT_GE(material_score(MaterialState{one, damage, surface, mixed}).value().total, here.total) << one.id;
            }
          }
          ++compared;
        }
      }
    }
  }
  EXPECT_EQ(compared, 29 * 64 * 4 * 4);
}

TEST(PropertyMaterialScore, BandsRiseWithTheTotalAndCoverIt) {
  for (int total = 2; total < 12; ++total) EXPECT_LE(band_of(total), band_of(total + 1));
  EXPECT_EQ(band_of(2), Band::kVeryLow);
  EXPECT_EQ(band_of(12), Band::kHigh);
}

TEST(PropertyPriorityScore, RoundingsAgreeWithWholeNumberArithmeticEverywhere) {
  // Brute force over every disturbance group beside every maintenance group.
  int seen = 0;
  for (int a = 0; a < 64; ++a) {
    for (int b = 0; b < 16; ++b) {
      book::PriorityFactors factors{{0}, {a & 3, (a >> 2) & 3, (a >> 4) & 3}, {0, 0, 0}, {b & 3, (b >> 2) & 3}};
      const int three = (a & 3) + ((a >> 2) & 3) + ((a >> 4) & 3);
      const int two = (b & 3) + ((b >> 2) & 3);
      const auto up = priority_score(factors, Rounding::kUp).value();
      const auto half = priority_score(factors, Rounding::kHalfUp).value();
      const auto none = priority_score(factors, Rounding::kNone).value();
      // Smallest k with 3k >= sum; nearest k, halves up; the exact fraction.
      int ceil3 = 0;
      while (3 * ceil3 < three) ++ceil3;
      int ceil2 = 0;
      while (2 * ceil2 < two) ++ceil2;
      int half3 = 0;
      while (2 * three >= 3 * (2 * half3 + 1)) ++half3;
      int half2 = 0;
      while (2 * two >= 2 * (2 * half2 + 1)) ++half2;
      EXPECT_EQ(up.total, Sixths{6 * (ceil3 + ceil2)});
      EXPECT_EQ(half.total, Sixths{6 * (half3 + half2)});
      EXPECT_EQ(none.total, Sixths{2 * three + 3 * two});
      EXPECT_LE(none.total, up.total);
      EXPECT_LE(half.total, up.total);
      EXPECT_EQ(none.disturbance.value(), three / 3.0);
      ++seen;
    }
  }
  EXPECT_EQ(seen, 1024);
}

TEST(PropertyPriorityScore, NoFactorRaisedLowersTheTotal) {
  for (const auto rounding : {Rounding::kUp, Rounding::kHalfUp, Rounding::kNone}) {
    for (int a = 0; a < 64; ++a) {
      const std::vector<int> group = {a & 3, (a >> 2) & 3, (a >> 4) & 3};
      for (std::size_t i = 0; i < 3; ++i) {
        if (group[i] == 3) continue;
        auto raised = group;
        ++raised[i];
        const auto low = priority_score({{1, 2}, group, {1, 1, 1}, {0, 2}}, rounding).value().total;
        const auto high = priority_score({{1, 2}, raised, {1, 1, 1}, {0, 2}}, rounding).value().total;
        EXPECT_LE(low, high);
      }
    }
  }
}

TEST(MaterialScore, LookAlikesSettleAnUnknownTypeOnly) {
  const std::vector<Fibre> argued = {Fibre::kAmosite};
  const std::vector<Fibre> found = {Fibre::kCrocidolite};
  MaterialState state{family("insulating-board"), Damage::kNone, Surface::kSealed, {}, argued};
  EXPECT_EQ(material_score(state)->factors.fibre, 2);
  state.fibres = found;
  EXPECT_EQ(material_score(state)->factors.fibre, 3);
}

TEST(FaultMaterialScore, NamesEveryNumberOutOfRange) {
  const auto score = material_score(MaterialFactors{0, 4, -1, 9});
  ASSERT_FALSE(score.ok());
  ASSERT_EQ(score.faults().size(), 4U);
  EXPECT_EQ(score.faults()[0].where, "/product");
  EXPECT_EQ(score.faults()[3].value, "9");
  EXPECT_FALSE(material_score(MaterialState{family("plain-timber"), Damage::kNone, {}, {}}).ok());
}

TEST(FaultPriorityScore, NamesTheGroupAndTheEntry) {
  const auto score = priority_score({{}, {0, 1}, {0, 1, 5}, {1, 1, 1}});
  ASSERT_FALSE(score.ok());
  std::string all;
  for (const auto& fault : score.faults()) all += fault.text() + "\n";
  EXPECT_THAT(all, HasSubstr("/activity"));
  EXPECT_THAT(all, HasSubstr("/disturbance"));
  EXPECT_THAT(all, HasSubstr("/exposure/2"));
  EXPECT_THAT(all, HasSubstr("/maintenance"));
}

}  // namespace
}  // namespace lathbook::assess
