// What the schema cannot say of a book: ids once each, references that lead somewhere, years and dates in order, no
// cycles.
#pragma once

#include "book/book.h"
#include "reason/fault.h"

namespace lathbook::book {

/// All faults of a book taken by itself; `where` is the item and field ("M7 room"). Families, tasks and the other words
/// of data/ are checked where the catalogue is at hand (service), shapes on their faces by `fabric`. Linear in the
/// book.
[[nodiscard]] reason::Faults validate(const Book& book);

}  // namespace lathbook::book
