#include "catalogue/waste_data.h"

#include <algorithm>
#include <map>
#include <mutex>
#include <nlohmann/json.hpp>
#include <set>
#include <stdexcept>

#include "assets/assets.h"
#include "catalogue/reader.h"
#include "schema/schema.h"

namespace lathbook::catalogue {
namespace {

/// The document of a data file when it fits its schema.
reason::Result<schema::Document> document(std::string_view text, const std::string& file, const char* form) {
  auto parsed = schema::Document::read(text, file);
  if (!parsed.ok()) return parsed.faults();
  const schema::Schema schema(nlohmann::json::parse(assets::get(form)));
  auto faults = schema.check(*parsed->root().json(), file);
  if (!faults.empty()) return faults;
  return parsed;
}

template <class Row, class Key>
void once(const std::vector<Row>& rows, const std::string& where, Key key, reason::Faults& faults) {
  std::set<std::string> seen;
  for (const auto& row : rows) {
    if (!seen.insert(std::string(key(row))).second) {
      faults.push_back({where, std::string(key(row)), "is there twice", "each once"});
    }
  }
}

Accepts accepts_of(const std::string& text) {
  if (text == "sheets") return Accepts::kSheets;
  if (text == "bags") return Accepts::kBags;
  if (text == "nothing") return Accepts::kNothing;
  return Accepts::kSheetsAndBags;
}

SiteRules site(const Reader& row) {
  SiteRules out;
  out.id = row.text("id");
  out.name = row.text("name");
  out.rules = row.text("rules");
  out.accepts = accepts_of(row.text("accepts"));
  out.pieces_per_visit = row.maybe_whole("pieces_per_visit");
  out.mass_kg_per_visit = row.maybe_number("mass_kg_per_visit");
  out.length_m = row.maybe_number("length_m");
  out.width_m = row.maybe_number("width_m");
  out.height_m = row.maybe_number("height_m");
  out.visits_per_month = row.maybe_whole("visits_per_month");
  if (row.has("pieces_per_period")) {
    out.pieces_per_period = row.inner("pieces_per_period").whole("pieces");
    out.pieces_period_months = row.inner("pieces_per_period").whole("months");
  }
  if (row.has("mass_per_period")) {
    out.mass_kg_per_period = row.inner("mass_per_period").number("mass_kg");
    out.mass_period_months = row.inner("mass_per_period").whole("months");
  }
  out.fee_each_minor = row.maybe_whole("fee_each_minor");
  out.fee_bag_minor = row.maybe_whole("fee_bag_minor");
  const auto booking = row.text("booking");
  if (booking != "unknown") out.booking = booking == "yes";
  out.wrapping = row.text("wrapping");
  out.conditions = row.text_or_empty("conditions");
  out.as_of = row.whole("as_of");
  out.backing = row.backing();
  return out;
}

}  // namespace

const WasteKind* WasteData::find_kind(LegalKind kind) const {
  const auto found = std::ranges::find(kinds, kind, &WasteKind::kind);
  return found == kinds.end() ? nullptr : &*found;
}

const Nation* WasteData::find_nation(std::string_view id) const {
  const auto found = std::ranges::find(nations, id, &Nation::id);
  return found == nations.end() ? nullptr : &*found;
}

const Price* WasteData::find_price(std::string_view what) const {
  const auto found = std::ranges::find(prices, what, &Price::what);
  return found == prices.end() ? nullptr : &*found;
}

reason::Result<WasteData> parse_waste_data(std::string_view text, const std::string& name) {
  const auto read = document(text, name, "data/schemas/waste.schema.json");
  if (!read.ok()) return read.faults();
  reason::Faults faults;
  const Reader all(*read, name, faults);
  WasteData out;
  out.rules = all.text("rules");
  out.kinds = all.each("kinds", [](const Reader& row) {
    return WasteKind{row.word_of<LegalKind>("kind"),
                     row.flag("bonded"),
                     row.text("code"),
                     row.text("code_means"),
                     {row.text("code_source"), row.word_of<Sure>("code_sure")},
                     row.flag("special_provision_168"),
                     row.text("note"),
                     row.backing()};
  });
  out.transport = all.each("transport", [](const Reader& row) {
    return TransportNumber{row.text("number"), row.text("name"),   row.text("class"), row.text("packing_group"),
                           row.text("for"),    row.text("packed"), row.backing()};
  });
  out.nations = all.each("nations", [](const Reader& row) {
    return Nation{row.text("id"),        row.text("name"),        row.text("waste_is_called"),
                  row.text("regulator"), row.text("householder"), row.text("trade"),
                  row.backing()};
  });
  out.marks = all.each("marks", [](const Reader& row) {
    return Mark{row.text("on"), row.text("write"), row.backing()};
  });
  out.prices = all.each("prices", [](const Reader& row) {
    return Price{row.text("what"), row.whole("low_minor"), row.whole("high_minor"), row.backing()};
  });
  once(
      out.kinds, name + "/kinds", [](const WasteKind& one) { return word(one.kind); }, faults);
  once(
      out.nations, name + "/nations", [](const Nation& one) -> const std::string& { return one.id; }, faults);
  for (const auto& price : out.prices) {
    if (price.low_minor > price.high_minor) {
      faults.push_back({name + "/prices", price.what, "has its range upside down", "low_minor <= high_minor"});
    }
  }
  if (!faults.empty()) return faults;
  return out;
}

reason::Result<std::vector<SiteRules>> parse_site_rules(std::string_view text) {
  const auto read = document(text, "data/sites.json", "data/schemas/sites.schema.json");
  if (!read.ok()) return read.faults();
  reason::Faults faults;
  auto out = Reader(*read, "data/sites.json", faults).each("sites", site);
  once(
      out, "data/sites.json/sites", [](const SiteRules& one) -> const std::string& { return one.id; }, faults);
  if (!faults.empty()) return faults;
  return out;
}

const WasteData& shipped_waste_data(std::string_view rules) {
  // Each country's is read when it is first asked for.
  static std::mutex mutex;
  static std::map<std::string, WasteData, std::less<>> read;
  const std::lock_guard lock(mutex);
  if (const auto found = read.find(rules); found != read.end()) return found->second;
  const auto name = "data/waste/" + std::string(rules) + ".json";
  const auto& all = assets::all();
  if (std::ranges::none_of(all, [&](const assets::Asset& one) { return one.name == name; }))
    throw std::logic_error("no waste data for the rules " + std::string(rules));
  auto parsed = parse_waste_data(assets::get(name), name);
  if (!parsed.ok()) throw std::logic_error(parsed.faults().front().text());
  if (parsed->rules != rules) throw std::logic_error(name + " is not called as its rules: " + parsed->rules);
  return read.emplace(std::string(rules), std::move(*parsed)).first->second;
}

const std::vector<SiteRules>& shipped_site_rules() {
  static const std::vector<SiteRules> kShipped = [] {
    auto parsed = parse_site_rules(assets::get("data/sites.json"));
    if (!parsed.ok()) throw std::logic_error(parsed.faults().front().text());
    return std::move(*parsed);
  }();
  return kShipped;
}

}  // namespace lathbook::catalogue
