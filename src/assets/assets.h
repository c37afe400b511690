// The files of data/ and the schemas of calc and http, inside the program: it runs from one binary with nothing
// installed beside it.
#pragma once

#include <optional>
#include <span>
#include <string_view>

namespace lathbook::assets {

/// One embedded file: its path below the repository's root (for instance `data/families.json`) and its bytes.
struct Asset {
  std::string_view name;
  std::string_view bytes;
};

/// Every embedded file, in no particular order.
[[nodiscard]] std::span<const Asset> all();

/// The bytes of `name`; empty when there is no such file.
[[nodiscard]] std::optional<std::string_view> find(std::string_view name);

/// The bytes of `name`, which must exist: asking for a file that was never embedded is a programming error and throws
/// std::logic_error.
[[nodiscard]] std::string_view get(std::string_view name);

}  // namespace lathbook::assets
