#include "http/look.h"

#include <algorithm>
#include <nlohmann/json.hpp>

#include "schema/schema.h"

namespace lathbook::http {
namespace {

using Json = nlohmann::json;
using reason::Fault;
using reason::FaultKind;

const schema::Schema& form() {
  static const schema::Schema kForm(Json::parse(R"({
    "$schema": "https://json-schema.org/draft/2020-12/schema",
    "type": "object", "additionalProperties": false, "required": ["revision", "room", "family", "answer"],
    "properties": {
      "revision": {"type": "integer", "minimum": 0},
      "room": {"type": "string", "minLength": 1, "maxLength": 40},
      "family": {"type": "string", "minLength": 1, "maxLength": 40},
      "answer": {"type": "string", "enum": ["none seen", "cannot tell", "not accessible"]}
    }})"));
  return kForm;
}

}  // namespace

reason::Result<Look> parse_look(const std::string& body, const book::Book& book) {
  const auto json = schema::parse_json(body, "the request");
  if (!json.ok()) return json.faults();
  if (auto faults = form().check(*json); !faults.empty()) return faults;
  Look look;
  look.revision = (*json)["revision"].get<store::Revision>();
  look.room = (*json)["room"].get<std::string>();
  look.answer = (*json)["answer"].get<std::string>();
  const auto room = std::find_if(book.rooms.begin(), book.rooms.end(),
                                 [&](const book::Room& one) { return one.id.text == look.room; });
  if (room == book.rooms.end()) return Fault{"", look.room, "is not a room of this book", "", FaultKind::kMissing};
  look.notes = room->notes;
  const auto family = (*json)["family"].get<std::string>();
  look.family = catalogue::shipped().find_family(family);
  if (look.family == nullptr) return catalogue::unknown_family(catalogue::shipped(), "/family", family);
  return look;
}

}  // namespace lathbook::http
