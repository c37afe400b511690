#include "dose/risk.h"

#include <fmt/format.h>

#include <algorithm>
#include <array>
#include <cmath>
#include <stdexcept>

#include "book/words.h"
#include "reason/units.h"

namespace lathbook::dose {
namespace {

using catalogue::LifeTable;
using catalogue::Sex;

constexpr double kMillion = 1e6;
constexpr double kOldest = 110;
constexpr double kLungLagYears = 10;  // of the cumulative models: deaths sooner after are not theirs

double above(double x) { return std::max(x, 0.0); }
double cube(double x) { return x * x * x; }

/// Survivors at an age, straight between birthdays.
double alive(const std::vector<double>& qx, double age) {
  double l = 1;
  for (std::size_t x = 0; x < qx.size(); ++x) {
    const auto start = static_cast<double>(x);
    if (age <= start) return l;
    if (age < start + 1) return l * (1 - qx[x] * (age - start));
    l *= 1 - qx[x];
  }
  return age < static_cast<double>(qx.size()) ? l : 0;
}

/// Sums rate(age, year) over the person-years lived from `from` on, per person alive at `from`.
template <class RatePerYear>
double over_life(const std::vector<double>& qx, double from, double until, RatePerYear rate) {
  double sum = 0;
  double l = 1;
  for (std::size_t x = 0; x < qx.size(); ++x) {
    const auto start = static_cast<double>(x);
    const double a = std::max(start, from);
    const double b = std::min(start + 1, until);
    if (b > a) {
      const double mid = 0.5 * (a + b);
      sum += (b - a) * l * (1 - qx[x] * (mid - start)) * rate(mid, x);
    }
    l *= 1 - qx[x];
  }
  return sum / alive(qx, from);
}

template <class OneSex>
double by_sex(std::optional<Sex> sex, OneSex one) {
  if (sex) return one(static_cast<std::size_t>(*sex));
  return 0.5 * (one(0) + one(1));
}

const LifeTable* table_called(const catalogue::RiskData& data, std::string_view id) {
  const auto found =
      std::find_if(data.tables.begin(), data.tables.end(), [&](const LifeTable& t) { return t.id == id; });
  return found == data.tables.end() ? nullptr : &*found;
}

reason::Faults check(const Question& question, const LifeTable& table) {
  reason::Faults faults;
  const double end = std::min(table.end_age(), kOldest);
  for (std::size_t i = 0; i < question.exposures.size(); ++i) {
    const auto& one = question.exposures[i];
    const auto at = fmt::format("/exposure/{}", i);
    if (!(one.age_from >= 0))
      faults.push_back({at + "/age_from", fmt::format("{}", one.age_from), "is no age", "0 or more"});
    if (!(one.age_to > one.age_from)) {
      faults.push_back({at + "/age_to", fmt::format("{}", one.age_to), "is not above age_from",
                        fmt::format("more than {}", one.age_from)});
    }
    if (one.age_to > end) {
      faults.push_back({at + "/age_to", fmt::format("{}", one.age_to),
                        fmt::format("is past the end of the life table {}, where nobody is left alive", table.id),
                        fmt::format("at most {}", end)});
    }
    if (!(one.f_per_ml >= 0))
      faults.push_back({at + "/f_per_ml", fmt::format("{}", one.f_per_ml), "is negative", "0 or more"});
    if (!(one.hours_per_year >= 0 && one.hours_per_year <= 8784)) {
      faults.push_back(
          {at + "/hours_per_year", fmt::format("{}", one.hours_per_year), "is more than a year holds", "0 to 8784"});
    }
  }
  if (question.alive_at && !(*question.alive_at >= 0 && *question.alive_at < end)) {
    faults.push_back({"/alive_at", fmt::format("{}", *question.alive_at), "is no age of the life table",
                      fmt::format("0 to below {}", end)});
  }
  return faults;
}

double smoking_factor(const Question& question, const catalogue::RiskData& data) {
  if (!question.smoker) return 1;
  return *question.smoker ? data.smoking.smoker : data.smoking.never;
}

/// Hands the same span over with f in the terms of a continuous exposure times the factor.
std::vector<Exposure> scaled(const Question& question, double factor) {
  auto out = question.exposures;
  for (auto& one : out) one.f_per_ml *= one.hours_per_year / units::kHoursPerYear * factor;
  return out;
}

Risk epa_1986(const Question& question, const catalogue::RiskData& data, const LifeTable& table) {
  const auto& model = data.epa_1986;
  const double factor = question.factor == Factor::kHours ? model.hours_factor : model.volume_factor;
  const auto [meso, lung] = life_table_risk({model.lung_per_f_yr, model.mesothelioma_per_f, model.lag_years},
                                            scaled(question, factor), table, question.sex, question.alive_at);
  Risk risk;
  risk.mesothelioma_per_million = meso;
  risk.lung_per_million = lung * smoking_factor(question, data);
  const double total = risk.mesothelioma_per_million + risk.lung_per_million;
  risk.low_per_million = total * model.low_factor;
  risk.high_per_million = total * model.high_factor;
  risk.reasons.push_back(
      {fmt::format("K_L {:g} per f/ml yr, K_M {:g}, {:g} years' lag; a working week counts {:.2g} times ({})",
                   model.lung_per_f_yr, model.mesothelioma_per_f, model.lag_years, factor,
                   question.factor == Factor::kHours ? "by hours" : "by air breathed"),
       model.backing.source});
  risk.reasons.push_back(
      {"All fibre types count alike in this model; its authors put its uncertainty at tenfold or more",
       model.backing.source});
  return risk;
}

Risk iris(const Question& question, const catalogue::RiskData& data, const LifeTable& table) {
  const auto& model = data.epa_1986;
  const Constants constants{model.lung_per_f_yr, model.mesothelioma_per_f, model.lag_years};
  const std::array<Exposure, 1> all_life{Exposure{0, table.end_age(), model.volume_factor, units::kHoursPerYear}};
  const auto [whole_meso, whole_lung] = life_table_risk(constants, all_life, table, std::nullopt, std::nullopt);
  const double scale = data.iris.lifetime_per_f_per_ml * kMillion / (whole_meso + whole_lung);
  const auto [meso, lung] =
      life_table_risk(constants, scaled(question, model.volume_factor), table, std::nullopt, question.alive_at);
  Risk risk;
  risk.mesothelioma_per_million = scale * meso;
  risk.lung_per_million = scale * lung * smoking_factor(question, data);
  const double total = risk.mesothelioma_per_million + risk.lung_per_million;
  risk.low_per_million = total * data.iris.low_factor;
  risk.high_per_million = total * data.iris.high_factor;
  risk.reasons.push_back(
      {fmt::format("{:g} per f/ml breathed for a whole life, both sexes together, all fibre types alike",
                   data.iris.lifetime_per_f_per_ml),
       data.iris.backing.source});
  risk.reasons.push_back(
      {"Shorter spans take their share of it by age and length as in the 1986 model", model.backing.source});
  return risk;
}

struct Slope {
  double best = 0;
  double peritoneal = 0;
  double low = 0;
  double high = 0;
};

/// The figures for a fibre; mixed is the mean of amosite and chrysotile.
std::optional<Slope> slope_for(const std::vector<catalogue::FibreSlope>& slopes, std::optional<book::Fibre> fibre,
                               double low_factor, double high_factor) {
  const auto one = [&](book::Fibre wanted) -> std::optional<Slope> {
    for (const auto& row : slopes) {
      if (row.fibre != wanted) continue;
      return Slope{row.slope, row.peritoneal, row.low.value_or(row.slope * low_factor),
                   row.high.value_or(row.slope * high_factor)};
    }
    return std::nullopt;
  };
  if (fibre) return one(*fibre);
  const auto a = one(book::Fibre::kAmosite);
  const auto b = one(book::Fibre::kChrysotile);
  if (!a || !b) return std::nullopt;
  return Slope{(a->best + b->best) / 2, (a->peritoneal + b->peritoneal) / 2, (a->low + b->low) / 2,
               (a->high + b->high) / 2};
}

reason::Result<Risk> cumulative(const Question& question, const catalogue::RiskData& data, const LifeTable& table,
                                const catalogue::CumulativeModel& model) {
  const auto meso =
      slope_for(model.mesothelioma, question.fibre, model.mesothelioma_low_factor, model.mesothelioma_high_factor);
  const auto lung = slope_for(model.lung, question.fibre, model.lung_low_factor, model.lung_high_factor);
  if (!meso || !lung) {
    return reason::Fault{"/fibre", question.fibre ? std::string(book::word(*question.fibre)) : "mixed",
                         "has no figure in this model", "crocidolite, amosite, chrysotile or mixed"};
  }
  // Deaths that a brief exposure leads to, by the age it comes at; a long one counts year by year.
  double x = 0;
  double weighted_meso = 0;
  double weighted_lung = 0;
  const double end = table.end_age();
  const double at_30 = time_weight(table, question.sex, model.reference_age, model.time_power, model.time_until_age);
  const double at_30_to_end = time_weight(table, question.sex, model.reference_age, model.time_power, end);
  for (const auto& one : question.exposures) {
    const int pieces = std::max(1, static_cast<int>(std::ceil(one.age_to - one.age_from)));
    const double years = (one.age_to - one.age_from) / pieces;
    for (int i = 0; i < pieces; ++i) {
      const double age = one.age_from + (i + 0.5) * years;
      const double part = one.f_per_ml * one.hours_per_year / model.working_hours_per_year * years;
      const double by_age =
          std::max(time_weight(table, question.sex, age, model.time_power, model.time_until_age) / at_30,
                   time_weight(table, question.sex, age, model.time_power, end) / at_30_to_end);
      const double lung_later = by_sex(question.sex, [&](std::size_t s) {
        return over_life(table.qx[s], std::min(age, end - 1e-9), end, [&](double at, std::size_t year) {
          return at >= age + kLungLagYears ? table.lung_per_year[s][year] : 0.0;
        });
      });
      const double reach =
          question.alive_at ? 1.0 : by_sex(question.sex, [&](std::size_t s) { return alive(table.qx[s], age); });
      x += part;
      weighted_meso += part * by_age * reach;
      weighted_lung += part * lung_later * reach;
    }
  }
  Risk risk;
  const double smoking = smoking_factor(question, data);
  if (x > 0) {
    const double meso_age = weighted_meso / x * model.share_of_deaths_after_reference / 100 * kMillion;
    const double lung_age = weighted_lung / x / 100 * kMillion * smoking;
    const double pleural = std::pow(x, model.pleural_power);
    const double raised = std::pow(x, model.lung_power);
    risk.mesothelioma_per_million =
        meso_age * (meso->best * pleural + meso->peritoneal * std::pow(x, model.peritoneal_power));
    risk.lung_per_million = lung_age * lung->best * raised;
    risk.low_per_million = meso_age * meso->low * pleural + lung_age * lung->low * raised;
    risk.high_per_million = meso_age * meso->high * pleural + lung_age * lung->high * raised;
  }
  risk.reasons.push_back({fmt::format("{:.3g} f/ml yr of a {:g} h working year, {}", x, model.working_hours_per_year,
                                      question.fibre ? std::string(book::word(*question.fibre)) : "mixed fibres"),
                          model.mesothelioma_backing.source});
  if (!question.fibre)
    risk.reasons.push_back({"Mixed fibres count as the mean of amosite and chrysotile", "judgement"});
  risk.reasons.push_back(
      {"Mesothelioma by age: the cube of the years since, to age 80, over the life table", "coc-2013"});
  return risk;
}

}  // namespace

std::pair<double, double> life_table_risk(const Constants& constants, std::span<const Exposure> exposures,
                                          const LifeTable& table, std::optional<Sex> sex,
                                          std::optional<double> alive_at) {
  const double from = alive_at.value_or(0);
  const auto add = [&](double& meso, double& lung, std::size_t s) {
    for (const auto& one : exposures) {
      const double years = one.age_to - one.age_from;
      meso += over_life(table.qx[s], from, table.end_age(), [&](double age, std::size_t) {
        const double since = age - constants.lag_years - one.age_from;
        return constants.mesothelioma_per_f * one.f_per_ml * (cube(above(since)) - cube(above(since - years)));
      });
      lung += over_life(table.qx[s], from, table.end_age(), [&](double age, std::size_t year) {
        const double gathered = one.f_per_ml * std::min(above(age - constants.lag_years - one.age_from), years);
        return constants.lung_per_f_yr * gathered * table.lung_per_year[s][year];
      });
    }
  };
  std::array<double, 2> meso{};
  std::array<double, 2> lung{};
  for (const std::size_t s : {0U, 1U}) add(meso[s], lung[s], s);
  return {by_sex(sex, [&](std::size_t s) { return meso[s]; }) * kMillion,
          by_sex(sex, [&](std::size_t s) { return lung[s]; }) * kMillion};
}

double time_weight(const LifeTable& table, std::optional<Sex> sex, double age, double power, double until_age) {
  return by_sex(sex, [&](std::size_t s) {
    return over_life(table.qx[s], std::min(age, table.end_age() - 1e-9), until_age,
                     [&](double at, std::size_t) { return std::pow(above(at - age), power); });
  });
}

std::string_view name_of(Model model) {
  switch (model) {
    case Model::kEpa1986:
      return "US EPA 1986, life table: all types of fibre alike";
    case Model::kIrisUnitRisk:
      return "US EPA unit risk (IRIS): all types of fibre alike";
    case Model::kHodgsonDarntonPower:
      return "Hodgson and Darnton 2000, power law, by type of fibre";
    case Model::kHodgsonDarntonLinear:
      return "Hodgson and Darnton 2000, straight line, by type of fibre";
    case Model::kDarnton2023:
      return "Darnton 2023, straight line, by type of fibre";
  }
  return "";
}

reason::Result<Risk> lifetime_risk(const Question& question, const catalogue::RiskData& data) {
  const bool is_iris = question.model == Model::kIrisUnitRisk;
  const auto* table = table_called(data, is_iris ? data.iris.life_table : question.life_table);
  if (table == nullptr) {
    std::string known;
    for (const auto& one : data.tables) known += (known.empty() ? "" : ", ") + one.id;
    return reason::Fault{"/life_table", question.life_table, "is no life table here", "one of: " + known};
  }
  auto faults = check(question, *table);
  if (!faults.empty()) return faults;
  auto risk = [&]() -> reason::Result<Risk> {
    switch (question.model) {
      case Model::kEpa1986:
        return epa_1986(question, data, *table);
      case Model::kIrisUnitRisk:
        return iris(question, data, *table);
      case Model::kHodgsonDarntonPower:
      case Model::kHodgsonDarntonLinear:
      case Model::kDarnton2023:
        break;
    }
    const auto wanted = kModelWords[static_cast<std::size_t>(question.model)];
    const auto found =
        std::find_if(data.cumulative.begin(), data.cumulative.end(), [&](const auto& m) { return m.id == wanted; });
    if (found == data.cumulative.end()) throw std::logic_error("no figures for a risk model");
    return cumulative(question, data, *table, *found);
  }();
  if (!risk.ok()) return risk;
  risk->mesothelioma_per_million = std::min(risk->mesothelioma_per_million, kMillion);
  risk->lung_per_million = std::min(risk->lung_per_million, kMillion);
  risk->total_per_million = std::min(risk->mesothelioma_per_million + risk->lung_per_million, kMillion);
  risk->low_per_million = std::min(risk->low_per_million, risk->total_per_million);
  risk->high_per_million = std::clamp(risk->high_per_million, risk->total_per_million, kMillion);
  risk->reasons.push_back({"Deaths from other causes compete: " + table->name, table->backing.source});
  risk->reasons.push_back({"Lung cancer background: " + table->lung_note, table->lung_backing.source});
  if (question.smoker) {
    risk->reasons.push_back(
        {fmt::format("Lung cancer {:g} times the whole population's background: {}", smoking_factor(question, data),
                     *question.smoker ? "smokes" : "does not smoke"),
         data.smoking.backing.source});
  }
  risk->reasons.push_back(
      {question.alive_at ? fmt::format("Given alive at {:g}", *question.alive_at) : "Counted from birth",
       "arithmetic"});
  if (risk->total_per_million > 50'000) {
    risk->reasons.push_back(
        {"So large a risk is beyond where these models are straight; read it as very high", "judgement"});
  }
  return risk;
}

reason::Result<std::vector<Risk>> all_models(Question question, const catalogue::RiskData& data) {
  std::vector<Risk> out;
  for (std::size_t i = 0; i < kModelWords.size(); ++i) {
    question.model = static_cast<Model>(i);
    auto one = lifetime_risk(question, data);
    if (!one.ok()) return one.faults();
    out.push_back(std::move(*one));
  }
  return out;
}

reason::Reasons why_models_disagree() {
  return {{"Every model was fitted to workers who breathed far more for far longer; below that, each draws its own "
           "line to zero",
           "judgement"},
          {"The older US model counts all fibre types alike; the later ones count amosite about a hundred and "
           "crocidolite about five "
           "hundred times chrysotile for mesothelioma",
           "hodgson-darnton-2000"},
          {"The power law lets small amounts weigh more for mesothelioma and less for lung cancer than a straight line "
           "does",
           "hodgson-darnton-2000"},
          {"A span that covers all of them is what can honestly be said; the truth for one person is not in it, only "
           "chances",
           "judgement"}};
}

}  // namespace lathbook::dose
