// Checks JSON against a JSON Schema (a subset of draft 2020-12) and says what is wrong in words a person can act on.
//
// One schema per request is the single description of its form: the command, the import, the documentation and the
// page's types all come from it. Keywords understood: type, enum, const, properties, required, additionalProperties,
// items, prefixItems, minItems, maxItems, uniqueItems, minimum, maximum, exclusiveMinimum, exclusiveMaximum, minLength,
// maxLength, pattern, format (date, date-time), $ref (within the document), anyOf, oneOf, allOf, dependentRequired;
// title, description, default, examples, $id, $schema, $defs and x-… annotate. Any other keyword is refused when the
// schema is read, so that a schema can never promise what is not checked. Numbers must be finite. Checked against
// Python's jsonschema in tests/tools/schema_reference.py.
#pragma once

#include <memory>
#include <nlohmann/json.hpp>
#include <string>
#include <string_view>

#include "reason/fault.h"

namespace lathbook::schema {

using Json = nlohmann::json;

class Forms;
struct Taped;  // node.h

class Schema {
 public:
  /// Takes a schema document. A document that is not a schema we fully understand is a programming error and throws
  /// std::logic_error naming the keyword and place.
  /// The document may be one schema, or `input` and `answer` side by side as a topic of `lathbook calc` has them: then
  /// only `check_part` has something to check.
  explicit Schema(Json document);

  /// All faults of `value`, each with a JSON Pointer below `where`. Empty means it fits.
  [[nodiscard]] reason::Faults check(const Json& value, std::string_view where = "") const;

  /// The same against a part of the document, for instance `/$defs/room`.
  [[nodiscard]] reason::Faults check_part(std::string_view pointer, const Json& value,
                                          std::string_view where = "") const;

  /// Whether check_part would find nothing; may say no to what fits (forms.h).
  [[nodiscard]] bool fits_taped(const Json& part, const Taped& value) const;

  /// The part of the document that a JSON Pointer names.
  [[nodiscard]] const Json& part(std::string_view pointer) const;

  /// The same without first asking the quick way (forms.h) whether there is anything to say.
  [[nodiscard]] reason::Faults explain(std::string_view pointer, const Json& value, std::string_view where = "") const;

  /// What a schema (or part of one) accepts, as a short phrase: "a whole number from 1 to 3", "one of: a, b".
  [[nodiscard]] std::string allowed(const Json& raw) const;

  /// Follows `$ref` until a part that is not a reference.
  [[nodiscard]] const Json& resolve(const Json& part) const;

  /// The part that describes the entries of a list, followed to its end; an empty object when nothing is said of them.
  [[nodiscard]] const Json& items_of(const Json& list_part) const;

  [[nodiscard]] const Json& document() const { return *document_; }

 private:
  std::shared_ptr<const Json> document_;
  std::shared_ptr<const Forms> forms_;
};

/// Reads JSON text (strict RFC 8259, UTF-8, no duplicate object keys). The fault gives line and column.
[[nodiscard]] reason::Result<Json> parse_json(std::string_view text, std::string_view name = "");

/// Whether bytes are well-formed UTF-8 (RFC 3629).
[[nodiscard]] bool is_utf8(std::string_view bytes);

/// A value as it should appear in a message: compact JSON, cut to 60 characters.
[[nodiscard]] std::string shown(const Json& value);

}  // namespace lathbook::schema
