#include "schema/forms.h"

#include <algorithm>
#include <cmath>
#include <optional>
#include <stdexcept>
#include <vector>

#include "reason/date.h"
#include "schema/pattern.h"

namespace lathbook::schema {

bool is_date_time(std::string_view text) {
  static const Pattern kTime(R"(^T([01]\d|2[0-3]):[0-5]\d(:[0-5]\d(\.\d+)?)?(Z|[+\-]([01]\d|2[0-3]):[0-5]\d)?$)");
  return text.size() > 10 && reason::Date::parse(text.substr(0, 10)).has_value() && kTime.found_in(text.substr(10));
}

std::size_t characters(std::string_view text) {
  return static_cast<std::size_t>(
      std::count_if(text.begin(), text.end(), [](char c) { return (static_cast<unsigned char>(c) & 0xC0U) != 0x80U; }));
}

std::string escaped(std::string_view key) {
  std::string out;
  for (const char c : key) {
    if (c == '~') {
      out += "~0";
    } else if (c == '/') {
      out += "~1";
    } else {
      out += c;
    }
  }
  return out;
}

bool has_type(const Json& value, std::string_view type) {
  if (type == "object") return value.is_object();
  if (type == "array") return value.is_array();
  if (type == "string") return value.is_string();
  if (type == "number") return value.is_number();
  if (type == "integer") {
    if (value.is_number_integer()) return true;
    return value.is_number_float() && std::isfinite(value.get<double>()) &&
           std::floor(value.get<double>()) == value.get<double>();
  }
  if (type == "boolean") return value.is_boolean();
  return type == "null" && value.is_null();
}

/// One part of a schema, ready to be compared with.
struct Forms::Form {
  bool never = false;  ///< the schema `false`
  std::vector<std::string> types;
  const Json* constant = nullptr;
  const Json* choices = nullptr;
  std::optional<double> minimum, exclusive_minimum, maximum, exclusive_maximum;
  std::optional<std::size_t> min_length, max_length, min_items, max_items;
  const Pattern* pattern = nullptr;
  bool date = false;
  bool date_time = false;
  bool unique = false;
  std::vector<const Form*> first_items;
  const Form* items = nullptr;
  std::vector<std::string> required;
  std::vector<std::pair<std::string, std::vector<std::string>>> dependent;
  std::vector<std::pair<std::string, const Form*>> properties;  ///< sorted, as a JSON object is
  const Form* rest = nullptr;
  std::vector<const Form*> all_of, any_of, one_of;

  [[nodiscard]] bool fits(const Json& value) const {
    if (never) return false;
    if (!types.empty() &&
        std::none_of(types.begin(), types.end(), [&](const std::string& type) { return has_type(value, type); })) {
      return false;
    }
    if (constant != nullptr && value != *constant) return false;
    if (choices != nullptr && std::find(choices->begin(), choices->end(), value) == choices->end()) return false;
    if (value.is_number() && !number_fits(value.get<double>())) return false;
    if (value.is_string() && !text_fits(value.get_ref<const std::string&>())) return false;
    if (value.is_array() && !array_fits(value)) return false;
    if (value.is_object() && !object_fits(value)) return false;
    const auto fits_value = [&](const Form* form) { return form->fits(value); };
    if (!std::all_of(all_of.begin(), all_of.end(), fits_value)) return false;
    if (!any_of.empty() && std::none_of(any_of.begin(), any_of.end(), fits_value)) return false;
    return one_of.empty() || std::count_if(one_of.begin(), one_of.end(), fits_value) == 1;
  }

 private:
  [[nodiscard]] bool number_fits(double x) const {
    return std::isfinite(x) && (!minimum || x >= *minimum) && (!exclusive_minimum || x > *exclusive_minimum) &&
           (!maximum || x <= *maximum) && (!exclusive_maximum || x < *exclusive_maximum);
  }

  [[nodiscard]] bool text_fits(const std::string& text) const {
    if (min_length || max_length) {
      const auto length = characters(text);
      if ((min_length && length < *min_length) || (max_length && length > *max_length)) return false;
    }
    if (pattern != nullptr && !pattern->found_in(text)) return false;
    if (date && !reason::Date::parse(text)) return false;
    return !date_time || is_date_time(text);
  }

  [[nodiscard]] bool array_fits(const Json& list) const {
    const auto size = list.size();
    if ((min_items && size < *min_items) || (max_items && size > *max_items)) return false;
    if (unique && has_twins(list)) return false;
    for (std::size_t i = 0; i < size; ++i) {
      const Form* form = i < first_items.size() ? first_items[i] : items;
      if (form != nullptr && !form->fits(list[i])) return false;
    }
    return true;
  }

  [[nodiscard]] static bool has_twins(const Json& list) {
    std::vector<const Json*> sorted;
    sorted.reserve(list.size());
    for (const auto& one : list) sorted.push_back(&one);
    std::sort(sorted.begin(), sorted.end(), [](const Json* a, const Json* b) { return *a < *b; });
    return std::adjacent_find(sorted.begin(), sorted.end(), [](const Json* a, const Json* b) { return *a == *b; }) !=
           sorted.end();
  }

