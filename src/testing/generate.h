// Random JSON that fits a schema: for round trips, fuzz seeds and comparisons with another schema library.
#pragma once

#include <algorithm>
#include <cmath>
#include <cstdint>
#include <iterator>
#include <nlohmann/json.hpp>
#include <random>
#include <string>
#include <string_view>

#include "schema/schema.h"

namespace lathbook::testing {

/// Draws a value that fits `part` of `form`. Optional fields are there half of the time. Patterns are understood as far
/// as the book's own schema uses them (ids, faces, digests, currencies). With `extremes` one number in four is the
/// least or the most that fits, or next to nothing; otherwise numbers keep to ordinary sizes.
class Generator {
 public:
  Generator(const schema::Schema& form, std::uint64_t seed, bool extremes = false)
      : form_(form), extremes_(extremes), random_(seed) {}

  schema::Json value(const schema::Json& raw) {
    const auto& part = form_.resolve(raw);
    if (part.is_boolean()) return nullptr;
    if (part.contains("const")) return part["const"];
    if (part.contains("enum")) return part["enum"][below(part["enum"].size())];
    for (const char* key : {"anyOf", "oneOf"}) {
      if (part.contains(key)) return value(part[key][below(part[key].size())]);
    }
    const schema::Json types = part.value("type", schema::Json("null"));
    const auto type = (types.is_array() ? types[below(types.size())] : types).get<std::string>();
    if (type == "object") return object(part);
    if (type == "array") return list(part);
    if (type == "string") return text(part);
    if (type == "integer") return static_cast<std::int64_t>(std::floor(number(part)));
    if (type == "number") return number(part);
    if (type == "boolean") return below(2) == 0;
    return nullptr;
  }

  std::size_t below(std::size_t n) { return std::uniform_int_distribution<std::size_t>(0, n - 1)(random_); }
  std::mt19937_64& random() { return random_; }

 private:
  schema::Json object(const schema::Json& part) {
    schema::Json out = schema::Json::object();
    const auto required = part.value("required", schema::Json::array());
    const auto properties = part.value("properties", schema::Json::object());
    for (const auto& [key, inner] : properties.items()) {
      const bool must = std::find(required.begin(), required.end(), key) != required.end();
      if (must || below(2) == 0) out[key] = value(inner);
    }
    const auto dependent = part.value("dependentRequired", schema::Json::object());
    for (const auto& [key, needs] : dependent.items()) {
      if (!out.contains(key)) continue;
      for (const auto& need : needs) out[need.get<std::string>()] = value(part["properties"][need.get<std::string>()]);
    }
    return out;
  }

  schema::Json list(const schema::Json& part) {
    schema::Json out = schema::Json::array();
    if (part.contains("prefixItems")) {
      for (const auto& one : part["prefixItems"]) out.push_back(value(one));
      return out;
    }
    const std::size_t least = part.value("minItems", std::size_t{0});
    const std::size_t most = std::min(part.value("maxItems", least + 3), least + 3);
    const std::size_t count = least + below(most - least + 1);
    for (int tries = 0; out.size() < count && tries < 50; ++tries) {
      auto one = value(part["items"]);
      const bool twice = part.value("uniqueItems", false) && std::find(out.begin(), out.end(), one) != out.end();
      if (!twice) out.push_back(std::move(one));
    }
    return out;
  }

  schema::Json text(const schema::Json& part) {
    if (part.contains("format")) {
      const std::string day = "20" + std::to_string(10 + below(40)) + "-0" + std::to_string(1 + below(9)) + "-1" +
                              std::to_string(below(10));
      return part["format"] == "date" ? day : day + "T1" + std::to_string(below(10)) + ":30";
    }
    const std::string pattern = part.value("pattern", "");
    if (pattern.find("floor|ceiling") != std::string::npos) {
      const std::string faces[] = {"floor", "ceiling", "inside", "wall-1", "wall-12", "roof-2"};
      return faces[below(6)];
    }
    if (pattern == "^[0-9a-f]{64}$") return std::string(64, "0123456789abcdef"[below(16)]);
    if (pattern == "^[A-Z]{3}$") return below(2) == 0 ? "GBP" : "EUR";
    if (pattern.starts_with('^') && pattern.find("[1-9]") != std::string::npos) {
      return pattern.substr(1, pattern.find('[') - 1) + std::to_string(1 + below(30));
    }
    static const std::string kPieces[] = {"a", "Z", "é", "\"", "\\", "/", " ", "\n", "漢", "0", "<b>", "'"};
    const std::size_t least = part.value("minLength", std::size_t{0});
    const std::size_t most = std::min(part.value("maxLength", least + 8), least + 8);
    const std::size_t length = least + below(most - least + 1);
    std::string out;
    std::size_t characters = 0;
    while (characters < length) {
      const auto& piece = kPieces[below(std::size(kPieces))];
      const auto size = piece == "<b>" ? 3U : 1U;
      if (characters + size > most) continue;
      out += piece;
      characters += size;
    }
    return out;
  }

  double number(const schema::Json& part) {
    if (extremes_ && below(4) == 0) return extreme(part);
    const double low =
        part.contains("minimum") ? part["minimum"].get<double>() : part.value("exclusiveMinimum", -1000.0) + 1e-3;
    const double high = std::min(
        part.contains("maximum") ? part["maximum"].get<double>() : part.value("exclusiveMaximum", low + 1001.0),
        low + 1000.0);
    return std::uniform_real_distribution<double>(low, high)(random_);
  }

  double extreme(const schema::Json& part) {
    const bool whole = part["type"] == "integer";
    const double step = whole ? 1 : 1e-300;
    const double low = part.contains("minimum")            ? part["minimum"].get<double>()
                       : part.contains("exclusiveMinimum") ? part["exclusiveMinimum"].get<double>() + step
                                                           : -9e15;
    const double high = part.contains("maximum") ? part["maximum"].get<double>()
                        : part.contains("exclusiveMaximum")
                            ? std::nextafter(part["exclusiveMaximum"].get<double>(), low)
                            : 9e15;
    const double choices[] = {low, high, std::clamp(whole ? 0.0 : 1e-300, low, high)};
    return choices[below(3)];
  }

  const schema::Schema& form_;
  bool extremes_;
  std::mt19937_64 random_;
};

/// Spoils one thing in `value`, which mostly leaves something that does not fit.
inline void spoil(schema::Json& value, Generator& draw) {
  using schema::Json;
  static const Json kOdd[] = {nullptr,
                              true,
                              -1,
                              3,
                              3.5,
                              1e9,
                              "",
                              "M1",
                              "M0",
                              "2024-02-30",
                              "2024-02-29T10:00",
                              "abcdef",
                              Json::array(),
                              Json::object(),
                              Json{1, 1},
                              Json{{"left", 1}},
                              Json{{"x", 2}}};
  if (value.is_structured() && !value.empty() && draw.below(4) != 0) {
    auto at = value.begin();
    std::advance(at, static_cast<std::ptrdiff_t>(draw.below(value.size())));
    if (draw.below(6) == 0) {
      value.erase(at);
    } else {
      spoil(*at, draw);
    }
    return;
  }
  if (value.is_object() && draw.below(2) == 0) {
    value["unheard of"] = kOdd[draw.below(std::size(kOdd))];
  } else {
    value = kOdd[draw.below(std::size(kOdd))];
  }
}

}  // namespace lathbook::testing
