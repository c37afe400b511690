// The body of an answer on a walk through a room: POST /api/look.
#pragma once

#include <string>
#include <vector>

#include "book/book.h"
#include "catalogue/catalogue.h"
#include "reason/fault.h"
#include "store/store.h"

namespace lathbook::http {

struct Look {
  store::Revision revision = 0;
  std::string room;
  std::string notes;                               ///< of the room, as they are
  std::vector<const catalogue::Family*> families;  ///< what was looked for, at least one
  std::string answer;
};

/// `{"revision", "room", "families": ["paper", …], "answer": "none seen" | "cannot tell" | "not accessible"}`, one
/// answer to all of them. Faults: of the form; no such room; every family that the catalogue does not know.
[[nodiscard]] reason::Result<Look> parse_look(const std::string& body, const book::Book& book);

}  // namespace lathbook::http
