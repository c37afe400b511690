// Puts a site on a loopback socket.
#pragma once

#include <functional>
#include <string>

#include "http/site.h"
#include "reason/fault.h"

namespace lathbook::http {

struct ServeOptions {
  int port = 0;        ///< 0 = any free one
  int usual_port = 0;  ///< where `port` says nothing: taken if it is free
  /// Told the address to open once the socket listens, and how to end it other than by a signal.
  std::function<void(const std::string& address, std::function<void()> stop)> ready;
};

/// Listens on 127.0.0.1 until the process is told to end (SIGINT or SIGTERM). Fault: the port is taken.
[[nodiscard]] reason::Result<reason::Done> serve(Site& site, const ServeOptions& options);

}  // namespace lathbook::http
