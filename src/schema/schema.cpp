#include "schema/schema.h"

#include <fmt/format.h>

#include <algorithm>
#include <array>
#include <cmath>
#include <set>
#include <stdexcept>
#include <unordered_map>

#include "reason/date.h"
#include "schema/forms.h"

namespace lathbook::schema {
namespace {

using reason::Faults;

constexpr std::array<std::string_view, 31> kKeywords = {"$defs",
                                                        "$id",
                                                        "$ref",
                                                        "$schema",
                                                        "additionalProperties",
                                                        "allOf",
                                                        "anyOf",
                                                        "const",
                                                        "default",
                                                        "dependentRequired",
                                                        "description",
                                                        "enum",
                                                        "examples",
                                                        "exclusiveMaximum",
                                                        "exclusiveMinimum",
                                                        "format",
                                                        "items",
                                                        "maxItems",
                                                        "maxLength",
                                                        "maximum",
                                                        "minItems",
                                                        "minLength",
                                                        "minimum",
                                                        "oneOf",
                                                        "pattern",
                                                        "prefixItems",
                                                        "properties",
                                                        "required",
                                                        "title",
                                                        "type",
                                                        "uniqueItems"};

/// A place in a schema, put into words only when there is something to say about it.
struct Place {
  const Place* outer = nullptr;
  std::string_view key;

  [[nodiscard]] std::string text() const { return outer == nullptr ? "#" : outer->text() + "/" + std::string(key); }
};

void check_keywords(const Json& part, const Place& where) {
  if (part.is_boolean()) return;
  if (!part.is_object()) throw std::logic_error("schema at " + where.text() + " is not an object");
  for (const auto& [name, value] : part.get_ref<const Json::object_t&>()) {
    const std::string_view key = name;
    const Place inside{&where, key};
    // A topic's document holds two schemas side by side; they may share its $defs.
    if (where.outer == nullptr && (key == "input" || key == "answer")) {
      check_keywords(value, inside);
      continue;
    }
    const bool known = std::find(kKeywords.begin(), kKeywords.end(), key) != kKeywords.end() || key.starts_with("x-");
    if (!known)
      throw std::logic_error("schema at " + where.text() + " uses the keyword " + name + ", which is not understood");
    if (key == "properties" || key == "$defs") {
      for (const auto& [field, inner] : value.get_ref<const Json::object_t&>())
        check_keywords(inner, Place{&inside, field});
    } else if (key == "items" || key == "additionalProperties") {
      check_keywords(value, inside);
    } else if (key == "anyOf" || key == "oneOf" || key == "allOf" || key == "prefixItems") {
      for (const auto& inner : value) check_keywords(inner, inside);
    } else if (key == "format" && value != "date" && value != "date-time") {
      throw std::logic_error("schema at " + where.text() + " uses the format " + value.dump());
    }
  }
}

std::string number_text(const Json& number) { return number.dump(); }

std::string range_text(const Json& part) {
  const bool low = part.contains("minimum");
  const bool high = part.contains("maximum");
  const bool above = part.contains("exclusiveMinimum");
  const bool below = part.contains("exclusiveMaximum");
  if (low && high) return fmt::format(" from {} to {}", number_text(part["minimum"]), number_text(part["maximum"]));
  std::string text;
  if (low) text += fmt::format(" of at least {}", number_text(part["minimum"]));
  if (above) text += fmt::format(" above {}", number_text(part["exclusiveMinimum"]));
  if (!text.empty() && (high || below)) text += " and";
  if (high) text += fmt::format(" of at most {}", number_text(part["maximum"]));
  if (below) text += fmt::format(" below {}", number_text(part["exclusiveMaximum"]));
  return text;
}

std::string type_word(std::string_view type) {
  static const std::unordered_map<std::string_view, std::string_view> kWords = {
      {"object", "an object"},       {"array", "a list"},          {"string", "text"}, {"number", "a number"},
      {"integer", "a whole number"}, {"boolean", "true or false"}, {"null", "null"}};
  const auto found = kWords.find(type);
  return std::string(found == kWords.end() ? type : found->second);
}

bool fits_type(const Json& value, const Json& type) {
  if (type.is_string()) return has_type(value, type.get_ref<const std::string&>());
  return std::any_of(type.begin(), type.end(),
                     [&](const Json& one) { return has_type(value, one.get_ref<const std::string&>()); });
}

bool takes_whole(const Json& type) {
  return type.is_string() ? type == "integer" : std::find(type.begin(), type.end(), "integer") != type.end();
}

class Check {
 public:
  Check(const Schema& schema, const Forms& forms) : schema_(schema), forms_(forms) {}

