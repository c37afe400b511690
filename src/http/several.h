// The body of an edit of several things at one go: POST /api/several.
#pragma once

#include <string>
#include <vector>

#include "reason/fault.h"
#include "service/edit.h"
#include "store/store.h"

namespace lathbook::http {

struct Several {
  store::Revision revision = 0;  ///< the book as the page last read it
  std::string label;             ///< by which it can be taken back
  std::vector<service::Part> parts;
};

/// `{"revision", "label", "parts": [{"add": "room", "as"?: "@hall", "fields"} | {"set": "R4", "fields"} |
/// {"keep": base64 of a PDF, "as"?, "fields"}]}`. Faults: of the form; what is kept is not base64 or no PDF.
[[nodiscard]] reason::Result<Several> parse_several(const std::string& body);

}  // namespace lathbook::http
