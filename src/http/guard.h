// Whether a request may be listened to at all.
//
// Threats met: a page of another site that makes the browser call this port (Origin, SameSite cookie); a name that
// points at loopback (Host); another user or program of the machine that finds the port (the secret, which only the
// opened address holds, then the cookie). Nothing of a refused request's body is read.
#pragma once

#include <functional>
#include <optional>
#include <string>
#include <string_view>

#include "http/message.h"

namespace lathbook::http {

/// 256 random bits in hex, from the operating system.
[[nodiscard]] std::string fresh_secret();

/// The value of one cookie in a Cookie header; empty when it is not there.
[[nodiscard]] std::string_view cookie_value(std::string_view header, std::string_view name);

/// What no door of this program answers, whoever knocks: a host that is not its own (DNS rebinding), a method nobody
/// uses, a post that no page of its own made. `scheme` is "http://" or "https://", `own_host` tells its own hosts,
/// `hosts` calls them in words.
[[nodiscard]] std::optional<Response> refuse_foreign(const Request& request, std::string_view scheme,
                                                     const std::function<bool(const std::string&)>& own_host,
                                                     const std::string& hosts);

class Guard {
 public:
  /// `key` is the secret in the opened address, `token` the value of the cookie handed out for it.
  Guard(int port, std::string key, std::string token);

  /// The refusal, or nothing when the request may be answered. `GET /?key=…` with the right key is answered here too:
  /// it hands out the cookie and leads to `/`, so that the key does not stay in the address bar.
  [[nodiscard]] std::optional<Response> screen(const Request& request) const;

  /// "/?key=…", to be opened once.
  [[nodiscard]] std::string entrance() const { return "/?key=" + key_; }

 private:
  [[nodiscard]] bool is_own_host(const std::string& host) const;

  int port_;
  std::string key_;
  std::string token_;
  std::string cookie_name_;  ///< holds the port: cookies are shared by all ports of a host
};

}  // namespace lathbook::http
