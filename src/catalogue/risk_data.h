// Life tables, lung cancer rates and the figures of the published risk models, from data/life_tables.json and
// data/risk_models.json. Nothing here reads a file: the texts are passed in.
#pragma once

#include <array>
#include <optional>
#include <string>
#include <string_view>
#include <vector>

#include "catalogue/catalogue.h"
#include "reason/fault.h"

namespace lathbook::catalogue {

enum class Sex { kFemale, kMale };

/// Chances of dying within each year of age from 0, and lung cancer deaths per person-year at each age from 0.
struct LifeTable {
  std::string id;
  std::string name;
  std::array<std::vector<double>, 2> qx;             ///< by Sex
  std::array<std::vector<double>, 2> lung_per_year;  ///< as long as qx, the table's scale already in it
  Backing backing;
  Backing lung_backing;  ///< of the scale put on the lung curve
  std::string lung_note;

  [[nodiscard]] double end_age() const { return static_cast<double>(qx[0].size()); }
};

/// A slope by fibre type; per cent per f/ml yr (to the model's power). `low` and `high` are what its authors call
/// arguable.
struct FibreSlope {
  book::Fibre fibre = book::Fibre::kChrysotile;
  double slope = 0;       ///< or the pleural coefficient of a power law
  double peritoneal = 0;  ///< power law only
  std::optional<double> low;
  std::optional<double> high;
};

/// A model stated as per cent of deaths (mesothelioma) and per cent excess (lung) for a cumulative exposure.
struct CumulativeModel {
  std::string id;
  std::string name;
  double working_hours_per_year = 1920;
  double pleural_power = 1;
  double peritoneal_power = 1;
  double lung_power = 1;
  double share_of_deaths_after_reference = 0.69;  ///< of all deaths, what the model's percentages are of
  double reference_age = 30;
  double time_power = 3;
  double time_until_age = 80;
  std::vector<FibreSlope> mesothelioma;
  std::vector<FibreSlope> lung;
  double mesothelioma_low_factor = 1;
  double mesothelioma_high_factor = 1;
  double lung_low_factor = 1;
  double lung_high_factor = 1;
  Backing mesothelioma_backing;
  Backing lung_backing;
};

struct LifeTableModel {
  std::string name;
  double lung_per_f_yr = 0;       ///< K_L, per f/ml yr
  double mesothelioma_per_f = 0;  ///< K_M, per f/ml and cubed years
  double lag_years = 10;
  double hours_factor = 4.2;   ///< working week to continuous, by hours
  double volume_factor = 2.8;  ///< by air breathed
  double low_factor = 1;
  double high_factor = 1;
  Backing backing;
};

struct UnitRisk {
  std::string name;
  double lifetime_per_f_per_ml = 0;
  std::string life_table;
  double low_factor = 1;
  double high_factor = 1;
  Backing backing;
};

struct SmokingFactors {
  double smoker = 1;
  double never = 1;
  Backing backing;
};

struct RiskData {
  std::vector<LifeTable> tables;
  std::vector<CumulativeModel> cumulative;
  LifeTableModel epa_1986;
  UnitRisk iris;
  SmokingFactors smoking;
};

/// From the texts of life_tables.json and risk_models.json; all faults found.
[[nodiscard]] reason::Result<RiskData> parse_risk_data(std::string_view life_tables, std::string_view risk_models);

/// The shipped data, which must parse (std::logic_error otherwise).
[[nodiscard]] const RiskData& shipped_risk_data();

}  // namespace lathbook::catalogue
