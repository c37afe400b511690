// A QR code (ISO/IEC 18004) as rows of modules.
#pragma once

#include <string>
#include <vector>

namespace lathbook::phone {

/// One string a row, '1' = dark, without the quiet zone; error correction M. Empty when the text is too long for one.
[[nodiscard]] std::vector<std::string> qr_rows(const std::string& text);

/// The rows for a terminal, two to a line of half blocks, dark on light with a quiet zone of two modules.
[[nodiscard]] std::string qr_for_terminal(const std::vector<std::string>& rows);

}  // namespace lathbook::phone
