#include "catalogue/taking_data.h"

#include <nlohmann/json.hpp>

#include "assets/assets.h"
#include "schema/schema.h"

namespace lathbook::catalogue {

reason::Result<TakingData> parse_taking(const nlohmann::json& document) {
  const schema::Schema form(nlohmann::json::parse(assets::get("data/schemas/taking.schema.json")));
  if (auto faults = form.check(document); !faults.empty()) return faults;
  const auto line = [](const nlohmann::json& row) { return reason::Reason{row["text"], row["source"]}; };
  TakingData data;
  for (const auto& row : document["bring"]) data.bring.push_back(line(row));
  for (const auto& row : document["steps"]) data.steps.push_back(line(row));
  for (const auto& row : document["layers"]) {
    data.layers.push_back({row["families"].get<std::vector<std::string>>(), line(row)});
  }
  data.someone_else = line(document["someone_else"]);
  const auto& days = document["laboratory_days"];
  data.laboratory_days_usual = days["usual"];
  data.laboratory_days_slow = days["slow"];
  data.laboratory_days_source = days["source"];
  return data;
}

}  // namespace lathbook::catalogue
