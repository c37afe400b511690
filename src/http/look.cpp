#include "http/look.h"

#include <fmt/format.h>

#include <algorithm>
#include <nlohmann/json.hpp>

#include "http/forms.h"

namespace lathbook::http {
namespace {

using Json = nlohmann::json;
using reason::Fault;
using reason::FaultKind;

}  // namespace

reason::Result<Look> parse_look(const std::string& body, const book::Book& book) {
  const auto json = read_request("POST look", body);
  if (!json.ok()) return json.faults();
  Look look;
  look.revision = (*json)["revision"].get<store::Revision>();
  look.room = (*json)["room"].get<std::string>();
  look.answer = (*json)["answer"].get<std::string>();
  const auto room = std::find_if(book.rooms.begin(), book.rooms.end(),
                                 [&](const book::Room& one) { return one.id.text == look.room; });
  if (room == book.rooms.end()) return Fault{"", look.room, "is not a room of this book", "", FaultKind::kMissing};
  look.notes = room->notes;
  const auto& known = catalogue::shipped();
  reason::Faults unknown;
  for (const auto& id : (*json)["families"]) {
    const auto family = id.get<std::string>();
    look.families.push_back(known.find_family(family));
    if (look.families.back() == nullptr) {
      const auto at = fmt::format("/families/{}", look.families.size() - 1);
      unknown.push_back(catalogue::unknown_family(known, at, family));
    }
  }
  if (!unknown.empty()) return unknown;
  return look;
}

}  // namespace lathbook::http
