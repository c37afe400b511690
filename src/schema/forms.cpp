#include "schema/forms.h"

#include <algorithm>
#include <charconv>
#include <cmath>
#include <optional>
#include <stdexcept>
#include <utility>
#include <vector>

#include "reason/date.h"
#include "schema/node.h"
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

namespace {

std::string unescaped(std::string_view key) {
  std::string out;
  for (std::size_t i = 0; i < key.size(); ++i) {
    const bool mark = key[i] == '~' && i + 1 < key.size();
    if (mark) ++i;
    out += mark ? (key[i] == '0' ? '~' : '/') : key[i];
  }
  return out;
}

/// What lies under a key of an object or a number of a list; null when nothing does.
const Json* inner(const Json& outer, const std::string& key) {
  if (outer.is_object()) {
    const auto found = outer.find(key);
    return found == outer.end() ? nullptr : &*found;
  }
  std::size_t index = 0;
  const auto [end, error] = std::from_chars(key.data(), key.data() + key.size(), index);
  const bool counts = outer.is_array() && error == std::errc() && end == key.data() + key.size();
  return counts && index < outer.size() ? &outer[index] : nullptr;
}

}  // namespace

namespace {

/// A type of JSON Schema, or several of them, as bits.
enum Types : unsigned { kNull = 1, kBoolean = 2, kString = 4, kWhole = 8, kNumber = 16, kArray = 32, kObject = 64 };

unsigned type_called(std::string_view name) {
  constexpr std::pair<std::string_view, Types> kNames[] = {
      {"null", kNull},     {"boolean", kBoolean}, {"string", kString}, {"integer", kWhole},
      {"number", kNumber}, {"array", kArray},     {"object", kObject}};
  for (const auto& [known, type] : kNames) {
    if (known == name) return type;
  }
  throw std::logic_error("JSON Schema has no type " + std::string(name));
}

template <class Node>
bool is_whole(const Node& value) {
  const double number = value.number();
  return std::abs(number) <= kLargestWhole && (value.is_integer() || std::floor(number) == number);
}

template <class Node>
bool of_types(const Node& value, unsigned types) {
  if (value.is_string()) return (types & kString) != 0;
  if (value.is_number()) return (types & kNumber) != 0 || ((types & kWhole) != 0 && is_whole(value));
  if (value.is_object()) return (types & kObject) != 0;
  if (value.is_array()) return (types & kArray) != 0;
  if (value.is_boolean()) return (types & kBoolean) != 0;
  return value.is_null() && (types & kNull) != 0;
}

template <class Node>
bool equal(const Node& value, const Json& other) {
  if (value.is_string() != other.is_string()) return false;
  if (value.is_string()) return value.text() == other.get_ref<const std::string&>();
  const auto json = value.json();
  return json && *json == other;
}

}  // namespace

bool has_type(const Json& value, std::string_view type) { return of_types(Held{value}, type_called(type)); }

/// One part of a schema, ready to be compared with.
struct Forms::Form {
  bool never = false;  ///< the schema `false`
  unsigned types = 0;  ///< 0 = any
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
  struct Field {
    std::string_view key;
    const Form* form = nullptr;  ///< null = only named as one that must be there
    bool required = false;
  };
  std::vector<Field> fields;  ///< sorted by key, as a JSON object is
  std::vector<std::pair<std::string, std::vector<std::string>>> dependent;
  const Form* rest = nullptr;
  std::vector<const Form*> all_of, any_of, one_of;

