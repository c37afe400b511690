// The reasons of an answer with their sources, as a page of text ends.
#pragma once

#include "cli/text.h"
#include "reason/reason.h"

namespace lathbook::cli {

/// Under a heading "Why" each reason once, with a number, and under the numbers what they stand for: "title, year".
/// Nothing when there is no reason.
void cited(Page& page, const reason::Reasons& reasons);

}  // namespace lathbook::cli
