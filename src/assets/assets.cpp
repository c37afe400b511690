#include "assets/assets.h"

#include <algorithm>
#include <stdexcept>
#include <string>

namespace lathbook::assets {

std::optional<std::string_view> find(std::string_view name) {
  const auto files = all();
  const auto found = std::find_if(files.begin(), files.end(), [&](const Asset& asset) { return asset.name == name; });
  if (found == files.end()) return std::nullopt;
  return found->bytes;
}

std::string_view get(std::string_view name) {
  if (const auto bytes = find(name)) return *bytes;
  throw std::logic_error("no embedded file named " + std::string(name));
}

}  // namespace lathbook::assets
