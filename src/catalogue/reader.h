// Reads fields out of a JSON object and notes every fault with its place, so that a parser can be written as a list of
// assignments. A field that cannot be read leaves its value at the default; the caller answers with the faults in the
// end.
#pragma once

#include <algorithm>
#include <cmath>
#include <initializer_list>
#include <nlohmann/json.hpp>
#include <optional>
#include <string>
#include <string_view>
#include <vector>

#include "book/words.h"
#include "catalogue/catalogue.h"
#include "reason/fault.h"
#include "schema/schema.h"

namespace lathbook::catalogue {

class Reader {
 public:
  Reader(const nlohmann::json& object, std::string where, reason::Faults& faults)
      : object_(&object), where_(std::move(where)), faults_(&faults) {
    if (!object.is_object()) add("", "is not an object", "an object");
  }

  [[nodiscard]] const std::string& where() const { return where_; }
  [[nodiscard]] bool has(const char* key) const { return object_->is_object() && object_->contains(key); }

  std::string text(const char* key) const {
    const auto* value = get(key);
    if (value == nullptr) return {};
    if (!value->is_string()) {
      add(key, "is not text", "text");
      return {};
    }
    return value->get<std::string>();
  }
  std::string text_or_empty(const char* key) const { return has(key) ? text(key) : std::string(); }

  double number(const char* key) const {
    const auto* value = get(key);
    if (value == nullptr) return 0;
    if (!value->is_number()) {
      add(key, "is not a number", "a number");
      return 0;
    }
    return value->get<double>();
  }
  std::optional<double> maybe_number(const char* key) const {
    return has(key) ? std::optional(number(key)) : std::nullopt;
  }

  int whole(const char* key) const {
    const auto* value = get(key);
    if (value == nullptr) return 0;
    const bool fits = value->is_number() && std::floor(value->get<double>()) == value->get<double>() &&
                      std::abs(value->get<double>()) < 1e9;
    if (!fits) {
      add(key, "is not a whole number", "a whole number");
      return 0;
    }
    return static_cast<int>(value->get<double>());
  }
  std::optional<int> maybe_whole(const char* key) const { return has(key) ? std::optional(whole(key)) : std::nullopt; }

  bool flag(const char* key) const {
    const auto* value = get(key);
    if (value == nullptr) return false;
    if (!value->is_boolean()) {
      add(key, "is not true or false", "true or false");
      return false;
    }
    return value->get<bool>();
  }

  std::vector<std::string> texts(const char* key) const {
    std::vector<std::string> out;
    const auto* value = list(key);
    if (value == nullptr) return out;
    out.reserve(value->size());
    for (const auto& one : *value) {
      if (one.is_string()) {
        out.push_back(one.get<std::string>());
      } else {
        add(key, "holds something that is not text", "a list of texts");
      }
    }
    return out;
  }

  /// A word of a catalogue enumeration.
  template <class E>
  E word_of(const char* key) const {
    return chosen<E>(key, text(key), [](std::string_view t) { return catalogue::from_word<E>(t); });
  }
  /// A word of the book's vocabulary.
  template <class E>
  E book_word(const char* key) const {
    return chosen<E>(key, text(key), [](std::string_view t) { return book::from_word<E>(t); });
  }
  template <class E>
  std::vector<E> words_of(const char* key) const {
    std::vector<E> out;
    for (const auto& one : texts(key))
      out.push_back(chosen<E>(key, one, [](std::string_view t) { return catalogue::from_word<E>(t); }));
    return out;
  }
  template <class E>
  std::vector<E> book_words(const char* key) const {
    std::vector<E> out;
    for (const auto& one : texts(key))
      out.push_back(chosen<E>(key, one, [](std::string_view t) { return book::from_word<E>(t); }));
    return out;
  }

  Backing backing() const { return {text("source"), word_of<Sure>("sure")}; }

  /// `read` for each object of a list.
  template <class Read>
  auto each(const char* key, Read read) const {
    std::vector<decltype(read(std::declval<const Reader&>()))> out;
    const auto* value = list(key);
    if (value == nullptr) return out;
    out.reserve(value->size());
    for (std::size_t i = 0; i < value->size(); ++i) {
      out.push_back(read(Reader((*value)[i], where_ + "/" + key + "/" + std::to_string(i), *faults_)));
    }
    return out;
  }

  Reader inner(const char* key) const {
    static const nlohmann::json kNothing = nlohmann::json::object();
    const auto* value = get(key);
    return {value == nullptr ? kNothing : *value, where_ + "/" + key, *faults_};
  }

  /// Notes every field of this object that is not in `known`: a misspelt one must not be passed over.
  void only(std::initializer_list<std::string_view> known) const {
    if (!object_->is_object()) return;
    for (const auto& [key, value] : object_->items()) {
      if (std::find(known.begin(), known.end(), key) == known.end())
        add(key.c_str(), "is a field that is not known here", "");
    }
  }

  /// Notes a fault at a field of this object.
  void add(const char* key, std::string problem, std::string allowed) const {
    const bool inside = key[0] != '\0';
    const std::string value = inside ? (has(key) ? schema::shown((*object_)[key]) : "") : schema::shown(*object_);
    faults_->push_back({inside ? where_ + "/" + key : where_, value, std::move(problem), std::move(allowed)});
  }

 private:
  const nlohmann::json* get(const char* key) const {
    if (!object_->is_object()) return nullptr;
    const auto found = object_->find(key);
    if (found == object_->end()) {
      add(key, "is missing", "");
      return nullptr;
    }
    return &*found;
  }
  const nlohmann::json* list(const char* key) const {
    const auto* value = get(key);
    if (value == nullptr || value->is_array()) return value;
    add(key, "is not a list", "a list");
    return nullptr;
  }
  template <class E, class Find>
  E chosen(const char* key, const std::string& text, Find find) const {
    if (const auto value = find(text)) return *value;
    if (has(key)) add(key, "is not one of the words known here", "");
    return E{};
  }

  const nlohmann::json* object_;
  std::string where_;
  reason::Faults* faults_;
};

}  // namespace lathbook::catalogue
