// One JSON value seen alike whichever library holds it, so that what looks at values is written once: `Held` is
// nlohmann-json's, `Taped` lies on the tape of a Parser (parse.h) and is gone when that reads again. Neither owns
// anything. What is asked of a value must suit its type.
#pragma once

#include <simdjson.h>

#include <cmath>
#include <nlohmann/json.hpp>
#include <optional>
#include <string_view>

namespace lathbook::schema {

using Json = nlohmann::json;

struct Held {
  const Json& value;

  [[nodiscard]] bool is_object() const { return value.is_object(); }
  [[nodiscard]] bool is_array() const { return value.is_array(); }
  [[nodiscard]] bool is_string() const { return value.is_string(); }
  [[nodiscard]] bool is_number() const { return value.is_number(); }
  [[nodiscard]] bool is_integer() const { return value.is_number_integer(); }
  [[nodiscard]] bool is_boolean() const { return value.is_boolean(); }
  [[nodiscard]] bool is_null() const { return value.is_null(); }

  [[nodiscard]] std::string_view text() const { return value.get_ref<const std::string&>(); }
  [[nodiscard]] double number() const { return value.get<double>(); }
  template <class T>
  [[nodiscard]] T integer() const {
    return value.get<T>();
  }
  [[nodiscard]] bool boolean() const { return value.get<bool>(); }
  [[nodiscard]] std::size_t size() const { return value.size(); }

  [[nodiscard]] std::optional<Held> find(std::string_view key) const {
    const auto found = value.find(key);
    return found == value.end() ? std::nullopt : std::optional(Held{*found});
  }
  /// Calls `use(item)` for each item of a list until one says false; false = one did.
  template <class Use>
  bool items(Use use) const {
    for (const auto& one : value.get_ref<const Json::array_t&>()) {
      if (!use(Held{one})) return false;
    }
    return true;
  }
  /// Calls `use(key, item)` for each field of an object, in the order of the keys, likewise.
  template <class Use>
  bool fields(Use use) const {
    for (const auto& [key, one] : value.get_ref<const Json::object_t&>()) {
      if (!use(std::string_view(key), Held{one})) return false;
    }
    return true;
  }
  /// The value as nlohmann-json holds it; empty where that cannot be.
  [[nodiscard]] std::optional<Json> json() const { return value; }
};

struct Taped {
  simdjson::dom::element value;

  [[nodiscard]] bool is_object() const { return value.is_object(); }
  [[nodiscard]] bool is_array() const { return value.is_array(); }
  [[nodiscard]] bool is_string() const { return value.is_string(); }
  [[nodiscard]] bool is_number() const { return value.is_number(); }
  [[nodiscard]] bool is_integer() const { return value.is_int64() || value.is_uint64(); }
  [[nodiscard]] bool is_boolean() const { return value.is_bool(); }
  [[nodiscard]] bool is_null() const { return value.is_null(); }

  [[nodiscard]] std::string_view text() const { return value.get_string().value_unsafe(); }
  [[nodiscard]] double number() const { return value.get_double().value_unsafe(); }
  template <class T>
  [[nodiscard]] T integer() const {
    return value.is_int64() ? static_cast<T>(value.get_int64().value_unsafe())
                            : static_cast<T>(value.get_uint64().value_unsafe());
  }
  [[nodiscard]] bool boolean() const { return value.get_bool().value_unsafe(); }
  [[nodiscard]] std::size_t size() const {
    return is_array() ? value.get_array().value_unsafe().size() : value.get_object().value_unsafe().size();
  }

  [[nodiscard]] std::optional<Taped> find(std::string_view key) const {
    const simdjson::dom::object object = value.get_object().value_unsafe();
    for (const auto [name, one] : object) {
      if (name == key) return Taped{one};
    }
    return std::nullopt;
  }
  template <class Use>
  bool items(Use use) const {
    const simdjson::dom::array list = value.get_array().value_unsafe();
    for (const auto one : list) {
      if (!use(Taped{one})) return false;
    }
    return true;
  }
  /// False also when the keys are not in order or one comes twice: what a book's records never are.
  template <class Use>
  bool fields(Use use) const {
    const simdjson::dom::object object = value.get_object().value_unsafe();
    std::optional<std::string_view> last;
    for (const auto [key, one] : object) {
      if (last && key <= *last) return false;
      if (!use(key, Taped{one})) return false;
      last = key;
    }
    return true;
  }
  [[nodiscard]] std::optional<Json> json() const;  // parse.cpp
};

}  // namespace lathbook::schema
