#include "http/message.h"

#include <algorithm>
#include <nlohmann/json.hpp>

namespace lathbook::http {

int status_of(reason::FaultKind kind) {
  switch (kind) {
    case reason::FaultKind::kUsage:
      return 400;
    case reason::FaultKind::kValue:
      return 422;
    case reason::FaultKind::kConflict:
      return 409;
    case reason::FaultKind::kMissing:
      return 404;
    case reason::FaultKind::kFile:
      return 500;
  }
  return 500;
}

Response refusal(const reason::Faults& faults) {
  auto list = nlohmann::json::array();
  int status = 400;
  for (const auto& fault : faults) {
    list.push_back(
        {{"where", fault.where}, {"value", fault.value}, {"problem", fault.problem}, {"allowed", fault.allowed}});
    status = std::max(status, status_of(fault.kind));
  }
  // A value of a foreign file may not be UTF-8; its place is still told.
  return {status,
          "application/json",
          nlohmann::json{{"faults", std::move(list)}}.dump(-1, ' ', false, nlohmann::json::error_handler_t::replace),
          {}};
}

Response refusal(int status, const std::string& problem, const std::string& allowed) {
  auto response = refusal({{"", "", problem, allowed}});
  response.status = status;
  return response;
}

std::vector<std::pair<std::string, std::string>> common_headers() {
  return {
      {"Content-Security-Policy",
       "default-src 'none'; script-src 'self'; style-src 'self'; img-src 'self' data: blob:; connect-src 'self'; "
       "worker-src 'self'; manifest-src 'self'; base-uri 'none'; form-action 'none'; frame-ancestors 'none'"},
      {"X-Content-Type-Options", "nosniff"},
      {"X-Frame-Options", "DENY"},
      {"Referrer-Policy", "no-referrer"},
      {"Cross-Origin-Opener-Policy", "same-origin"},
      {"Cross-Origin-Resource-Policy", "same-origin"},
      {"Permissions-Policy", "camera=(), geolocation=(), microphone=()"},
      {"Cache-Control", "no-store"},
  };
}

}  // namespace lathbook::http
