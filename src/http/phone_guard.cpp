#include "http/phone_guard.h"

#include <algorithm>
#include <array>

#include "http/guard.h"

namespace lathbook::http {
namespace {

// Browsers take a cookie of this prefix only over TLS, for this host alone and every path.
constexpr std::string_view kCookie = "__Host-lathbook";
constexpr int kYear_s = 31'536'000;

/// What holds nothing of the book and is asked for without a cookie: by a browser that looks how the page is installed.
constexpr std::array<std::string_view, 6> kOpenToAll = {"/manifest.webmanifest", "/mark.svg", "/icon-192.png",
                                                        "/icon-512.png",         "/pair.css", "/favicon.ico"};

void put(std::string& page, std::string_view place, std::string_view words) {
  const auto at = page.find(place);
  if (at != std::string::npos) page.replace(at, place.size(), words);
}

}  // namespace

PhoneGuard::PhoneGuard(std::vector<std::string> hosts, std::shared_ptr<PhoneDesk> desk, std::string pair_page,
                       std::function<bool(std::string_view)> may_peer)
    : hosts_(std::move(hosts)),
      desk_(std::move(desk)),
      pair_page_(std::move(pair_page)),
      may_peer_(std::move(may_peer)) {}

Response PhoneGuard::pair_page(int status, std::string_view said) const {
  auto page = pair_page_;
  put(page, "{said}", said);
  // It is a plain form: no script at all, and an Origin that is named.
  return {status,
          "text/html; charset=utf-8",
          std::move(page),
          {{"Content-Security-Policy",
            "default-src 'none'; style-src 'self'; img-src 'self'; form-action 'self'; base-uri 'none'; "
            "frame-ancestors 'none'"},
           {"Referrer-Policy", "same-origin"}}};
}

std::optional<Response> PhoneGuard::screen(const Request& request, std::string_view peer) const {
  if (!may_peer_(peer)) return refusal(403, "does not come from this network", "a private address");
  const auto own_host = [this](const std::string& host) { return std::ranges::find(hosts_, host) != hosts_.end(); };
  if (auto refused = refuse_foreign(request, "https://", own_host, "the address shown on the laptop")) return refused;
  const bool reads = is_read(request);

  if (reads && request.path == "/pair") return pair_page(200, "");
  if (reads && request.path == "/authority.crt") {
    return Response{200,
                    "application/x-x509-ca-cert",
                    desk_->authority(),
                    {{"Content-Disposition", "attachment; filename=\"lathbook-authority.crt\""}}};
  }
  if (reads && std::ranges::find(kOpenToAll, request.path) != kOpenToAll.end()) return std::nullopt;
  if (!reads && request.path == "/pair") {
    if (request.content_type.starts_with("application/x-www-form-urlencoded")) return std::nullopt;
    return refusal(415, "is not a form", "application/x-www-form-urlencoded");
  }

  const auto known = desk_->knows(cookie_value(request.cookie, kCookie));
  if (!known.ok()) return refusal(known.faults());
  if (!*known) {
    if (reads && request.path == "/") return Response{303, "text/plain; charset=utf-8", "", {{"Location", "/pair"}}};
    return refusal(401, "this phone is not paired, or not any longer", "a phone paired by the code on the laptop");
  }
  if (!reads && !request.content_type.starts_with("application/json"))
    return refusal(415, "is not JSON", "Content-Type: application/json");
  return std::nullopt;
}

Response PhoneGuard::pair(std::string_view code, const std::string& name) const {
  const auto tried = desk_->pair(code, name);
  if (!tried.ok()) return refusal(tried.faults());
  switch (tried->outcome) {
    case phone::Pairing::Outcome::kPaired:
      return {303,
              "text/plain; charset=utf-8",
              "",
              {{"Location", "/"},
               {"Set-Cookie", std::string(kCookie) + "=" + tried->token +
                                  "; Path=/; Secure; HttpOnly; SameSite=Strict; "
                                  "Max-Age=" +
                                  std::to_string(kYear_s)}}};
    case phone::Pairing::Outcome::kWrong:
      return pair_page(403, "That is not the code. Look again, wait a little, and type it once more.");
    case phone::Pairing::Outcome::kWait: {
      auto answer = pair_page(429, "Too soon after a wrong code. Wait a quarter of a minute, then type it again.");
      answer.headers.emplace_back("Retry-After", "15");
      return answer;
    }
    case phone::Pairing::Outcome::kNoCode:
      break;
  }
  return pair_page(403,
                   "No code is good at the moment: it was too old, used, or typed wrong five times. Ask for a new "
                   "one on the laptop, under Phone.");
}

}  // namespace lathbook::http
