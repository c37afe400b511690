#include "service/assign.h"

#include <fmt/format.h>

#include <algorithm>
#include <charconv>
#include <cmath>
#include <nlohmann/json.hpp>
#include <optional>
#include <utility>

#include "assets/assets.h"
#include "book/json.h"
#include "schema/schema.h"

namespace lathbook::service {
namespace {

using reason::Fault;
using reason::Faults;
using reason::Result;

std::string_view trimmed(std::string_view text) {
  const auto first = text.find_first_not_of(" \t\n");
  if (first == std::string_view::npos) return {};
  return text.substr(first, text.find_last_not_of(" \t\n") - first + 1);
}

std::vector<std::string_view> split(std::string_view text, std::string_view separators) {
  std::vector<std::string_view> parts;
  std::size_t at = 0;
  while (at <= text.size()) {
    const auto end = std::min(text.find_first_of(separators, at), text.size());
    if (const auto part = trimmed(text.substr(at, end - at)); !part.empty()) parts.push_back(part);
    at = end + 1;
  }
  return parts;
}

std::optional<double> number(std::string_view text) {
  text = trimmed(text);
  double value = 0;
  const auto [end, error] = std::from_chars(text.data(), text.data() + text.size(), value);
  if (error != std::errc() || end != text.data() + text.size() || !std::isfinite(value)) return std::nullopt;
  return value;
}

/// Whole numbers stay whole, so that 3 is written as 3 and not as 3.0.
Json number_json(double value) {
  constexpr double kExact = 9007199254740992.0;
  if (std::floor(value) == value && std::abs(value) < kExact) return static_cast<std::int64_t>(value);
  return value;
}

std::optional<Json> point(std::string_view text) {
  const auto comma = text.find(',');
  if (comma == std::string_view::npos) return std::nullopt;
  const auto x = number(text.substr(0, comma));
  const auto y = number(text.substr(comma + 1));
  if (!x || !y) return std::nullopt;
  return Json::array({*x, *y});
}

std::optional<Json> points(std::string_view text) {
  Json list = Json::array();
  for (const auto part : split(text, " ;")) {
    auto one = point(part);
    if (!one) return std::nullopt;
    list.push_back(std::move(*one));
  }
  return list;
}

constexpr const char* kShapeForm =
    "whole; point X,Y; line X,Y X,Y … wide W; outline X,Y X,Y X,Y …; or on a wall: from A to B high C to D (metres)";

std::optional<Json> shape(std::string_view text) {
  const auto rest = [&](std::string_view word) { return trimmed(text.substr(word.size())); };
  if (text.starts_with("point ")) {
    auto at = point(rest("point "));
    if (!at) return std::nullopt;
    return Json{{"point", std::move(*at)}};
  }
  if (text.starts_with("line ")) {
    auto body = rest("line ");
    Json out = Json::object();
    if (const auto wide = body.find(" wide "); wide != std::string_view::npos) {
      const auto width = number(body.substr(wide + 6));
      if (!width) return std::nullopt;
      out["width_m"] = *width;
      body = body.substr(0, wide);
    }
    auto list = points(body);
    if (!list) return std::nullopt;
    out["line"] = std::move(*list);
    return out;
  }
  if (text.starts_with("outline ")) {
    auto list = points(rest("outline "));
    if (!list) return std::nullopt;
    return Json{{"outline", std::move(*list)}};
  }
  const auto words = split(text, " ");
  if (words.size() == 8 && words[0] == "from" && words[2] == "to" && words[4] == "high" && words[6] == "to") {
    const auto left = number(words[1]);
    const auto right = number(words[3]);
    const auto low = number(words[5]);
    const auto high = number(words[7]);
    if (left && right && low && high)
      return Json{{"left_m", *left}, {"right_m", *right}, {"low_m", *low}, {"high_m", *high}};
  }
  return std::nullopt;
}

std::optional<Json> extent(std::string_view text) {
  const auto end = text.find_first_not_of("0123456789.+-eE");
  const auto amount = number(text.substr(0, end));
  if (!amount) return std::nullopt;
  const auto unit = end == std::string_view::npos ? std::string_view{} : trimmed(text.substr(end));
  if (unit == "m2" || unit == "m²") return Json{{"amount", *amount}, {"unit", "m2"}};
  if (unit == "m") return Json{{"amount", *amount}, {"unit", "m"}};
  if (unit.empty() || unit == "number") return Json{{"amount", *amount}, {"unit", "number"}};
  return std::nullopt;
}

/// "1954", or "1960s" for all ten.
std::optional<std::pair<double, double>> year_or_decade(std::string_view text) {
  text = trimmed(text);
  const bool decade = text.size() == 5 && text.ends_with("0s");
  if (decade) text.remove_suffix(1);
  const auto year = number(text);
  if (!year) return std::nullopt;
  return std::pair(*year, decade ? *year + 9 : *year);
}

std::optional<Json> years(std::string_view text) {
  const auto dash = text.find('-');
  const auto from = year_or_decade(text.substr(0, dash));
  const auto to = dash == std::string_view::npos ? from : year_or_decade(text.substr(dash + 1));
  if (!from || !to) return std::nullopt;
  return Json{{"from", number_json(from->first)}, {"to", number_json(to->second)}};
}

std::optional<Json> money(std::string_view text) {
  const auto amount = number(text);
  if (!amount) return std::nullopt;
  const double minor = std::round(*amount * 100);
  if (std::abs(minor - *amount * 100) > 1e-6) return std::nullopt;
  return number_json(minor);
}

/// The name of the shared part a field refers to ("outline", "shape", …), or nothing.
std::string_view shared_part(const Json& raw) {
  if (!raw.is_object() || !raw.contains("$ref")) return {};
  const std::string_view target = raw["$ref"].get_ref<const std::string&>();
  return target.substr(target.rfind('/') + 1);
}

struct Writing {
  std::optional<Json> value;
  std::string allowed;
};

Writing read_value(const Json& raw, std::string_view text) {
  const auto& form = book::book_schema();
  const auto shared = shared_part(raw);
  if (shared == "shape") return {text == "whole" ? std::optional<Json>(nullptr) : shape(text), kShapeForm};
  if (shared == "outline") return {points(text), "corners X,Y separated by spaces, in metres: 0,0 4,0 4,3 0,3"};
  if (shared == "point") return {point(text), "X,Y in metres"};
  if (shared == "extent") return {extent(text), "an amount with m2 or m, or a number of pieces: 12 m2"};
  if (shared == "years") return {years(text), "a year, a range or a decade: 1954, 1954-1960 or 1950s"};
  const auto& part = form.resolve(raw);
  if (part.contains("x-money")) return {money(text), "an amount with at most two decimals: 249.50"};
  const std::string type =
      part.contains("type") && part["type"].is_string() ? part["type"].get<std::string>() : "string";
  if (type == "string") return {Json(text), ""};
  if (type == "number" || type == "integer") {
    const auto value = number(text);
    return {value ? std::optional(number_json(*value)) : std::nullopt, form.allowed(part)};
  }
  if (type == "boolean") {
    if (text == "yes" || text == "true") return {Json(true), ""};
    if (text == "no" || text == "false") return {Json(false), ""};
    return {std::nullopt, "yes or no"};
  }
  if (type == "array" && !text.starts_with('[')) {
    const auto& item = form.items_of(part);
    const std::string item_type = item.value("type", "");
    if (item_type == "string" || item_type == "number" || item_type == "integer") {
      Json list = Json::array();
      for (const auto one : split(text, ",")) {
        auto value = read_value(part["items"], one);
        if (!value.value) return {std::nullopt, value.allowed};
        list.push_back(std::move(*value.value));
      }
      return {std::move(list), ""};
    }
  }
  auto parsed = schema::parse_json(text);
  if (!parsed.ok()) return {std::nullopt, form.allowed(part) + ", as JSON"};
  return {std::move(*parsed), ""};
}

std::string how_to_write(const Json& raw) {
  const auto shared = shared_part(raw);
  if (shared == "shape") return kShapeForm;
  if (shared == "outline") return "X,Y X,Y X,Y … in metres";
  if (shared == "point") return "X,Y";
  if (shared == "extent") return "12 m2 | 8 m | 3";
  if (shared == "years") return "1954 | 1954-1960 | 1950s";
  const auto& form = book::book_schema();
  const auto& part = form.resolve(raw);
  if (part.contains("x-money")) return "249.50";
  if (part.value("type", "") == "boolean") return "yes | no";
  if (part.value("type", "") == "array") {
    const auto& item = form.items_of(part);
    if (item.value("type", "") == "object") return "see `lathbook add`: its parts are added one by one";
    return form.allowed(item) + ", …";
  }
  return form.allowed(part);
}

std::string plain_number(const Json& value) {
  return value.is_number_float() ? fmt::format("{:g}", value.get<double>()) : value.dump();
}

std::string points_text(const Json& list) {
  std::vector<std::string> parts;
  for (const auto& one : list) parts.push_back(fmt::format("{},{}", plain_number(one[0]), plain_number(one[1])));
  return fmt::format("{}", fmt::join(parts, " "));
}

std::string shape_text(const Json& shape) {
  if (shape.contains("point")) return "point " + points_text(Json::array({shape["point"]}));
  if (shape.contains("line")) {
    return fmt::format("line {}{}", points_text(shape["line"]),
                       shape.contains("width_m") ? " wide " + plain_number(shape["width_m"]) : "");
  }
  if (shape.contains("outline")) return "outline " + points_text(shape["outline"]);
  return fmt::format("from {} to {} high {} to {}", plain_number(shape["left_m"]), plain_number(shape["right_m"]),
                     plain_number(shape["low_m"]), plain_number(shape["high_m"]));
}

/// The inverse of read_value.
std::string value_text(const Json& raw, const Json& value) {
  const auto shared = shared_part(raw);
  if (shared == "shape") return shape_text(value);
  if (shared == "outline") return points_text(value);
  if (shared == "point") return points_text(Json::array({value}));
  if (shared == "extent")
    return plain_number(value["amount"]) + (value["unit"] == "number" ? "" : " " + value["unit"].get<std::string>());
  if (shared == "years")
    return value["from"] == value["to"] ? plain_number(value["from"])
                                        : fmt::format("{}-{}", plain_number(value["from"]), plain_number(value["to"]));
  const auto& part = book::book_schema().resolve(raw);
  if (part.contains("x-money")) {
    const auto minor = value.get<std::int64_t>();
    return minor % 100 == 0 ? fmt::format("{}", minor / 100) : fmt::format("{}.{:02}", minor / 100, minor % 100);
  }
  if (value.is_string()) return value.get<std::string>();
  if (value.is_boolean()) return value.get<bool>() ? "yes" : "no";
  if (value.is_number()) return plain_number(value);
  if (value.is_array() &&
      std::all_of(value.begin(), value.end(), [](const Json& one) { return !one.is_structured(); })) {
    std::vector<std::string> parts;
    for (const auto& one : value) parts.push_back(value_text(part.value("items", Json::object()), one));
    return fmt::format("{}", fmt::join(parts, ", "));
  }
  return value.dump();
}

/// The names of a part's fields in the order the schema gives them; nlohmann::json alone sorts them.
std::vector<std::string> field_order(std::string_view pointer) {
  static const auto kOrdered = nlohmann::ordered_json::parse(assets::get("data/schemas/book.schema.json"));
  std::vector<std::string> names;
  const auto& properties = kOrdered.at(nlohmann::ordered_json::json_pointer(std::string(pointer))).at("properties");
  for (const auto& [name, inner] : properties.items()) names.push_back(name);
  return names;
}

}  // namespace

std::vector<WrittenField> written(std::string_view pointer, const Json& item) {
  const auto& form = book::book_schema();
  const auto& part = form.resolve(form.document().at(Json::json_pointer(std::string(pointer))));
  std::vector<WrittenField> out;
  for (const auto& name : field_order(pointer)) {
    if (name == "id" || !item.contains(name)) continue;
    const auto& raw = part["properties"][name];
    const auto& inner = form.resolve(raw);
    const bool nested = item[name].is_object() && shared_part(raw).empty() && inner.contains("properties");
    const bool named_parts = item[name].is_object() && shared_part(raw) == "priority-factors";
    if (nested || named_parts) {
      for (const auto& [key, value] : item[name].items())
        out.push_back({name + "." + key, value_text(inner["properties"][key], value)});
    } else if (!(item[name].is_array() && !item[name].empty() && item[name].front().is_object())) {
      out.push_back({name, value_text(raw, item[name])});
    }
  }
  return out;
}

Result<Json> assign(Json item, std::string_view pointer, std::span<const std::string> assignments) {
  const auto& form = book::book_schema();
  const Json& part = form.resolve(form.document().at(Json::json_pointer(std::string(pointer))));
  Faults faults;
  for (const auto& assignment : assignments) {
    const auto equals = assignment.find('=');
    const auto path = split(std::string_view(assignment).substr(0, equals), ".");
    if (equals == std::string::npos || path.empty()) {
      faults.push_back({assignment, "", "is not of the form field=value", "for instance name=\"Front room\"",
                        reason::FaultKind::kUsage});
      continue;
    }
    const auto text = trimmed(std::string_view(assignment).substr(equals + 1));
    const Json* raw = &part;
    Json* target = &item;
    std::string where;
    bool known = true;
    for (std::size_t i = 0; i < path.size() && known; ++i) {
      const std::string key(path[i]);
      where += (where.empty() ? "" : ".") + key;
      const auto& here = form.resolve(*raw);
      const bool has = here.contains("properties") && here["properties"].contains(key);
      if (!has) {
        std::vector<std::string> names;
        if (here.contains("properties")) {
          for (const auto& [name, inner] : here["properties"].items()) {
            if (name != "id") names.push_back(name);
          }
        }
        faults.push_back({where, std::string(text), "is not a field of this", fmt::format("{}", fmt::join(names, ", ")),
                          reason::FaultKind::kUsage});
        known = false;
        break;
      }
      raw = &here["properties"][key];
      if (i + 1 < path.size()) {
        if (!target->contains(key) || !(*target)[key].is_object()) (*target)[key] = Json::object();
        target = &(*target)[key];
      }
    }
    if (!known) continue;
    const std::string key(path.back());
    if (key == "id" && path.size() == 1) {
      faults.push_back({"id", std::string(text), "is given by the book and stays", "", reason::FaultKind::kUsage});
      continue;
    }
    if (text.empty()) {
      target->erase(key);
      continue;
    }
    auto value = read_value(*raw, text);
    if (!value.value) {
      faults.push_back({where, fmt::format("\"{}\"", text), "cannot be read", value.allowed});
    } else if (value.value->is_null()) {
      target->erase(key);
    } else {
      (*target)[key] = std::move(*value.value);
    }
  }
  if (!faults.empty()) return faults;
  return item;
}

std::vector<FieldHelp> fields_of(std::string_view pointer) {
  const auto& form = book::book_schema();
  const auto& here = form.resolve(form.document().at(Json::json_pointer(std::string(pointer))));
  const auto required = here.value("required", Json::array());
  std::vector<FieldHelp> out;
  for (const auto& name : field_order(pointer)) {
    if (name == "id") continue;
    const auto& raw = here.at("properties").at(name);
    const auto& resolved = form.resolve(raw);
    out.push_back({name, how_to_write(raw), raw.value("description", resolved.value("description", "")),
                   std::find(required.begin(), required.end(), name) != required.end()});
  }
  std::stable_partition(out.begin(), out.end(), [](const FieldHelp& field) { return field.required; });
  return out;
}

}  // namespace lathbook::service