  [[nodiscard]] bool object_fits(const Json& object) const {
    for (const auto& key : required) {
      if (!object.contains(key)) return false;
    }
    for (const auto& [key, needs] : dependent) {
      if (!object.contains(key)) continue;
      for (const auto& need : needs) {
        if (!object.contains(need)) return false;
      }
    }
    // Both are sorted by key.
    auto known = properties.begin();
    for (auto field = object.begin(); field != object.end(); ++field) {
      const auto& key = field.key();
      while (known != properties.end() && known->first < key) ++known;
      const bool named = known != properties.end() && known->first == key;
      const Form* form = named ? known->second : rest;
      if (form != nullptr && !form->fits(*field)) return false;
    }
    return true;
  }
};

Forms::Forms(const Json& document) : document_(document) {
  name_parts(document, "");
  for (const auto& [pointer, part] : parts_) form_of(*part);
}

Forms::~Forms() = default;

const Json& Forms::at(std::string_view pointer) const {
  const auto found = parts_.find(pointer);
  if (found == parts_.end()) throw std::logic_error("the schema has no part " + std::string(pointer));
  return *found->second;
}

bool Forms::fit(const Json& part, const Json& value) const { return by_part_.at(&part)->fits(value); }

const Pattern& Forms::pattern(const Json& part) const {
  return *pattern_by_text_.at(part.at("pattern").get_ref<const std::string&>());
}

void Forms::name_parts(const Json& part, const std::string& pointer) {
  parts_.emplace(pointer, &part);
  if (!part.is_object()) return;
  for (const auto& [key, value] : part.items()) {
    const bool one =
        key == "items" || key == "additionalProperties" || (pointer.empty() && (key == "input" || key == "answer"));
    if (one) name_parts(value, pointer + "/" + key);
    if (key == "properties" || key == "$defs") {
      for (const auto& [name, inner] : value.items()) name_parts(inner, pointer + "/" + key + "/" + escaped(name));
    }
    if (key == "anyOf" || key == "oneOf" || key == "allOf" || key == "prefixItems") {
      for (std::size_t i = 0; i < value.size(); ++i)
        name_parts(value[i], pointer + "/" + key + "/" + std::to_string(i));
    }
  }
}

Forms::Form* Forms::form_of(const Json& raw) {
  if (const auto known = by_part_.find(&raw); known != by_part_.end()) return known->second;
  if (raw.is_object() && raw.contains("$ref")) {
    const Json* at = &raw;
    for (int hops = 0; at->is_object() && at->contains("$ref"); ++hops) {
      const auto& target = (*at)["$ref"].get_ref<const std::string&>();
      if (hops > 32 || !target.starts_with('#'))
        throw std::logic_error("schema reference " + target + " cannot be followed");
      at = &document_.at(Json::json_pointer(target.substr(1)));
    }
    auto* form = form_of(*at);
    by_part_.emplace(&raw, form);
    return form;
  }
  auto* form = forms_.emplace_back(std::make_unique<Form>()).get();
  by_part_.emplace(&raw, form);  // before its parts are read: a schema may hold itself
  fill(*form, raw);
  return form;
}

void Forms::fill(Form& form, const Json& part) {
  if (part.is_boolean()) {
    form.never = !part.get<bool>();
    return;
  }
  const auto number = [&](const char* key, std::optional<double>& limit) {
    if (part.contains(key)) limit = part[key].get<double>();
  };
  const auto count = [&](const char* key, std::optional<std::size_t>& limit) {
    if (part.contains(key)) limit = part[key].get<std::size_t>();
  };
  const auto several = [&](const char* key, std::vector<const Form*>& list) {
    if (!part.contains(key)) return;
    for (const auto& one : part[key]) list.push_back(form_of(one));
  };
  if (part.contains("type")) {
    if (part["type"].is_string()) {
      form.types = {part["type"].get<std::string>()};
    } else {
      form.types = part["type"].get<std::vector<std::string>>();
    }
  }
  if (part.contains("const")) form.constant = &part["const"];
  if (part.contains("enum")) form.choices = &part["enum"];
  number("minimum", form.minimum);
  number("exclusiveMinimum", form.exclusive_minimum);
  number("maximum", form.maximum);
  number("exclusiveMaximum", form.exclusive_maximum);
  count("minLength", form.min_length);
  count("maxLength", form.max_length);
  count("minItems", form.min_items);
  count("maxItems", form.max_items);
  if (part.contains("pattern")) {
    const auto& text = part["pattern"].get_ref<const std::string&>();
    auto& known = pattern_by_text_[text];
    if (known == nullptr) known = &patterns_.emplace_back(text);
    form.pattern = known;
  }
  form.date = part.value("format", "") == "date";
  form.date_time = part.value("format", "") == "date-time";
  form.unique = part.value("uniqueItems", false);
  several("prefixItems", form.first_items);
  if (part.contains("items")) form.items = form_of(part["items"]);
  if (part.contains("required")) form.required = part["required"].get<std::vector<std::string>>();
  if (part.contains("dependentRequired")) {
    for (const auto& [key, needs] : part["dependentRequired"].items())
      form.dependent.emplace_back(key, needs.get<std::vector<std::string>>());
  }
  if (part.contains("properties")) {
    for (const auto& [key, inner] : part["properties"].items()) form.properties.emplace_back(key, form_of(inner));
  }
  if (part.contains("additionalProperties")) form.rest = form_of(part["additionalProperties"]);
  several("allOf", form.all_of);
  several("anyOf", form.any_of);
  several("oneOf", form.one_of);
}

}  // namespace lathbook::schema