  Faults run(const Json& part, const Json& value, const std::string& where) {
    Faults faults;
    visit(part, value, where, faults);
    return faults;
  }

  /// Nobody reads more; a file made to hurt could ask for millions.
  static constexpr std::size_t kMostFaults = 1000;

 private:
  void add(Faults& faults, const std::string& where, const Json* value, std::string problem, const Json& part) const {
    faults.push_back({where, value == nullptr ? "" : shown(*value), std::move(problem), schema_.allowed(part)});
  }

  void visit(const Json& raw, const Json& value, const std::string& where, Faults& faults) {
    if (faults.size() >= kMostFaults) return;
    if (raw.is_boolean()) {
      if (!raw.get<bool>()) faults.push_back({where, shown(value), "is not expected here", ""});
      return;
    }
    const Json& part = schema_.resolve(raw);
    const auto before = faults.size();
    if (part.contains("type") && !fits_type(value, part["type"])) {
      const bool too_long =
          value.is_number() && std::abs(value.get<double>()) > kLargestWhole && takes_whole(part["type"]);
      add(faults, where, &value,
          too_long ? "is too long a number" : fmt::format("is not {}", type_phrase(part["type"])), part);
      return;
    }
    if (part.contains("const") && value != part["const"]) add(faults, where, &value, "is not allowed", part);
    if (part.contains("enum") && std::find(part["enum"].begin(), part["enum"].end(), value) == part["enum"].end()) {
      add(faults, where, &value, "is not one of the words known here", part);
    }
    if (value.is_number()) visit_number(part, value, where, faults);
    if (value.is_string()) visit_string(part, value, where, faults);
    if (value.is_array()) visit_array(part, value, where, faults);
    if (value.is_object()) visit_object(part, value, where, faults);
    if (part.contains("allOf")) {
      for (const auto& inner : part["allOf"]) visit(inner, value, where, faults);
    }
    if (faults.size() == before) visit_choice(part, value, where, faults);
  }

  static std::string type_phrase(const Json& type) {
    if (type.is_string()) return type_word(type.get_ref<const std::string&>());
    std::vector<std::string> words;
    for (const auto& one : type) words.push_back(type_word(one.get_ref<const std::string&>()));
    return fmt::format("{}", fmt::join(words, " or "));
  }

  void visit_number(const Json& part, const Json& value, const std::string& where, Faults& faults) const {
    const double x = value.get<double>();
    if (!std::isfinite(x)) {
      add(faults, where, &value, "is not a finite number", part);
      return;
    }
    const auto limit = [&](const char* key) { return part[key].get<double>(); };
    if (part.contains("minimum") && x < limit("minimum")) add(faults, where, &value, "is too small", part);
    if (part.contains("exclusiveMinimum") && x <= limit("exclusiveMinimum"))
      add(faults, where, &value, "is too small", part);
    if (part.contains("maximum") && x > limit("maximum")) add(faults, where, &value, "is too large", part);
    if (part.contains("exclusiveMaximum") && x >= limit("exclusiveMaximum"))
      add(faults, where, &value, "is too large", part);
  }

  void visit_string(const Json& part, const Json& value, const std::string& where, Faults& faults) const {
    const auto& text = value.get_ref<const std::string&>();
    const auto length = characters(text);
    if (part.contains("minLength") && length < part["minLength"].get<std::size_t>()) {
      add(faults, where, &value, text.empty() ? "is empty" : "is too short", part);
    }
    if (part.contains("maxLength") && length > part["maxLength"].get<std::size_t>())
      add(faults, where, &value, "is too long", part);
    if (part.contains("pattern") && !forms_.pattern(part).found_in(text)) {
      add(faults, where, &value, "has the wrong form", part);
    }
    if (!part.contains("format")) return;
    if (part["format"] == "date" && !reason::Date::parse(text))
      add(faults, where, &value, "is not a day of the calendar", part);
    if (part["format"] == "date-time" && !is_date_time(text)) add(faults, where, &value, "is not a day and time", part);
  }

