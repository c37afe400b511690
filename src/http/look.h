// The body of an answer on a walk through a room: POST /api/look.
#pragma once

#include <string>

#include "book/book.h"
#include "catalogue/catalogue.h"
#include "reason/fault.h"
#include "store/store.h"

namespace lathbook::http {

struct Look {
  store::Revision revision = 0;
  std::string room;
  std::string notes;  ///< of the room, as they are
  const catalogue::Family* family = nullptr;
  std::string answer;
};

/// `{"revision", "room", "family", "answer": "none seen" | "cannot tell" | "not accessible"}`.
[[nodiscard]] reason::Result<Look> parse_look(const std::string& body, const book::Book& book);

}  // namespace lathbook::http
