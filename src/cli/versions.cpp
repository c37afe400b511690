#include "cli/versions.h"

#include <fmt/format.h>

#include <algorithm>
#include <nlohmann/json.hpp>
#include <string_view>
#include <vector>

#include "assets/assets.h"
#include "store/store.h"

namespace lathbook::cli {
namespace {

std::size_t rows(std::string_view file, const char* list) {
  return nlohmann::json::parse(assets::get(file)).at(list).size();
}

}  // namespace

std::string versions() {
  std::vector<assets::Asset> data;
  for (const auto& asset : assets::all()) {
    if (asset.name.starts_with("data/")) data.push_back(asset);
  }
  std::ranges::sort(data, {}, &assets::Asset::name);

  std::string out = fmt::format("lathbook {}\n", LATHBOOK_VERSION);
  std::string bytes;
  for (const auto& [name, text] : data) {
    bytes += text;
    if (!name.starts_with("data/law/")) continue;
    const auto pack = nlohmann::json::parse(text);
    const auto as_of = pack.value("as_of", "");
    out += fmt::format("Rules: {} ({}){}\n", pack.at("name").get<std::string>(), pack.at("id").get<std::string>(),
                       as_of.empty() ? "" : ", read by " + as_of);
  }
  return out + fmt::format("Data:  {} sources, {} product families, {}\nBooks: schema {}\n",
                           rows("data/sources.json", "sources"), rows("data/families.json", "families"),
                           store::sha256_hex(bytes).substr(0, 16), store::schema_version());
}

}  // namespace lathbook::cli
