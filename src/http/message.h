// A request and its answer, as far as this program looks at them.
#pragma once

#include <string>
#include <utility>
#include <vector>

#include "reason/fault.h"

namespace lathbook::http {

struct Request {
  std::string method;  ///< "GET"
  std::string path;    ///< decoded, without the query
  std::string key;     ///< the query's `key`, if any
  std::string host;    ///< header Host; empty = absent
  std::string origin;  ///< header Origin; empty = absent
  std::string cookie;  ///< header Cookie
  std::string content_type;
  std::string body;
  std::string request_key;      ///< header Idempotency-Key; empty = absent
  std::string accept_encoding;  ///< header Accept-Encoding
  std::string if_none_match;    ///< header If-None-Match
  bool by_phone = false;        ///< over the private network, not from this machine
};

/// Whether it asks only to look.
[[nodiscard]] inline bool is_read(const Request& request) {
  return request.method == "GET" || request.method == "HEAD";
}

struct Response {
  int status = 200;
  std::string content_type;
  std::string body;
  std::vector<std::pair<std::string, std::string>> headers;
};

/// The HTTP status of a fault: the one table.
[[nodiscard]] int status_of(reason::FaultKind kind);

/// `{"faults": [{"where", "value", "problem", "allowed"}]}` under the status of the gravest.
[[nodiscard]] Response refusal(const reason::Faults& faults);
[[nodiscard]] Response refusal(int status, const std::string& problem, const std::string& allowed);

/// The headers of every answer that does not say otherwise itself: nothing but this program's own files may run, be
/// framed, be sent to or be kept.
[[nodiscard]] std::vector<std::pair<std::string, std::string>> common_headers();

}  // namespace lathbook::http