  template <class Node>
  [[nodiscard]] bool fits(const Node& value) const {
    if (never) return false;
    if (types != 0 && !of_types(value, types)) return false;
    if (constant != nullptr && !equal(value, *constant)) return false;
    if (choices != nullptr &&
        std::none_of(choices->begin(), choices->end(), [&](const Json& choice) { return equal(value, choice); })) {
      return false;
    }
    if (value.is_number()) {
      if (!number_fits(value.number())) return false;
    } else if (value.is_string()) {
      if (!text_fits(value.text())) return false;
    } else if (value.is_array()) {
      if (!array_fits(value)) return false;
    } else if (value.is_object()) {
      if (!object_fits(value)) return false;
    }
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

  [[nodiscard]] bool text_fits(std::string_view text) const {
    if (min_length || max_length) {
      const auto length = characters(text);
      if ((min_length && length < *min_length) || (max_length && length > *max_length)) return false;
    }
    if (pattern != nullptr && !pattern->found_in(text)) return false;
    if (date && !reason::Date::parse(text)) return false;
    return !date_time || is_date_time(text);
  }

  template <class Node>
  [[nodiscard]] bool array_fits(const Node& list) const {
    const auto size = list.size();
    if ((min_items && size < *min_items) || (max_items && size > *max_items)) return false;
    if (unique && size > 1 && has_twins(list)) return false;
    std::size_t i = 0;
    return list.items([&](const Node& one) {
      const Form* form = i < first_items.size() ? first_items[i] : items;
      ++i;
      return form == nullptr || form->fits(one);
    });
  }

  template <class Node>
  [[nodiscard]] static bool has_twins(const Node& list) {
    const auto json = list.json();
    if (!json) return true;
    std::vector<const Json*> sorted;
    sorted.reserve(json->size());
    for (const auto& one : *json) sorted.push_back(&one);
    std::sort(sorted.begin(), sorted.end(), [](const Json* a, const Json* b) { return *a < *b; });
    return std::adjacent_find(sorted.begin(), sorted.end(), [](const Json* a, const Json* b) { return *a == *b; }) !=
           sorted.end();
  }

  template <class Node>
  [[nodiscard]] bool object_fits(const Node& object) const {
    for (const auto& [key, needs] : dependent) {
      if (!object.find(key)) continue;
      for (const auto& need : needs) {
        if (!object.find(need)) return false;
      }
    }
    // Both are sorted by key.
    auto known = fields.begin();
    const bool all_fit = object.fields([&](std::string_view key, const Node& value) {
      for (; known != fields.end() && known->key < key; ++known) {
        if (known->required) return false;
      }
      const Form* form = rest;
      if (known != fields.end() && known->key == key) {
        if (known->form != nullptr) form = known->form;
        ++known;
      }
      return form == nullptr || form->fits(value);
    });
    return all_fit && std::none_of(known, fields.end(), [](const Field& field) { return field.required; });
  }
};

Forms::Forms(const Json& document) : document_(document) { read_parts(document, true); }

Forms::~Forms() = default;

const Json& Forms::at(std::string_view pointer) const {
  const Json* part = &document_;
  for (auto left = pointer; part != nullptr && !left.empty();) {
    const auto end = std::min(left.find('/', 1), left.size());
    part = inner(*part, unescaped(left.substr(1, end - 1)));
    left.remove_prefix(end);
  }
  if (part == nullptr || !by_part_.contains(part))
    throw std::logic_error("the schema has no part " + std::string(pointer));
  return *part;
}

bool Forms::fit(const Json& part, const Json& value) const { return by_part_.at(&part)->fits(Held{value}); }

bool Forms::fit_taped(const Json& part, const Taped& value) const { return by_part_.at(&part)->fits(value); }

const Pattern& Forms::pattern(const Json& part) const {
  return *pattern_by_text_.at(part.at("pattern").get_ref<const std::string&>());
}

void Forms::read_parts(const Json& part, bool whole) {
  form_of(part);
  if (!part.is_object()) return;
  for (const auto& [key, value] : part.get_ref<const Json::object_t&>()) {
    const bool one = key == "items" || key == "additionalProperties" || (whole && (key == "input" || key == "answer"));
    if (one) read_parts(value, false);
    if (key == "properties" || key == "$defs" || key == "anyOf" || key == "oneOf" || key == "allOf" ||
        key == "prefixItems") {
      for (const auto& inner : value) read_parts(inner, false);
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
  const auto each = [&](const Json& list, std::vector<const Form*>& forms) {
    for (const auto& one : list) forms.push_back(form_of(one));
  };
  for (const auto& [name, value] : part.get_ref<const Json::object_t&>()) {
    const std::string_view key = name;
    if (key == "description") continue;
    if (key == "type") {
      if (value.is_string()) {
        form.types = type_called(value.get_ref<const std::string&>());
      } else {
        for (const auto& one : value) form.types |= type_called(one.get_ref<const std::string&>());
      }
    } else if (key == "const") {
      form.constant = &value;
    } else if (key == "enum") {
      form.choices = &value;
    } else if (key == "minimum") {
      form.minimum = value.get<double>();
    } else if (key == "exclusiveMinimum") {
      form.exclusive_minimum = value.get<double>();
    } else if (key == "maximum") {
      form.maximum = value.get<double>();
    } else if (key == "exclusiveMaximum") {
      form.exclusive_maximum = value.get<double>();
    } else if (key == "minLength") {
      form.min_length = value.get<std::size_t>();
    } else if (key == "maxLength") {
      form.max_length = value.get<std::size_t>();
    } else if (key == "minItems") {
      form.min_items = value.get<std::size_t>();
    } else if (key == "maxItems") {
      form.max_items = value.get<std::size_t>();
    } else if (key == "pattern") {
      const auto& text = value.get_ref<const std::string&>();
      auto& known = pattern_by_text_[text];
      if (known == nullptr) known = &patterns_.emplace_back(text);
      form.pattern = known;
    } else if (key == "format") {
      form.date = value == "date";
      form.date_time = value == "date-time";
    } else if (key == "uniqueItems") {
      form.unique = value.get<bool>();
    } else if (key == "prefixItems") {
      each(value, form.first_items);
    } else if (key == "items") {
      form.items = form_of(value);
    } else if (key == "dependentRequired") {
      for (const auto& [field, needs] : value.get_ref<const Json::object_t&>())
        form.dependent.emplace_back(field, needs.get<std::vector<std::string>>());
    } else if (key == "properties") {
      form.fields.reserve(value.size());
      for (const auto& [field, inner] : value.get_ref<const Json::object_t&>())
        form.fields.push_back({field, form_of(inner), false});
    } else if (key == "required") {  // after "properties": the keys of an object come in order
      for (const auto& one : value) {
        const auto& field = one.get_ref<const std::string&>();
        auto at = std::lower_bound(form.fields.begin(), form.fields.end(), field,
                                   [](const Form::Field& known, const std::string& text) { return known.key < text; });
        if (at == form.fields.end() || at->key != field) at = form.fields.insert(at, {field, nullptr, false});
        at->required = true;
      }
    } else if (key == "additionalProperties") {
      form.rest = form_of(value);
    } else if (key == "allOf") {
      each(value, form.all_of);
    } else if (key == "anyOf") {
      each(value, form.any_of);
    } else if (key == "oneOf") {
      each(value, form.one_of);
    }
  }
}

}  // namespace lathbook::schema
