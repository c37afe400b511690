// Which addresses are of a private network, and which of them this machine has.
#pragma once

#include <string>
#include <string_view>
#include <vector>

namespace lathbook::phone {

/// Whether an IP address, as text, lies in a range that is never routed over the internet: 10/8, 172.16/12, 192.168/16
/// (RFC 1918), 169.254/16 (RFC 3927), fc00::/7 (RFC 4193), fe80::/10 (RFC 4291); an IPv4 address mapped into IPv6
/// counts as the IPv4 address. Loopback is not one of them, and neither is what is no address.
[[nodiscard]] bool is_private(std::string_view address);

/// The private addresses of this machine's interfaces that are up, IPv4 first; without those of fe80::/10, which a
/// browser cannot open.
[[nodiscard]] std::vector<std::string> private_addresses();

/// The address as it stands in `https://…`: IPv6 in brackets.
[[nodiscard]] std::string in_url(const std::string& address);

}  // namespace lathbook::phone
