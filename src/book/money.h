// Money as people write it.
#pragma once

#include <string>
#include <string_view>

#include "book/book.h"

namespace lathbook::book {

/// "£1,250", "£43.50", "-€12"; a currency without a sign of its own is written "1,250 CHF".
[[nodiscard]] std::string money_text(Money minor_units, std::string_view currency);

}  // namespace lathbook::book
