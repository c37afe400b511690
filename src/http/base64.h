// Bytes inside a request's JSON: RFC 4648 base64 with padding.
#pragma once

#include <optional>
#include <string>

namespace lathbook::http {

/// Empty when the text is no base64.
[[nodiscard]] std::optional<std::string> from_base64(const std::string& text);

}  // namespace lathbook::http
