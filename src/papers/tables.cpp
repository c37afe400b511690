#include "papers/tables.h"

#include <fmt/format.h>

#include <algorithm>
#include <array>
#include <cmath>
#include <nlohmann/json.hpp>
#include <tuple>

#include "assets/assets.h"
#include "book/json.h"
#include "book/words.h"
#include "papers/papers.h"

namespace lathbook::papers {
namespace {

using Json = nlohmann::ordered_json;

struct Field {
  std::string name;  ///< "place.room"
  std::string unit;
  std::string type;
  std::string meaning;
};

struct Table {
  std::string name;
  std::string meaning;
  std::vector<Field> fields;
  std::vector<std::vector<Json>> rows;  ///< null where nothing is written down
};

/// Units are the ends of names; money is in minor units of the book's currency.
std::string unit_of(std::string_view name, const std::string& currency) {
  const auto dot = name.rfind('.');
  const auto last = dot == std::string_view::npos ? name : name.substr(dot + 1);
  static constexpr std::array<std::pair<std::string_view, std::string_view>, 13> kEnds{{{"_kg_per_visit", "kg"},
                                                                                        {"_l_per_min", "l/min"},
                                                                                        {"_f_per_ml", "f/ml"},
                                                                                        {"_per_h", "1/h"},
                                                                                        {"_per_day", "h/d"},
                                                                                        {"_min", "min"},
                                                                                        {"_mm", "mm"},
                                                                                        {"_m2", "m2"},
                                                                                        {"_km", "km"},
                                                                                        {"_kg", "kg"},
                                                                                        {"_m", "m"},
                                                                                        {"_days", "d"},
                                                                                        {"_on", "ISO 8601"}}};
  for (const auto& [end, unit] : kEnds) {
    if (last.ends_with(end)) return std::string(unit);
  }
  if (last == "minutes") return "min";
  if (last == "days") return "d";
  if (last == "bytes") return "B";
  if (last.starts_with("cost") || last.starts_with("price") || last.starts_with("test_") || last == "waiting_per_week")
    return "1/100 " + currency;
  return "";
}

const Json& definitions() {
  static const Json schema = Json::parse(assets::get("data/schemas/book.schema.json"));
  return schema;
}

/// The part of the schema a field is described by, references followed.
const Json& resolved(const Json& part) {
  if (!part.contains("$ref")) return part;
  return resolved(definitions().at(Json::json_pointer(part.at("$ref").get<std::string>().substr(1))));
}

std::string meaning_of(const Json& part) {
  if (part.contains("description")) return part.at("description").get<std::string>();
  const auto& whole = resolved(part);
  return whole.contains("description") ? whole.at("description").get<std::string>() : "";
}

/// One field, or the fields of a plain object inside it; lists and choices of shapes stay one cell of JSON.
void add_fields(std::vector<Field>& fields, const std::string& name, const Json& part, const std::string& currency) {
  const auto& whole = resolved(part);
  if (whole.contains("properties") && !whole.contains("oneOf")) {
    for (const auto& [inner, inner_part] : whole.at("properties").items())
      add_fields(fields, name + "." + inner, inner_part, currency);
    return;
  }
  const std::string type =
      whole.contains("type") && whole.at("type").is_string() ? whole.at("type").get<std::string>() : "JSON";
  fields.push_back({name, unit_of(name, currency),
                    type == "array"    ? "JSON list"
                    : type == "object" ? "JSON"
                                       : type,
                    meaning_of(part)});
}

Json value_at(const Json& item, const std::string& name) {
  const Json* at = &item;
  for (std::size_t from = 0; from <= name.size();) {
    const auto dot = std::min(name.find('.', from), name.size());
    const auto key = name.substr(from, dot - from);
    if (!at->is_object() || !at->contains(key)) return nullptr;
    at = &at->at(key);
    from = dot + 1;
  }
  return *at;
}

/// What the open form leaves out because it is as usual: a cell says it all the same.
Json usual_value(std::string_view list, std::string_view field) {
  struct Usual {
    std::string_view list;
    std::string_view field;
    Json value;
  };
  static const Usual kUsual[] = {
      {"materials", "damage", "none"},
      {"materials", "layer", 0},
      {"pieces", "count", 1},
      {"pieces", "whole", true},
      {"pieces", "wrapped", false},
      {"rooms", "kind", "room"},
      {"openings", "kind", "door"},
      {"openings", "usual", "closed"},
      {"jobs", "by", "householder"},
      {"jobs", "people", 1},
      {"events", "imagined", false},
      {"materials", "overhead_or_hard_to_reach", false},
      {"inspections", "damage", "none"},
  };
  for (const auto& usual : kUsual) {
    if (usual.list == list && usual.field == field) return usual.value;
  }
  return nullptr;
}

/// As many as an estimate may claim and more than a reader needs.
double four_digits(double value) { return std::stod(fmt::format("{:.3e}", value)); }

Table book_table(const book::Kind& kind, const Json& items, const std::string& currency) {
  Table table{std::string(kind.list), meaning_of(definitions().at("properties").at(std::string(kind.list))), {}, {}};
  const auto& properties = definitions().at("$defs").at(std::string(kind.name)).at("properties");
  for (const auto& [name, part] : properties.items()) add_fields(table.fields, name, part, currency);
  for (const auto& item : items) {
    std::vector<Json> row;
    for (const auto& field : table.fields) {
      auto value = value_at(item, field.name);
      row.push_back(value.is_null() ? usual_value(kind.list, field.name) : std::move(value));
    }
    table.rows.push_back(std::move(row));
  }
  return table;
}

/// What is worked out of the materials, beside what was written down.
Table register_table(const Source& source) {
  const auto& house = source.house;
  const auto& book = house.book();
  Table table{"register", "what follows for each material on the day of this file", {}, {}};
  table.fields = {{"id", "", "string", "the material"},
                  {"name", "", "string", "its name"},
                  {"room", "", "string", "the room's name"},
                  {"face", "", "string", "the face of the room"},
                  {"standing", "", "string", "what may be claimed of it; only a releasing standing allows plain work"},
                  {"counts_as_asbestos", "", "boolean", "suspect, still there, and not released"},
                  {"fibres", "", "string", "types a laboratory found"},
                  {"belief", "share", "number", "how likely it holds asbestos; steers testing, releases nothing"},
                  {"belief_low", "share", "number", "lower end of the belief's range"},
                  {"belief_high", "share", "number", "upper end of the belief's range"},
                  {"material_score", "points of 12", "number", "material assessment, 2 to 12; empty where released"},
                  {"next_look_on", "ISO 8601", "string", "when to look at it again; empty where released"}};
  for (std::size_t i = 0; i < book.materials.size(); ++i) {
    const auto& material = book.materials[i];
    const auto& known = house.known(i);
    const auto& assessed = source.assessed[i];
    const auto belief = [&](double value) {
      return known.suspect ? Json(std::round(value * 1e4) / 1e4) : Json(nullptr);
    };
    table.rows.push_back({material.id.text, material.name, room_name(book, material.place.room),
                          material.place.face.text(), standing_text(house, i), counts_as_asbestos(house, i),
                          fibres_text(known.belief.found_fibres), belief(known.belief.probability),
                          belief(known.belief.low), belief(known.belief.high),
                          assessed ? Json(assessed->score.total) : Json(nullptr),
                          assessed ? Json(assessed->next_look.on.text()) : Json(nullptr)});
  }
  return table;
}

std::vector<Field> band_fields(std::string_view name, std::string_view unit, std::string_view meaning) {
  std::vector<Field> fields;
  for (const auto& [end, which] :
       {std::pair{"low", "5th percentile"}, {"middle", "median"}, {"high", "95th percentile"}})
    fields.push_back(
        {fmt::format("{}_{}", name, end), std::string(unit), "number", fmt::format("{}: {}", meaning, which)});
  return fields;
}

/// What each person breathed in each event that could be worked out.
Table exposure_table(const Source& source) {
  Table table{"exposures", "what each person may have breathed in each event; estimates, not medical advice", {}, {}};
  table.fields = {{"event", "", "string", "the event"},
                  {"person", "", "string", "the person"},
                  {"age", "yr", "number", "at the event; empty where the year of birth is not written down"},
                  {"draws", "", "number", "of what is not known, behind the percentiles"}};
  for (const auto& [name, unit, meaning] :
       {std::tuple{"breathed", "f/ml h", "breathed in all, with the mask as worn"},
        {"without_mask", "f/ml h", "had no mask been worn"},
        {"working_years", "f/ml yr", "breathed, in working years of 1,920 h"},
        {"continuous_years", "f/ml yr", "breathed, in years of 8,760 h"},
        {"worst_10_min", "f/ml", "largest 10-minute mean of the air round the person"},
        {"worst_4_h", "f/ml", "largest 4-hour mean of the air round the person"}}) {
    const auto fields = band_fields(name, unit, meaning);
    table.fields.insert(table.fields.end(), fields.begin(), fields.end());
  }
  for (const auto& happened : source.happened) {
    if (!happened.came_to.ok()) continue;
    const auto& answer = happened.came_to->answer;
    for (std::size_t p = 0; p < answer.people.size(); ++p) {
      const auto& one = answer.people[p];
      const auto& risk = happened.came_to->risks[p];
      std::vector<Json> row{source.house.book().events[happened.event].id.text, one.id,
                            risk.age_known ? Json(risk.age) : Json(nullptr), answer.draws};
      for (const auto& band : {one.breathed_f_per_ml_h, one.without_mask_f_per_ml_h, one.working_years,
                               one.continuous_years, one.ten_minutes, one.four_hours}) {
        for (const double value : {band.low, band.middle, band.high}) row.emplace_back(four_digits(value));
      }
      table.rows.push_back(std::move(row));
    }
  }
  return table;
}

/// What each model makes of each of them.
Table exposure_model_table(const Source& source) {
  Table table{"exposure_models", "added deaths in a million people exposed like this, by each model", {}, {}};
  table.fields = {{"event", "", "string", "the event"},
                  {"person", "", "string", "the person"},
                  {"model", "", "string", "the published model; docs/methods/dose.md"}};
  const auto fields =
      band_fields("deaths", "1/1000000", "mesothelioma and lung cancer together, for that percentile of the dose");
  table.fields.insert(table.fields.end(), fields.begin(), fields.end());
  table.fields.push_back({"mesothelioma_middle", "1/1000000", "number", "mesothelioma alone, for the median dose"});
  table.fields.push_back({"lung_middle", "1/1000000", "number", "lung cancer alone, for the median dose"});
  for (const auto& happened : source.happened) {
    if (!happened.came_to.ok()) continue;
    for (std::size_t p = 0; p < happened.came_to->risks.size(); ++p) {
      for (const auto& one : happened.came_to->risks[p].models) {
        table.rows.push_back({source.house.book().events[happened.event].id.text, happened.came_to->answer.people[p].id,
                              std::string(dose::kModelWords[static_cast<std::size_t>(one.model)]),
                              four_digits(one.low.total_per_million), four_digits(one.middle.total_per_million),
                              four_digits(one.high.total_per_million), four_digits(one.middle.mesothelioma_per_million),
                              four_digits(one.middle.lung_per_million)});
      }
    }
  }
  return table;
}

std::string head_of(const Field& field) {
  return field.unit.empty() ? field.name : fmt::format("{} [{}]", field.name, field.unit);
}

std::string csv_of(const Table& table) {
  std::vector<std::string> cells;
  for (const auto& field : table.fields) cells.push_back(csv_cell(head_of(field)));
  std::string text = fmt::format("{}\r\n", fmt::join(cells, ","));
  for (const auto& row : table.rows) {
    cells.clear();
    for (const auto& value : row) {
      if (value.is_null()) {
        cells.emplace_back();
      } else if (value.is_string()) {
        cells.push_back(csv_cell(value.get<std::string>()));
      } else if (value.is_number() || value.is_boolean()) {
        cells.push_back(value.dump());
      } else {
        cells.push_back(csv_cell(value.dump()));
      }
    }
    text += fmt::format("{}\r\n", fmt::join(cells, ","));
  }
  return text;
}

bool left_out(const Source& source, std::string_view list) {
  if (source.without.contains(Section::kPeople) && (list == "people" || list == "parties")) return true;
  if (source.without.contains(Section::kCosts) && list == "quotes") return true;
  return source.without.contains(Section::kHealth) && list == "events";
}

}  // namespace

std::string csv_cell(std::string_view text) {
  std::string cell;
  // A spreadsheet would run such a text as a formula; the apostrophe makes it text.
  if (!text.empty() && std::string_view("=+-@\t\r").find(text.front()) != std::string_view::npos) cell += '\'';
  cell += text;
  if (cell.find_first_of(",\"\r\n") == std::string::npos && cell == text) return cell;
  std::string quoted = "\"";
  for (const char letter : cell) {
    if (letter == '"') quoted += '"';
    quoted += letter;
  }
  return quoted + '"';
}

Files tables(const Source& source) {
  const auto& book = source.house.book();
  const Json form = Json::parse(book::to_json(book).dump());
  std::vector<Table> all{register_table(source)};
  for (const auto& kind : book::kinds()) {
    const std::string list(kind.list);
    if (left_out(source, list)) continue;
    auto table = book_table(kind, form.contains(list) ? form.at(list) : Json::array(), book.about.currency);
    if (source.without.contains(Section::kCosts)) {
      for (std::size_t i = table.fields.size(); i-- > 0;) {
        if (!table.fields[i].unit.starts_with("1/100 ")) continue;
        table.fields.erase(table.fields.begin() + static_cast<std::ptrdiff_t>(i));
        for (auto& row : table.rows) row.erase(row.begin() + static_cast<std::ptrdiff_t>(i));
      }
    }
    all.push_back(std::move(table));
  }
  if (!source.happened.empty()) {
    all.push_back(exposure_table(source));
    all.push_back(exposure_model_table(source));
  }
  std::vector<File> files;
  Table dictionary{"dictionary", "what each column of each table means", {}, {}};
  for (const auto* name : {"table", "column", "unit", "type", "meaning"})
    dictionary.fields.push_back({name, "", "", ""});
  Json whole{
      {"house", book.about.title},
      {"rules", book.about.rules},
      {"currency", book.about.currency},
      {"date", source.today.text()},
      {"book_revision", source.revision},
      {"caution", "What is untested and suspect counts as asbestos. Local codes and licensed practice come first."},
      {"tables", Json::object()}};
  for (const auto& table : all) {
    files.push_back({fmt::format("tables/{}.csv", table.name), csv_of(table)});
    Json rows = Json::array();
    for (const auto& row : table.rows) {
      Json item = Json::object();
      for (std::size_t i = 0; i < row.size(); ++i) {
        if (!row[i].is_null()) item[table.fields[i].name] = row[i];
      }
      rows.push_back(std::move(item));
    }
    whole["tables"][table.name] = std::move(rows);
    for (const auto& field : table.fields)
      dictionary.rows.push_back({table.name, field.name, field.unit, field.type, field.meaning});
  }
  files.push_back({"tables/dictionary.csv", csv_of(dictionary)});
  Json entries = Json::array();
  for (const auto& row : dictionary.rows)
    entries.push_back({{"table", row[0]}, {"column", row[1]}, {"unit", row[2]}, {"type", row[3]}, {"meaning", row[4]}});
  whole["dictionary"] = std::move(entries);
  files.push_back({"tables/tables.json", whole.dump(1) + "\n"});
  return files;
}

}  // namespace lathbook::papers
