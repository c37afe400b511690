#include "phone/network.h"

#include <arpa/inet.h>
#include <ifaddrs.h>
#include <net/if.h>
#include <sys/socket.h>

#include <algorithm>
#include <array>
#include <cstdint>
#include <memory>

namespace lathbook::phone {
namespace {

using Bytes = std::array<std::uint8_t, 16>;  ///< IPv4 as ::ffff:a.b.c.d

constexpr std::array<std::uint8_t, 12> kMapped = {0, 0, 0, 0, 0, 0, 0, 0, 0, 0, 0xff, 0xff};

bool parse(std::string_view text, Bytes& out) {
  const std::string plain(text.substr(0, text.find('%')));  // an interface may follow fe80:: addresses
  if (in_addr four{}; inet_pton(AF_INET, plain.c_str(), &four) == 1) {
    std::copy(kMapped.begin(), kMapped.end(), out.begin());
    const auto* bytes = reinterpret_cast<const std::uint8_t*>(&four);
    std::copy(bytes, bytes + 4, out.begin() + 12);
    return true;
  }
  return inet_pton(AF_INET6, plain.c_str(), out.data()) == 1;
}

bool is_private_four(const std::uint8_t* a) {
  return a[0] == 10 || (a[0] == 172 && (a[1] & 0xf0U) == 16) || (a[0] == 192 && a[1] == 168) ||
         (a[0] == 169 && a[1] == 254);
}

bool is_link_local_six(const Bytes& a) { return a[0] == 0xfe && (a[1] & 0xc0U) == 0x80; }

}  // namespace

bool is_private(std::string_view address) {
  Bytes bytes{};
  if (!parse(address, bytes)) return false;
  if (std::equal(kMapped.begin(), kMapped.end(), bytes.begin())) return is_private_four(bytes.data() + 12);
  return (bytes[0] & 0xfeU) == 0xfc || is_link_local_six(bytes);
}

std::vector<std::string> private_addresses() {
  ifaddrs* first = nullptr;
  if (getifaddrs(&first) != 0) return {};
  const std::unique_ptr<ifaddrs, decltype(&freeifaddrs)> all(first, &freeifaddrs);
  std::vector<std::string> found;
  for (const int family : {AF_INET, AF_INET6}) {
    for (const auto* one = all.get(); one != nullptr; one = one->ifa_next) {
      if (one->ifa_addr == nullptr || one->ifa_addr->sa_family != family || (one->ifa_flags & IFF_UP) == 0U) continue;
      std::array<char, INET6_ADDRSTRLEN> text{};
      const void* raw = family == AF_INET
                            ? static_cast<const void*>(&reinterpret_cast<const sockaddr_in*>(one->ifa_addr)->sin_addr)
                            : &reinterpret_cast<const sockaddr_in6*>(one->ifa_addr)->sin6_addr;
      if (inet_ntop(family, raw, text.data(), text.size()) == nullptr) continue;
      std::string address(text.data());
      Bytes bytes{};
      if (!is_private(address) || !parse(address, bytes) || is_link_local_six(bytes)) continue;
      found.push_back(std::move(address));
    }
  }
  return found;
}

std::string in_url(const std::string& address) {
  return address.find(':') == std::string::npos ? address : "[" + address + "]";
}

}  // namespace lathbook::phone
