#include "catalogue/sampling_data.h"

#include <algorithm>
#include <nlohmann/json.hpp>

#include "assets/assets.h"
#include "schema/schema.h"

namespace lathbook::catalogue {
namespace {

using nlohmann::json;

reason::Reason line(const json& row) { return {row["text"], row["source"]}; }

}  // namespace

reason::Reasons SamplingData::taking_of(std::string_view family) const {
  reason::Reasons lines;
  for (const auto& one : taking) {
    if (one.families.empty() || std::find(one.families.begin(), one.families.end(), family) != one.families.end())
      lines.push_back(one.what);
  }
  return lines;
}

reason::Result<SamplingData> parse_sampling(const json& document) {
  const schema::Schema form(json::parse(assets::get("data/schemas/sampling.schema.json")));
  auto faults = form.check(document);
  if (!faults.empty()) return faults;
  SamplingData data;
  for (const auto& row : document["bring"]) data.bring.push_back(line(row));
  for (const auto& row : document["steps"]) data.steps.push_back(line(row));
  for (const auto& row : document["taking"])
    data.taking.push_back({line(row), row["families"].get<std::vector<std::string>>()});
  data.label = line(document["label"]);
  return data;
}

}  // namespace lathbook::catalogue
