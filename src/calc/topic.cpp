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

/// Copies the parts of `library` that `part` refers to, and those they refer to in turn, into `defs`.
void take_referred(const Json& part, const Json& library, Json& defs) {
  if (part.is_object() && part.contains("$ref")) {
    const auto pointer = part["$ref"].get<std::string>();
    const std::string prefix = "#/$defs/";
    const auto name = pointer.starts_with(prefix) ? pointer.substr(prefix.size()) : std::string();
    if (library.contains(name) && !defs.contains(name)) {
      defs[name] = library[name];
      take_referred(library[name], library, defs);
    }
  }
  if (part.is_structured()) {
    for (const auto& inner : part) take_referred(inner, library, defs);
  }
}

/// A topic that takes the book's own shapes names the book's schema in `x-defs-from`: the form of a room is written
/// once.
const schema::Schema& schema_for(std::string_view topic) {
  static std::mutex guard;
  static std::map<std::string, schema::Schema, std::less<>> cache;
  const std::scoped_lock lock(guard);
  auto found = cache.find(topic);
  if (found == cache.end()) {
    auto document = Json::parse(assets::get("src/calc/schemas/" + std::string(topic) + ".json"));
    if (document.contains("x-defs-from")) {
      const auto library = Json::parse(assets::get(document["x-defs-from"].get<std::string>()));
      take_referred(Json(document), library["$defs"], document["$defs"]);
    }
    found = cache.emplace(std::string(topic), schema::Schema(std::move(document))).first;
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

Json schema_of(const Topic& topic) { return schema_for(topic.name).document(); }

reason::Result<Json> run(const Topic& topic, const Json& input) {
  auto faults = schema_for(topic.name).check_part("/input", input);
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
