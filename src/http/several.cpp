#include "http/several.h"

#include <nlohmann/json.hpp>

#include "http/forms.h"
#include "service/base64.h"
#include "service/open_book.h"

namespace lathbook::http {
namespace {

using service::Json;

}  // namespace

reason::Result<Several> parse_several(const std::string& body) {
  const auto json = read_request("POST several", body);
  if (!json.ok()) return json.faults();
  Several several{(*json)["revision"].get<store::Revision>(), (*json)["label"].get<std::string>(), {}};
  for (const auto& part : (*json)["parts"]) {
    if (part.contains("keep")) {
      auto bytes = service::from_base64(part["keep"].get_ref<const std::string&>());
      if (!bytes || service::media_type_of(*bytes) != "application/pdf")
        return reason::Fault{"keep", "", "is not a PDF", "a PDF's bytes as RFC 4648 base64 with padding"};
      several.parts.push_back({true, "document", part.value("as", std::string()), part["fields"], std::move(*bytes)});
      continue;
    }
    const bool is_new = part.contains("add");
    several.parts.push_back(
        {is_new, part[is_new ? "add" : "set"].get<std::string>(), part.value("as", std::string()), part["fields"], {}});
  }
  return several;
}

}  // namespace lathbook::http
