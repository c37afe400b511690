#include "http/several.h"

#include <nlohmann/json.hpp>

#include "schema/schema.h"

namespace lathbook::http {
namespace {

using service::Json;

const schema::Schema& form() {
  static const schema::Schema kForm(Json::parse(R"({
    "$schema": "https://json-schema.org/draft/2020-12/schema",
    "type": "object", "additionalProperties": false, "required": ["revision", "label", "parts"],
    "properties": {
      "revision": {"type": "integer", "minimum": 0},
      "label": {"type": "string", "minLength": 1, "maxLength": 120},
      "parts": {
        "type": "array", "minItems": 1, "maxItems": 500,
        "items": {
          "anyOf": [
            {
              "type": "object", "additionalProperties": false, "required": ["add", "fields"],
              "properties": {
                "add": {"type": "string", "minLength": 1, "maxLength": 40},
                "as": {"type": "string", "pattern": "^@[a-z0-9-]{1,40}$"},
                "fields": {"type": "object"}
              }
            },
            {
              "type": "object", "additionalProperties": false, "required": ["set", "fields"],
              "properties": {
                "set": {"type": "string", "minLength": 1, "maxLength": 40},
                "fields": {"type": "object"}
              }
            }
          ]
        }
      }
    }})"));
  return kForm;
}

}  // namespace

reason::Result<Several> parse_several(const std::string& body) {
  const auto json = schema::parse_json(body, "the request");
  if (!json.ok()) return json.faults();
  if (auto faults = form().check(*json); !faults.empty()) return faults;
  Several several{(*json)["revision"].get<store::Revision>(), (*json)["label"].get<std::string>(), {}};
  for (const auto& part : (*json)["parts"]) {
    const bool is_new = part.contains("add");
    several.parts.push_back(
        {is_new, part[is_new ? "add" : "set"].get<std::string>(), part.value("as", std::string()), part["fields"]});
  }
  return several;
}

}  // namespace lathbook::http
