// One cell of a CSV file (RFC 4180), harmless in a spreadsheet.
#pragma once

#include <string>
#include <string_view>

namespace lathbook::papers {

/// Quoted where it has to be; a text that begins with = + - @, a tab or a carriage return is given an apostrophe before
/// it, so that no spreadsheet takes it for a formula.
[[nodiscard]] std::string csv_cell(std::string_view text);

}  // namespace lathbook::papers
