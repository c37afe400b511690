// What asbestos waste is called, how it travels, who owes which paper (data/waste/, one file for each rule pack), and
// what example sites take from a household (data/sites.json; form in docs/formats/site-rules.md).
#pragma once

#include <optional>
#include <string>
#include <string_view>
#include <vector>

#include "catalogue/catalogue.h"
#include "reason/fault.h"

namespace lathbook::catalogue {

struct WasteKind {
  LegalKind kind = LegalKind::kNone;
  bool bonded = false;
  std::string code;  ///< the country's waste code, for instance "17 06 05*" of the List of Wastes
  std::string code_means;
  Backing code_backing;
  bool special_provision_168 = false;
  std::string note;
  Backing backing;
};

struct TransportNumber {
  std::string number;
  std::string name;
  std::string danger_class;
  std::string packing_group;
  std::string used_for;
  std::string packed;  ///< "in approved bags, …"
  Backing backing;
};

/// A part of the country with papers of its own: its id is a region of the rule pack.
struct Nation {
  std::string id;
  std::string name;
  std::string waste_is_called;
  std::string regulator;
  std::string householder;  ///< what a householder owes
  std::string trade;        ///< what a paid trade or carrier owes
  Backing backing;
};

struct Mark {
  std::string on;
  std::string write;
  Backing backing;
};

struct Price {
  std::string what;
  int low_minor = 0;
  int high_minor = 0;
  Backing backing;
};

struct WasteData {
  std::string rules;  ///< id of the rule pack whose country this is
  std::vector<WasteKind> kinds;
  std::vector<TransportNumber> transport;
  std::vector<Nation> nations;
  std::vector<Mark> marks;
  std::vector<Price> prices;

  [[nodiscard]] const WasteKind* find_kind(LegalKind kind) const;
  [[nodiscard]] const Nation* find_nation(std::string_view id) const;
  [[nodiscard]] const Price* find_price(std::string_view what) const;
};

enum class Accepts { kSheetsAndBags, kSheets, kBags, kNothing };

struct SiteRules {
  std::string id;
  std::string name;
  std::string rules;
  Accepts accepts = Accepts::kSheetsAndBags;
  std::optional<int> pieces_per_visit;
  std::optional<double> mass_kg_per_visit;
  std::optional<double> length_m;
  std::optional<double> width_m;
  std::optional<double> height_m;
  std::optional<int> visits_per_month;
  std::optional<int> pieces_per_period;
  int pieces_period_months = 1;
  std::optional<double> mass_kg_per_period;
  int mass_period_months = 1;
  std::optional<int> fee_each_minor;
  std::optional<int> fee_bag_minor;
  std::optional<bool> booking;  ///< absent: not known, ask
  std::string wrapping;
  std::string conditions;
  int as_of = 0;
  Backing backing;
};

/// Reads the text of a file of data/waste/; `name` tells of it in faults. Faults: not JSON, not of its form, a kind or
/// id twice.
[[nodiscard]] reason::Result<WasteData> parse_waste_data(std::string_view text, const std::string& name);
/// Reads the text of a site file such as data/sites.json. Faults as above.
[[nodiscard]] reason::Result<std::vector<SiteRules>> parse_site_rules(std::string_view text);

/// The ones inside the program; std::logic_error when they do not parse.
/// `rules` is the id of a rule pack inside the program.
[[nodiscard]] const WasteData& shipped_waste_data(std::string_view rules);
[[nodiscard]] const std::vector<SiteRules>& shipped_site_rules();

}  // namespace lathbook::catalogue
