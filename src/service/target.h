// What a person points at in a book: an item ("M7", "about"), or one entry of a list inside it ("J3/cuts/2").
#pragma once

#include <nlohmann/json_fwd.hpp>
#include <optional>
#include <string>
#include <string_view>
#include <vector>

#include "reason/fault.h"

namespace lathbook::service {

struct Target {
  std::string kind;                  ///< "job"
  std::string id;                    ///< "J3"; empty for `about` and for a kind alone
  std::string list;                  ///< "cuts"; empty = the item itself
  std::optional<std::size_t> entry;  ///< from 1; empty = the list as a whole
  std::string pointer;               ///< JSON Pointer to its part of the book's schema
};

/// Reads "M7", "about", "J3/cuts" or "J3/cuts/2". Faults name what is allowed there; whether the item exists is not
/// checked.
[[nodiscard]] reason::Result<Target> parse_target(std::string_view text);

/// The lists of parts an item of `kind` holds: for a job, "cuts".
[[nodiscard]] std::vector<std::string> part_lists(std::string_view kind);

/// The place of a fault inside an item, as a JSON Pointer below it ("/samples/0/fibres"), in the words the commands
/// take: "C1/samples/1 fibres". A pointer counts a list's entries from 0, a person and the commands from 1. `name` is
/// an id, a kind whose item has none yet, or an entry ("J3/cuts/2").
[[nodiscard]] std::string named_as_target(std::string_view name, std::string_view pointer);
/// All of them.
[[nodiscard]] reason::Faults named_as_targets(std::string_view name, reason::Faults faults);

/// The ids of other items that `item` refers to.
[[nodiscard]] std::vector<std::string> references(std::string_view kind, const nlohmann::json& item);

}  // namespace lathbook::service
