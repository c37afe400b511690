#include "http/several.h"

#include <nlohmann/json.hpp>

#include "http/forms.h"

namespace lathbook::http {
namespace {

using service::Json;

}  // namespace

reason::Result<Several> parse_several(const std::string& body) {
  const auto json = read_request("POST several", body);
  if (!json.ok()) return json.faults();
  Several several{(*json)["revision"].get<store::Revision>(), (*json)["label"].get<std::string>(), {}};
  for (const auto& part : (*json)["parts"]) {
    const bool is_new = part.contains("add");
    several.parts.push_back(
        {is_new, part[is_new ? "add" : "set"].get<std::string>(), part.value("as", std::string()), part["fields"]});
  }
  return several;
}

}  // namespace lathbook::http
