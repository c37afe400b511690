// `field=value` as a person types it, turned into the open form: "years=1954-1960", "shape=point 1.2,2.0", "extent=12
// m2".
#pragma once

#include <nlohmann/json_fwd.hpp>
#include <span>
#include <string>
#include <string_view>
#include <vector>

#include "reason/fault.h"

namespace lathbook::service {

using Json = nlohmann::json;

/// Puts `assignments` ("field=value", later ones win) into `item`, whose form is the part of the book's schema that
/// `pointer` leads to ("/$defs/material").
///
/// A field inside another is reached with a dot ("proof.text=…"). An empty value takes the field away. How a value is
/// written depends on the field:
///  - money: "250" or "249.50" in the book's currency;  - yes or no
///  - years: "1954", "1954-1960" or "1950s";  - a point: "1.2,3"
///  - an outline: "0,0 4,0 4,3 0,3";  - lists: values separated by commas
///  - a shape: "whole", "point 1.2,2", "line 0,0 3,0 wide 0.1", "outline 0,0 1,0 1,1", "from 0.5 to 1.5 high 0 to 2.1"
///  - an extent: "12 m2", "8 m", "3"
///  - anything else that is a list or object: JSON.
/// The result is not yet checked against the schema; faults here are about the writing alone.
[[nodiscard]] reason::Result<Json> assign(Json item, std::string_view pointer,
                                          std::span<const std::string> assignments);

/// One line a field for `lathbook fields KIND`: name, how to write it, what it is, whether it must be there.
struct FieldHelp {
  std::string name;
  std::string how;
  std::string what;
  bool required = false;
};
[[nodiscard]] std::vector<FieldHelp> fields_of(std::string_view pointer);

/// The fields of an item as they would be typed, "field" and "value", in the order of the schema; parts of lists apart.
struct WrittenField {
  std::string name;
  std::string value;
};
[[nodiscard]] std::vector<WrittenField> written(std::string_view pointer, const Json& item);

}  // namespace lathbook::service
