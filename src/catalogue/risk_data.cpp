#include "catalogue/risk_data.h"

#include <algorithm>
#include <stdexcept>

#include "assets/assets.h"
#include "catalogue/reader.h"

namespace lathbook::catalogue {
namespace {

FibreSlope slope_of(const Reader& in) {
  FibreSlope out;
  out.fibre = in.book_word<book::Fibre>("fibre");
  out.slope = in.has("pleural") ? in.number("pleural") : in.number("slope");
  out.peritoneal = in.maybe_number("peritoneal").value_or(0);
  out.low = in.maybe_number("low");
  out.high = in.maybe_number("high");
  return out;
}

CumulativeModel model_of(const Reader& in) {
  CumulativeModel out;
  out.id = in.text("id");
  out.name = in.text("name");
  out.working_hours_per_year = in.number("working_hours_per_year");
  const auto meso = in.inner("mesothelioma");
  out.pleural_power = meso.maybe_number("pleural_power").value_or(1);
  out.peritoneal_power = meso.maybe_number("peritoneal_power").value_or(1);
  out.share_of_deaths_after_reference = meso.number("share_of_deaths_after_30");
  out.reference_age = meso.number("reference_age");
  out.time_power = meso.number("time_power");
  out.time_until_age = meso.number("time_until_age");
  out.mesothelioma = meso.each("percent", slope_of);
  out.mesothelioma_low_factor = meso.number("low_factor");
  out.mesothelioma_high_factor = meso.number("high_factor");
  out.mesothelioma_backing = meso.backing();
  const auto lung = in.inner("lung");
  out.lung_power = lung.maybe_number("power").value_or(1);
  out.lung = lung.each("percent", slope_of);
  out.lung_low_factor = lung.number("low_factor");
  out.lung_high_factor = lung.number("high_factor");
  out.lung_backing = lung.backing();
  return out;
}

}  // namespace

reason::Result<RiskData> parse_risk_data(std::string_view life_tables, std::string_view risk_models) {
  const auto life = schema::Document::read(life_tables, "life_tables.json");
  if (!life.ok()) return life.faults();
  const auto models = schema::Document::read(risk_models, "risk_models.json");
  if (!models.ok()) return models.faults();
  reason::Faults faults;
  RiskData out;

  const Reader root(*life, "", faults);
  std::array<std::vector<double>, 2> lung;
  const auto rates = root.inner("lung_rates");
  if (rates.has("female_per_year")) lung[0] = rates.numbers("female_per_year");
  if (rates.has("male_per_year")) lung[1] = rates.numbers("male_per_year");
  if (lung[0].empty() || lung[1].empty())
    rates.add("", "holds no rates for one sex", "female_per_year and male_per_year");
  out.tables = root.each("tables", [&](const Reader& in) {
    LifeTable table;
    table.id = in.text("id");
    table.name = in.text("name");
    table.backing = in.backing();
    const auto scale = in.inner("lung_scale");
    table.lung_backing = scale.backing();
    table.lung_note = scale.text("note");
    for (const auto sex : {Sex::kFemale, Sex::kMale}) {
      const auto s = static_cast<std::size_t>(sex);
      const char* const kQx[] = {"female_qx", "male_qx"};
      const char* const kScale[] = {"female", "male"};
      table.qx[s] = in.numbers(kQx[s]);
      const double factor = scale.number(kScale[s]);
      if (lung[s].empty()) continue;
      for (std::size_t age = 0; age < table.qx[s].size(); ++age) {
        if (!(table.qx[s][age] >= 0 && table.qx[s][age] <= 1))
          in.add(kQx[s], "holds a figure that is no chance", "0 to 1");
        table.lung_per_year[s].push_back(factor * lung[s][std::min(age, lung[s].size() - 1)]);
      }
    }
    if (table.qx[0].size() != table.qx[1].size())
      in.add("male_qx", "covers other ages than female_qx", "the same ages");
    return table;
  });

  const Reader top(*models, "", faults);
  out.cumulative = top.each("models", model_of);
  const auto epa = top.inner("epa_1986");
  out.epa_1986 = {epa.text("name"),         epa.number("lung_per_f_yr"), epa.number("mesothelioma_per_f"),
                  epa.number("lag_years"),  epa.number("hours_factor"),  epa.number("volume_factor"),
                  epa.number("low_factor"), epa.number("high_factor"),   epa.backing()};
  const auto iris = top.inner("iris");
  out.iris = {iris.text("name"),         iris.number("lifetime_per_f_per_ml"), iris.text("life_table"),
              iris.number("low_factor"), iris.number("high_factor"),           iris.backing()};
  const auto smoking = top.inner("smoking");
  out.smoking = {smoking.number("smoker"), smoking.number("never"), smoking.backing()};
  if (!faults.empty()) return faults;
  return out;
}

const RiskData& shipped_risk_data() {
  static const RiskData kData = [] {
    auto parsed = parse_risk_data(assets::get("data/life_tables.json"), assets::get("data/risk_models.json"));
    if (!parsed.ok())
      throw std::logic_error("data/life_tables.json or risk_models.json: " + parsed.faults().front().text());
    return std::move(*parsed);
  }();
  return kData;
}

}  // namespace lathbook::catalogue