  void visit_array(const Json& part, const Json& value, const std::string& where, Faults& faults) {
    if (part.contains("minItems") && value.size() < part["minItems"].get<std::size_t>()) {
      add(faults, where, &value, value.empty() ? "is empty" : "has too few entries", part);
    }
    if (part.contains("maxItems") && value.size() > part["maxItems"].get<std::size_t>()) {
      add(faults, where, &value, "has too many entries", part);
    }
    if (part.contains("uniqueItems") && part["uniqueItems"].get<bool>()) {
      std::set<Json> seen;
      for (std::size_t i = 0; i < value.size() && faults.size() < kMostFaults; ++i) {
        if (!seen.insert(value[i]).second) {
          faults.push_back({where + "/" + std::to_string(i), shown(value[i]), "is there twice", "each entry once"});
        }
      }
    }
    const std::size_t fixed = part.contains("prefixItems") ? part["prefixItems"].size() : 0;
    for (std::size_t i = 0; i < value.size() && faults.size() < kMostFaults; ++i) {
      const std::string at = where + "/" + std::to_string(i);
      if (i < fixed) {
        visit(part["prefixItems"][i], value[i], at, faults);
      } else if (part.contains("items")) {
        visit(part["items"], value[i], at, faults);
      }
    }
  }

  void visit_object(const Json& part, const Json& value, const std::string& where, Faults& faults) {
    static const Json kNone = Json::object();
    const Json& properties = part.contains("properties") ? part["properties"] : kNone;
    if (part.contains("required")) {
      for (const auto& name : part["required"]) {
        const auto& key = name.get_ref<const std::string&>();
        if (!value.contains(key)) {
          add(faults, where + "/" + escaped(key), nullptr, "is missing",
              properties.contains(key) ? properties[key] : Json(true));
        }
      }
    }
    if (part.contains("dependentRequired")) {
      for (const auto& [key, needs] : part["dependentRequired"].items()) {
        if (!value.contains(key)) continue;
        for (const auto& need : needs) {
          const auto& other = need.get_ref<const std::string&>();
          if (!value.contains(other)) {
            faults.push_back({where + "/" + escaped(other), "", "is missing, and " + key + " needs it", ""});
          }
        }
      }
    }
    for (const auto& [key, inner] : value.items()) {
      if (faults.size() >= kMostFaults) return;
      const std::string at = where + "/" + escaped(key);
      if (properties.contains(key)) {
        visit(properties[key], inner, at, faults);
      } else if (part.contains("additionalProperties")) {
        const Json& rest = part["additionalProperties"];
        if (rest.is_boolean() && !rest.get<bool>()) {
          std::vector<std::string> names;
          for (const auto& [name, ignored] : properties.items()) names.push_back(name);
          faults.push_back({at, shown(inner), "is a field that is not known here",
                            names.empty() ? "no field at all" : fmt::format("the fields {}", fmt::join(names, ", "))});
        } else {
          visit(rest, inner, at, faults);
        }
      }
    }
  }

  /// anyOf and oneOf: when no branch fits, tell of the branch that came closest (same type, fewest faults).
  void visit_choice(const Json& part, const Json& value, const std::string& where, Faults& faults) {
    for (const char* key : {"anyOf", "oneOf"}) {
      if (!part.contains(key)) continue;
      Faults best;
      std::size_t fitting = 0;
      std::size_t closest = 0;
      for (const auto& branch : part[key]) {
        Faults found = run(branch, value, where);
        if (found.empty()) {
          ++fitting;
          continue;
        }
        const bool same_type = found.size() > 1 || found.front().where != where || !is_type_fault(branch, value);
        const std::size_t closeness = same_type ? 1000 - std::min<std::size_t>(found.size(), 999) : 0;
        if (best.empty() || closeness > closest) {
          best = std::move(found);
          closest = closeness;
        }
      }
      if (fitting == 0) {
        if (closest == 0) {
          add(faults, where, &value, "is of the wrong kind", part);
        } else {
          faults.insert(faults.end(), best.begin(), best.end());
        }
      } else if (fitting > 1 && std::string_view(key) == "oneOf") {
        add(faults, where, &value, "could be read in two ways", part);
      }
    }
  }

  bool is_type_fault(const Json& branch, const Json& value) const {
    const Json& part = schema_.resolve(branch);
    return part.contains("type") && !fits_type(value, part["type"]);
  }

