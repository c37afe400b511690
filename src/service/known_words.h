// What of a book only the catalogue, the rule packs and the plan can judge.
#pragma once

#include "book/book.h"
#include "reason/fault.h"

namespace lathbook::service {

/// Families, tasks, controls, respirators and rule packs that are not in data/, each with the nearest known word.
[[nodiscard]] reason::Faults unknown_words(const book::Book& book);

/// Rooms that cross themselves or each other, faces that do not exist, shapes off their face (fabric).
[[nodiscard]] reason::Faults plan_faults(const book::Book& book);

}  // namespace lathbook::service
