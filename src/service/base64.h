// Bytes inside JSON: RFC 4648 base64 with padding, by libsodium.
#pragma once

#include <optional>
#include <string>
#include <string_view>

namespace lathbook::service {

[[nodiscard]] std::string to_base64(std::string_view bytes);

/// Empty when the text is no base64.
[[nodiscard]] std::optional<std::string> from_base64(std::string_view text);

}  // namespace lathbook::service
