// Whether a value fits a part of a schema, yes or no, as fast as can be: almost every value does, and only one that
// does not is worth the words (schema.cpp). Each part is read once into a form: references followed, limits as numbers,
// patterns made ready. Agrees with the wordy check on every value; held by tests over random schemas' values.
#pragma once

#include <deque>
#include <memory>
#include <nlohmann/json.hpp>
#include <string>
#include <string_view>
#include <unordered_map>
#include <vector>

#include "schema/pattern.h"

namespace lathbook::schema {

using Json = nlohmann::json;

struct Taped;  // node.h

/// `YYYY-MM-DDThh:mm[:ss[.fff]][Z or +hh:mm]`, a day of the calendar.
[[nodiscard]] bool is_date_time(std::string_view text);
/// How many characters UTF-8 text has.
[[nodiscard]] std::size_t characters(std::string_view text);
/// A key as one part of a JSON Pointer (RFC 6901).
[[nodiscard]] std::string escaped(std::string_view key);
/// Whole numbers further from 0 are refused: a double no longer holds each of them (RFC 8259 §6), and what counts with
/// them could overflow.
constexpr double kLargestWhole = 9'007'199'254'740'991.0;

/// Whether a value is of a type of JSON Schema, which counts 3.0 as an integer.
[[nodiscard]] bool has_type(const Json& value, std::string_view type);

/// Faults of the schema (a reference that leads nowhere, a broken pattern) throw std::logic_error.
class Forms {
 public:
  explicit Forms(const Json& document);
  Forms(const Forms&) = delete;
  Forms& operator=(const Forms&) = delete;
  ~Forms();

  /// The part of the document a JSON Pointer names; std::logic_error when it names none.
  [[nodiscard]] const Json& at(std::string_view pointer) const;
  /// `part` is one of the document's own.
  [[nodiscard]] bool fit(const Json& part, const Json& value) const;
  /// Likewise, but may say no to a value that fits where an object's keys are out of order or come twice.
  [[nodiscard]] bool fit_taped(const Json& part, const Taped& value) const;
  /// The pattern of a part that has one.
  [[nodiscard]] const Pattern& pattern(const Json& part) const;

 private:
  struct Form;
  void read_parts(const Json& part, bool whole);
  Form* form_of(const Json& raw);
  void fill(Form& form, const Json& part);

  const Json& document_;
  std::unordered_map<const Json*, Form*> by_part_;
  std::vector<std::unique_ptr<Form>> forms_;
  std::deque<Pattern> patterns_;
  std::unordered_map<std::string, const Pattern*> pattern_by_text_;
};

}  // namespace lathbook::schema
