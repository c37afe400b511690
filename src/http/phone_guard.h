// Whether a request that came over the private network may be listened to, and what a phone not yet paired is told.
//
// Threats met: whoever is not on this network (peer address); a page of another site that makes the phone's browser
// call (Origin, SameSite cookie); a name that points here (Host); a stranger on the network (the code, then a token of
// 256 bits, a digest of which is all the laptop keeps); a lost phone (its token is revoked on the laptop).
#pragma once

#include <functional>
#include <memory>
#include <optional>
#include <string>
#include <string_view>
#include <vector>

#include "http/message.h"
#include "http/phone_desk.h"

namespace lathbook::http {

class PhoneGuard {
 public:
  /// `hosts` are what a phone may call this machine, "192.168.1.5:23456"; `pair_page` the page that asks for the code.
  PhoneGuard(std::vector<std::string> hosts, std::shared_ptr<PhoneDesk> desk, std::string pair_page,
             std::function<bool(std::string_view)> may_peer);

  /// The refusal, or the answer to a phone not yet paired; nothing when the request may be answered.
  [[nodiscard]] std::optional<Response> screen(const Request& request, std::string_view peer) const;

  /// The answer to the code typed on a phone. Screened before.
  [[nodiscard]] Response pair(std::string_view code, const std::string& name) const;

 private:
  [[nodiscard]] Response pair_page(int status, std::string_view said) const;

  std::vector<std::string> hosts_;
  std::shared_ptr<PhoneDesk> desk_;
  std::string pair_page_;
  std::function<bool(std::string_view)> may_peer_;
};

}  // namespace lathbook::http
