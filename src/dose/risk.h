// Lifetime risk of mesothelioma and of lung cancer from an exposure, by each published model.
//
// epa-1986 (life table): at age T, an exposure f from age a lasting d years adds
//   lung: K_L f min(T - 10 - a, d)+ times the table's lung rate;  mesothelioma: K_M f [((T-10-a)+)^3 - ((T-10-a-d)+)^3]
//   a year, f = f/ml x hours_per_year/8760 x (168/40 or 20/10 x 7/5); summed over the table's person-years (other
//   causes compete, mid-year ages). K_L = 0.01, K_M = 1e-8.
// iris-unit-risk: 0.23 per f/ml for a lifetime, spread over ages and durations as epa-1986 does (volume factor, US
// 1977, both sexes). hodgson-darnton-power / -linear, darnton-2023: from X = f/ml yr of 1,920 h: mesothelioma P = A_pl
// X^r + A_pr X^t per cent
//   of deaths, carried from age 30 to other ages by the cube of the time since up to age 80 (and never less than up to
//   the table's end); lung P = A X^s per cent excess, on the table's lung deaths more than 10 years later.
// mixed: the mean of amosite and chrysotile (judgement). Linear in f for the straight models at any dose.
// Accuracy: yearly steps with mid-year ages, within 0.3 % of a monthly sum. Checked row by row in
// tests/published/risk.csv.
#pragma once

#include <optional>
#include <span>
#include <string>
#include <string_view>
#include <vector>

#include "catalogue/risk_data.h"
#include "reason/fault.h"
#include "reason/reason.h"

namespace lathbook::dose {

struct Exposure {
  double age_from = 0;
  double age_to = 0;
  double f_per_ml = 0;
  double hours_per_year = 0;
};

enum class Model { kEpa1986, kIrisUnitRisk, kHodgsonDarntonPower, kHodgsonDarntonLinear, kDarnton2023 };
inline constexpr std::array<std::string_view, 5> kModelWords = {"epa-1986", "iris-unit-risk", "hodgson-darnton-power",
                                                                "hodgson-darnton-linear", "darnton-2023"};
/// What a reader is told a model is.
[[nodiscard]] std::string_view name_of(Model model);

enum class Factor { kHours, kVolume };

struct Question {
  Model model = Model::kEpa1986;
  std::optional<book::Fibre> fibre;  ///< empty = mixed
  std::vector<Exposure> exposures;
  Factor factor = Factor::kHours;
  std::string life_table = "uk-2015-2017";
  std::optional<catalogue::Sex> sex;  ///< empty = both, averaged
  std::optional<double> alive_at;     ///< chance given alive at this age; empty = from birth
  std::optional<bool> smoker;         ///< empty = the population as it is
};

/// Deaths per million people exposed like this. `low` and `high` frame `total` by what each model's authors call
/// arguable.
struct Risk {
  double mesothelioma_per_million = 0;
  double lung_per_million = 0;
  double total_per_million = 0;
  double low_per_million = 0;
  double high_per_million = 0;
  reason::Reasons reasons;
};

/// Faults (pointers as in the calc topic): an age over 110 or past the table's end, a span that runs backwards, an
/// unknown life table or fibre without a figure.
[[nodiscard]] reason::Result<Risk> lifetime_risk(const Question& question, const catalogue::RiskData& data);

/// Every model for the same exposure, in the order of kModelWords.
[[nodiscard]] reason::Result<std::vector<Risk>> all_models(Question question, const catalogue::RiskData& data);

/// What a lay reader should know about how the models disagree.
[[nodiscard]] reason::Reasons why_models_disagree();

/// Chance of mesothelioma as epa-1986 with other constants: for comparison with what other authorities state.
struct Constants {
  double lung_per_f_yr = 0;
  double mesothelioma_per_f = 0;
  double lag_years = 10;
};
/// (mesothelioma, lung) per million for exposures whose `f_per_ml` is already in the constants' own terms.
[[nodiscard]] std::pair<double, double> life_table_risk(const Constants& constants, std::span<const Exposure> exposures,
                                                        const catalogue::LifeTable& table,
                                                        std::optional<catalogue::Sex> sex,
                                                        std::optional<double> alive_at);

/// Relative mesothelioma risk of a brief exposure at each of two ages: sum over ages up to `until_age` of the survivors
/// times the years since to `power`, given alive at exposure.
[[nodiscard]] double time_weight(const catalogue::LifeTable& table, std::optional<catalogue::Sex> sex, double age,
                                 double power, double until_age);

}  // namespace lathbook::dose
