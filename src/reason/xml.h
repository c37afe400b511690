// Text for XML: what every SVG we draw puts between tags and into attributes.
#pragma once

#include <string>
#include <string_view>

namespace lathbook::reason {

/// `text` as one line of XML 1.0 character data, fit for element content and for attributes in double quotes: & < > "
/// as entities, and each control character (tab and line break included) as a space, since XML allows most of them
/// nowhere and attributes turn the rest into spaces anyway. Bytes above 0x7F pass unchanged: UTF-8 stays UTF-8.
[[nodiscard]] std::string xml_text(std::string_view text);

}  // namespace lathbook::reason
