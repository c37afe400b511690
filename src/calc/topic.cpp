#include "calc/topic.h"

#include <algorithm>
#include <array>
#include <map>
#include <mutex>
#include <stdexcept>

#include "assets/assets.h"
#include "calc/topics.h"
#include "schema/schema.h"

namespace lathbook::calc {
namespace {

const Json& schema_document(std::string_view topic) {
  static std::mutex guard;
  static std::map<std::string, Json, std::less<>> cache;
  const std::scoped_lock lock(guard);
  auto found = cache.find(topic);
  if (found == cache.end()) {
    const auto text = assets::get("src/calc/schemas/" + std::string(topic) + ".json");
    found = cache.emplace(std::string(topic), Json::parse(text)).first;
  }
  return found->second;
}

}  // namespace

std::span<const Topic> topics() { return kTopics; }

const Topic* find_topic(std::string_view name) {
  const auto found =
      std::find_if(kTopics.begin(), kTopics.end(), [&](const Topic& topic) { return topic.name == name; });
  return found == kTopics.end() ? nullptr : &*found;
}

Json schema_of(const Topic& topic) { return schema_document(topic.name); }

reason::Result<Json> run(const Topic& topic, const Json& input) {
  const Json& document = schema_document(topic.name);
  const schema::Schema form(document);
  auto faults = form.check_part("/input", input);
  if (!faults.empty()) return faults;
  return topic.run(input);
}

Answered answer(const Topic& topic, const Json& input) {
  Answered out;
  if (!input.is_array()) {
    auto result = run(topic, input);
    if (result.ok()) {
      out.output = std::move(*result);
    } else {
      out.faults = result.faults();
      out.exit_status = 2;
    }
    return out;
  }
  out.output = Json::array();
  for (const auto& one : input) {
    auto result = run(topic, one);
    if (result.ok()) {
      out.output.push_back(std::move(*result));
      continue;
    }
    Json lines = Json::array();
    for (const auto& fault : result.faults()) lines.push_back(fault.text());
    for (const auto& fault : reason::within("/" + std::to_string(out.output.size()), result.faults()))
      out.faults.push_back(fault);
    out.output.push_back({{"error", std::move(lines)}});
    out.exit_status = 1;
  }
  return out;
}

Json reasons_json(const reason::Reasons& reasons) {
  Json list = Json::array();
  for (const auto& one : reasons) list.push_back({{"text", one.text}, {"source", one.source}});
  return list;
}

}  // namespace lathbook::calc
