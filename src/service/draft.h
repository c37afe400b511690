// A book as it would be with one job or event written otherwise, without writing it: what drawing and trying ask of.
#pragma once

#include <string>
#include <string_view>

#include "book/book.h"
#include "reason/fault.h"
#include "service/open_book.h"

namespace lathbook::service {

struct Drafted {
  book::Book book;
  std::string id;  ///< of the draft
};

/// `item` in the open form takes the place of the job or event of its id, or is a new one when it has none. Checked as
/// OpenBook::apply checks: faults of form, references, words and plan. Any other kind is a std::logic_error.
[[nodiscard]] reason::Result<Drafted> with_draft(const book::Book& book, std::string_view kind, Json item);

}  // namespace lathbook::service
