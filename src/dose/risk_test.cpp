#include "dose/risk.h"

#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include <cmath>
#include <map>

#include "book/words.h"
#include "dose/words.h"
#include "testing/agreement.h"
#include "testing/csv.h"

namespace lathbook::dose {
namespace {

using catalogue::Sex;
using ::testing::HasSubstr;

const catalogue::RiskData& data() { return catalogue::shipped_risk_data(); }

const catalogue::LifeTable& table(const std::string& id) {
  for (const auto& one : data().tables) {
    if (one.id == id) return one;
  }
  throw std::logic_error("no such table");
}

Risk asked(const Question& question) {
  const auto risk = lifetime_risk(question, data());
  if (!risk.ok()) throw std::runtime_error(risk.faults().front().text());
  return *risk;
}

std::optional<Sex> sex_of(const std::string& word) {
  if (word == "female") return Sex::kFemale;
  if (word == "male") return Sex::kMale;
  return std::nullopt;
}

/// A brief exposure of `x` f/ml yr at an age.
Question brief(Model model, double x, double age, std::optional<book::Fibre> fibre) {
  Question question;
  question.model = model;
  question.fibre = fibre;
  question.exposures = {{age, age + 0.01, x * 100, 1920}};
  question.alive_at = age;
  return question;
}

TEST(PublishedRisk, EveryRow) {
  std::map<std::string, int> seen;
  std::map<std::string, testing::Agreement> agreements;  // by how the row's figure was read
  for (const auto& row : testing::read_csv("tests/published/risk.csv")) {
    const std::string check = row.at("check");
    const auto number = [&](const char* field) { return row.at(field).empty() ? 0.0 : std::stod(row.at(field)); };
    ++seen[check];
    Question question;
    question.life_table = row.at("table");
    question.sex = sex_of(row.at("sex"));
    const double from = number("age_from");
    const double to = number("age_to");
    if (!row.at("alive_at").empty() && number("alive_at") > 0) question.alive_at = number("alive_at");
    question.exposures = {{from, to, number("f_per_ml"), 8760}};
    question.factor = row.at("extra") == "volume" ? Factor::kVolume : Factor::kHours;
    const double tolerance = std::stod(row.at("tolerance"));
    const auto fibre = book::from_word<book::Fibre>(row.at("extra"));
    double got = 0;
    double expected = check == "vernez-meso" ? 0 : number("expected");
    if (check == "epa-meso-per-1e5") got = asked(question).mesothelioma_per_million / 10;
    if (check == "epa-lung-per-1e5") got = asked(question).lung_per_million / 10;
    if (check == "iris-per-f") {
      question.model = Model::kIrisUnitRisk;
      question.exposures[0].f_per_ml = 0.001;
      got = asked(question).total_per_million / 1e6 / 0.001;
    }
    if (check == "coc-ratio") {
      got = time_weight(table("uk-2015-2017"), std::nullopt, from, 3, 80) /
            time_weight(table("uk-2015-2017"), std::nullopt, to, 3, 80);
    }
    if (check == "nl-lung") {
      const std::vector<Exposure> exposure{{from, to, number("f_per_ml"), 0}};
      got = life_table_risk({std::stod(row.at("extra")), 0, 10}, exposure, table("uk-2015-2017"), std::nullopt,
                            std::nullopt)
                .second /
            1e6;
    }
    if (check == "anses-total") {
      question.exposures[0].hours_per_year = 1920;
      got = asked(question).total_per_million / 1e6;
    }
    if (check == "hansard-ratio") {
      question.exposures = {{20, 40, 0.6, 40 * 48}};
      const double high = asked(question).lung_per_million;
      question.exposures = {{20, 30, 0.01, 140 * 48}};
      got = high / asked(question).lung_per_million;
    }
    if (check == "hansard-double") {
      question.exposures = {{20, 40, 0.01, 140 * 48}};
      const double twice = asked(question).lung_per_million;
      question.exposures = {{20, 30, 0.01, 140 * 48}};
      got = twice / asked(question).lung_per_million;
    }
    if (check == "hd-meso-per-1e5")
      got = asked(brief(Model::kHodgsonDarntonPower, number("f_per_ml"), 30, fibre)).mesothelioma_per_million / 10;
    if (check == "hd-lung-per-1e5")
      got = asked(brief(Model::kHodgsonDarntonPower, number("f_per_ml"), 30, fibre)).lung_per_million / 10;
    if (check == "hd-ratio") {
      const auto above = row.at("extra").starts_with("croc") ? book::Fibre::kCrocidolite : book::Fibre::kAmosite;
      got = asked(brief(Model::kHodgsonDarntonLinear, 1, 30, above)).mesothelioma_per_million /
            asked(brief(Model::kHodgsonDarntonLinear, 1, 30, book::Fibre::kChrysotile)).mesothelioma_per_million;
    }
    if (check == "cherrie-below") {
      question.model = Model::kHodgsonDarntonPower;
      question.fibre = fibre;
      question.exposures = {{from, to, 0.55, 1920}};
      got = asked(question).mesothelioma_per_million / 10;
      EXPECT_LT(got, expected);
      continue;
    }
    if (check == "vernez-meso") {
      for (const auto model : {Model::kHodgsonDarntonPower, Model::kHodgsonDarntonLinear, Model::kDarnton2023}) {
        question.model = model;
        question.fibre = fibre;
        question.exposures = {{10, 16, 52e-6, 1300}};
        EXPECT_GT(asked(question).mesothelioma_per_million, 2 / tolerance);
        question.exposures = {{10, 16, 320e-6, 1300}};
        EXPECT_LT(asked(question).mesothelioma_per_million, 30 * tolerance);
      }
      continue;
    }
    EXPECT_NEAR(got / expected, 1, tolerance)
        << check << " " << row.at("sex") << " " << from << " to " << to << " " << row.at("extra") << " got " << got
        << " expected " << expected << " (" << row.at("sure") << ")";
    agreements.try_emplace(row.at("sure"), "dose_" + row.at("sure")).first->second.apart(got / expected - 1, tolerance);
  }
  EXPECT_EQ(seen.size(), 13U);
}

TEST(PropertyRisk, StraightModelsAreStraightAtAnyDose) {
  for (const auto model : {Model::kEpa1986, Model::kIrisUnitRisk, Model::kHodgsonDarntonLinear, Model::kDarnton2023}) {
    const double once = asked(brief(model, 1e-6, 40, book::Fibre::kAmosite)).total_per_million;
    EXPECT_GT(once, 0);
    EXPECT_NEAR(asked(brief(model, 1e-3, 40, book::Fibre::kAmosite)).total_per_million / once, 1000, 1e-6);
    EXPECT_NEAR(asked(brief(model, 1e-12, 40, book::Fibre::kAmosite)).total_per_million / once, 1e-6, 1e-14);
  }
}

TEST(PropertyRisk, YoungerMoreDoseOrWorseFibreIsNeverLess) {
  for (std::size_t m = 0; m < kModelWords.size(); ++m) {
    const auto model = static_cast<Model>(m);
    double before = 1e300;
    for (const double age : {1.0, 10.0, 25.0, 40.0, 55.0, 70.0, 90.0}) {
      const auto risk = asked(brief(model, 0.01, age, book::Fibre::kCrocidolite));
      // Lung cancer alone may rise a little with age at the first steps: those who live have fewer other causes ahead.
      EXPECT_LE(risk.total_per_million, before * 1.02) << kModelWords[m] << " " << age;
      EXPECT_GT(risk.total_per_million, 0) << kModelWords[m] << " " << age;
      EXPECT_LE(risk.low_per_million, risk.total_per_million);
      EXPECT_GE(risk.high_per_million, risk.total_per_million);
      before = risk.total_per_million;
    }
    const double c = asked(brief(model, 0.01, 30, book::Fibre::kChrysotile)).total_per_million;
    const double a = asked(brief(model, 0.01, 30, book::Fibre::kAmosite)).total_per_million;
    const double b = asked(brief(model, 0.01, 30, book::Fibre::kCrocidolite)).total_per_million;
    EXPECT_LE(c, a);
    EXPECT_LE(a, b);
  }
}

TEST(PropertyRisk, SpansAddUp) {
  for (const auto model : {Model::kEpa1986, Model::kIrisUnitRisk, Model::kHodgsonDarntonLinear, Model::kDarnton2023}) {
    Question question;
    question.model = model;
    question.fibre = book::Fibre::kAmosite;
    question.exposures = {{20, 40, 0.01, 1000}};
    const double whole = asked(question).total_per_million;
    question.exposures = {{20, 27, 0.01, 1000}, {27, 40, 0.01, 1000}};
    EXPECT_NEAR(asked(question).total_per_million / whole, 1, 1e-9) << kModelWords[static_cast<std::size_t>(model)];
  }
}

TEST(PropertyRisk, BothSexesAreTheMeanAndSmokingRaisesLungAlone) {
  Question question = brief(Model::kEpa1986, 0.01, 30, std::nullopt);
  const double both = asked(question).mesothelioma_per_million;
  question.sex = Sex::kFemale;
  const auto female = asked(question);
  question.sex = Sex::kMale;
  EXPECT_NEAR(both, 0.5 * (female.mesothelioma_per_million + asked(question).mesothelioma_per_million), 1e-9 * both);
  question.sex = Sex::kFemale;
  question.smoker = true;
  EXPECT_NEAR(asked(question).lung_per_million / female.lung_per_million, data().smoking.smoker, 1e-9);
  EXPECT_EQ(asked(question).mesothelioma_per_million, female.mesothelioma_per_million);
}

// The sum over years against the same sum over weeks, with its own life table walk.
TEST(PropertyRisk, YearlyStepsAreNearWeeklyOnes) {
  const auto& us = table("us-1977");
  const auto& qx = us.qx[0];
  double sum = 0;
  double l = 1;
  constexpr int kWeeks = 52;
  for (std::size_t x = 0; x < qx.size(); ++x) {
    for (int w = 0; w < kWeeks; ++w) {
      const double into = (w + 0.5) / kWeeks;
      const double age = static_cast<double>(x) + into;
      const double since = std::max(age - 10, 0.0);
      const double less = std::max(age - 10 - 20, 0.0);
      sum += l * (1 - qx[x] * into) / kWeeks * 1e-8 * 0.042 * (since * since * since - less * less * less);
    }
    l *= 1 - qx[x];
  }
  const std::vector<Exposure> exposure{{0, 20, 0.042, 0}};
  EXPECT_NEAR(life_table_risk({0, 1e-8, 10}, exposure, us, Sex::kFemale, std::nullopt).first / (sum * 1e6), 1, 3e-3);
}

TEST(Risk, AllModelsStandSideBySide) {
  Question question = brief(Model::kEpa1986, 0.001, 41, book::Fibre::kAmosite);
  const auto all = all_models(question, data());
  ASSERT_TRUE(all.ok());
  EXPECT_EQ(all->size(), kModelWords.size());
  for (const auto& one : *all) {
    EXPECT_GT(one.total_per_million, 0);
    EXPECT_FALSE(one.reasons.empty());
  }
  EXPECT_GE(why_models_disagree().size(), 3U);
}

TEST(Risk, ScaleOfTheUkLungCurveIsWhatItsNoteSays) {
  const auto& uk = table("uk-2015-2017");
  double mean = 0;
  std::array<double, 2> share{};
  for (const std::size_t s : {0U, 1U}) {
    double l = 1;
    for (std::size_t x = 0; x < uk.qx[s].size(); ++x) {
      share[s] += l * (1 - uk.qx[s][x] / 2) * uk.lung_per_year[s][x];
      l *= 1 - uk.qx[s][x];
    }
    mean += share[s] / 2;
  }
  EXPECT_NEAR(mean, 0.06, 1e-4);
  EXPECT_NEAR(share[1] / share[0], 18631.0 / 16140, 1e-3);
}

TEST(FaultRisk, AgesAndTables) {
  Question question = brief(Model::kEpa1986, 0.01, 30, std::nullopt);
  question.exposures = {{30, 105, 0.01, 100}};
  auto risk = lifetime_risk(question, data());
  ASSERT_FALSE(risk.ok());
  EXPECT_EQ(risk.faults().front().where, "/exposure/0/age_to");
  EXPECT_THAT(risk.faults().front().text(), HasSubstr("past the end of the life table"));
  question.exposures = {{30, 20, 0.01, 9000}};
  question.alive_at = 101;
  EXPECT_EQ(lifetime_risk(question, data()).faults().size(), 3U);
  question.life_table = "mars";
  EXPECT_EQ(lifetime_risk(question, data()).faults().front().where, "/life_table");
  question = brief(Model::kDarnton2023, 0.01, 30, book::Fibre::kTremolite);
  EXPECT_EQ(lifetime_risk(question, data()).faults().front().where, "/fibre");
}

TEST(FaultRisk, DataThatDoesNotReadIsNamed) {
  EXPECT_FALSE(catalogue::parse_risk_data("{}", "{}").ok());
  EXPECT_FALSE(catalogue::parse_risk_data("[", "{}").ok());
}

TEST(Words, NoChanceIsCalledNone) {
  EXPECT_EQ(chance_in_words(0.0031), "about 3.1 in a billion");
  EXPECT_EQ(chance_in_words(0.113), "about 0.11 in a million");
  EXPECT_EQ(chance_in_words(12.4), "about 12 in a million");
  EXPECT_EQ(chance_in_words(996), "about 1000 in a million");
  EXPECT_EQ(chance_in_words(25000), "about 2.5 in 100");
  EXPECT_EQ(chance_in_words(4e-5), "about 40 in a million million");
  EXPECT_EQ(chance_in_words(4e-9), "less than 1 in a million million, though not nothing");
  EXPECT_EQ(chance_in_words(0), "no more than without it");
  EXPECT_EQ(range_in_words(0.02, 4), "between 0.02 and 4 in a million") << "one unit for both";
  EXPECT_EQ(range_in_words(0.00011, 12), "between 0.00011 and 12 in a million");
  EXPECT_EQ(range_in_words(0.00002, 4), "between 20 in a million million and 4 in a million");
  EXPECT_EQ(range_in_words(0.002, 0.03), "between 2 in a billion and 30 in a billion");
  for (double p = 1e-9; p < 1e6; p *= 1.7) EXPECT_THAT(chance_in_words(p), ::testing::ContainsRegex("[1-9]")) << p;
}

}  // namespace
}  // namespace lathbook::dose
