// Puts a site on a loopback socket, and for phones on the private network behind TLS.
#pragma once

#include <functional>
#include <memory>
#include <optional>
#include <string>
#include <string_view>
#include <vector>

#include "http/phone_desk.h"
#include "http/site.h"
#include "phone/certificate.h"
#include "phone/network.h"
#include "reason/fault.h"

namespace lathbook::http {

/// Phones on the private network, over TLS.
struct PhoneService {
  std::vector<std::string> addresses;  ///< of this machine, to listen on
  int port = 0;
  phone::Identity identity;
  std::shared_ptr<PhoneDesk> desk;
  std::string pair_page;                                                ///< asks for the code
  std::function<bool(std::string_view)> may_peer = &phone::is_private;  ///< who may speak at all
};

struct ServeOptions {
  int port = 0;        ///< 0 = any free one
  int usual_port = 0;  ///< where `port` says nothing: taken if it is free
  /// Told the address to open once the socket listens, and how to end it other than by a signal.
  std::function<void(const std::string& address, std::function<void()> stop)> ready;
  std::optional<PhoneService> phones = {};  ///< none = loopback alone
};

/// Listens on 127.0.0.1, and for phones where told, until the process is told to end (SIGINT or SIGTERM). Fault: a port
/// is taken.
[[nodiscard]] reason::Result<reason::Done> serve(Site& site, const ServeOptions& options);

}  // namespace lathbook::http