  const Schema& schema_;
  const Forms& forms_;
};

}  // namespace

Schema::Schema(Json document) : document_(std::make_shared<const Json>(std::move(document))) {
  check_keywords(*document_, Place{});
  forms_ = std::make_shared<const Forms>(*document_);
}

const Json& Schema::resolve(const Json& part) const {
  const Json* at = &part;
  for (int hops = 0; at->is_object() && at->contains("$ref"); ++hops) {
    const auto& target = (*at)["$ref"].get_ref<const std::string&>();
    if (hops > 32 || !target.starts_with('#'))
      throw std::logic_error("schema reference " + target + " cannot be followed");
    at = &document_->at(Json::json_pointer(target.substr(1)));
  }
  return *at;
}

const Json& Schema::items_of(const Json& list_part) const {
  static const Json kAnything = Json::object();
  const auto items = list_part.find("items");
  return items == list_part.end() ? kAnything : resolve(*items);
}

Faults Schema::check(const Json& value, std::string_view where) const { return check_part("", value, where); }

Faults Schema::check_part(std::string_view pointer, const Json& value, std::string_view where) const {
  if (forms_->fit(forms_->at(pointer), value)) return {};
  return explain(pointer, value, where);
}

bool Schema::fits_taped(const Json& part, const Taped& value) const { return forms_->fit_taped(part, value); }

const Json& Schema::part(std::string_view pointer) const { return forms_->at(pointer); }

Faults Schema::explain(std::string_view pointer, const Json& value, std::string_view where) const {
  auto faults = Check(*this, *forms_).run(forms_->at(pointer), value, std::string(where));
  if (faults.size() >= Check::kMostFaults) {
    faults.resize(Check::kMostFaults);
    faults.push_back({std::string(where), "", "has more faults than are told here", ""});
  }
  return faults;
}

std::string Schema::allowed(const Json& raw) const {
  if (raw.is_boolean()) return "";
  const Json& part = resolve(raw);
  if (part.contains("const"))
    return part["const"].is_string() ? part["const"].get<std::string>() : part["const"].dump();
  if (part.contains("enum")) {
    std::vector<std::string> words;
    for (const auto& word : part["enum"]) words.push_back(word.is_string() ? word.get<std::string>() : word.dump());
    return fmt::format("{}{}", words.size() == 1 ? "" : "one of: ", fmt::join(words, ", "));
  }
  for (const char* key : {"anyOf", "oneOf"}) {
    if (!part.contains(key)) continue;
    std::vector<std::string> phrases;
    for (const auto& branch : part[key]) phrases.push_back(allowed(branch));
    return fmt::format("{}", fmt::join(phrases, "; or "));
  }
  if (!part.contains("type")) return "";
  const Json& type = part["type"];
  if (!type.is_string()) {
    std::vector<std::string> phrases;
    for (const auto& one : type) phrases.push_back(type_word(one.get_ref<const std::string&>()));
    return fmt::format("{}{}", fmt::join(phrases, " or "), range_text(part));
  }
  const auto& name = type.get_ref<const std::string&>();
  if (name == "number" || name == "integer") return type_word(name) + range_text(part);
  if (name == "string") {
    if (part.contains("format"))
      return part["format"] == "date" ? "a day as YYYY-MM-DD" : "a day and time as YYYY-MM-DDThh:mm";
    if (part.contains("pattern") && part.contains("description")) return part["description"].get<std::string>();
    std::string text = "text";
    if (part.contains("minLength") && part["minLength"].get<int>() > 0)
      text += " of at least " + part["minLength"].dump();
    if (part.contains("maxLength"))
      text += (text == "text" ? " of at most " : " and at most ") + part["maxLength"].dump();
    return text == "text" ? text : text + " characters";
  }
  if (name == "array") {
    // A list of lists reads badly when spelled out; such parts describe themselves.
    if (part.contains("description") && (part.contains("prefixItems") || items_of(part).value("type", "") == "array")) {
      return part["description"].get<std::string>();
    }
    std::string text = "a list";
    if (part.contains("items")) {
      const std::string inner = allowed(part["items"]);
      if (!inner.empty()) text += " of " + inner;
    }
    if (part.contains("minItems")) text += fmt::format(", at least {}", part["minItems"].dump());
    if (part.contains("maxItems")) text += fmt::format(", at most {}", part["maxItems"].dump());
    return text;
  }
  if (name == "object" && part.contains("properties") && part["properties"].size() <= 8) {
    std::vector<std::string> names;
    for (const auto& [key, inner] : part["properties"].items()) names.push_back(key);
    return fmt::format("an object with {}", fmt::join(names, ", "));
  }
  return type_word(name);
}

bool is_utf8(std::string_view bytes) {
  try {
    // nlohmann-json checks UTF-8 when it writes a string.
    (void)Json(std::string(bytes)).dump();
    return true;
  } catch (const Json::type_error&) {
    return false;
  }
}

std::string shown(const Json& value) {
  std::string text = value.dump(-1, ' ', false, Json::error_handler_t::replace);
  constexpr std::size_t kLongest = 60;
  if (text.size() <= kLongest) return text;
  std::size_t cut = kLongest - 1;
  while (cut > 0 && (static_cast<unsigned char>(text[cut]) & 0xC0U) == 0x80U) --cut;
  return text.substr(0, cut) + "…";
}

}  // namespace lathbook::schema
