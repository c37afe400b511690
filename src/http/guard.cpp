#include "http/guard.h"

#include <sodium.h>

#include <array>
#include <stdexcept>
#include <string_view>

namespace lathbook::http {
namespace {

/// Takes as long for a near miss as for any other of its length.
bool same(std::string_view a, std::string_view b) {
  return a.size() == b.size() && sodium_memcmp(a.data(), b.data(), a.size()) == 0;
}

constexpr const char* kLocked =
    "<!doctype html><html lang=\"en\"><meta charset=\"utf-8\"><title>Lathbook</title><h1>This book is closed to this "
    "window</h1><p>Open the address that <code>lathbook serve</code> printed. It holds a key that is new every time "
    "the program starts.</p></html>";

}  // namespace

std::string_view cookie_value(std::string_view header, std::string_view name) {
  while (!header.empty()) {
    const auto end = std::min(header.find(';'), header.size());
    auto pair = header.substr(0, end);
    header.remove_prefix(std::min(end + 1, header.size()));
    while (pair.starts_with(' ')) pair.remove_prefix(1);
    if (pair.starts_with(name) && pair.size() > name.size() && pair[name.size()] == '=')
      return pair.substr(name.size() + 1);
  }
  return {};
}

std::optional<Response> refuse_foreign(const Request& request, std::string_view scheme,
                                       const std::function<bool(const std::string&)>& own_host,
                                       const std::string& hosts) {
  if (!own_host(request.host)) return refusal(421, "this is not the host asked for", hosts);
  const bool reads = is_read(request);
  if (!reads && request.method != "POST") {
    auto response = refusal(405, "is not a method this program knows", "GET, HEAD or POST");
    response.headers.emplace_back("Allow", "GET, HEAD, POST");
    return response;
  }
  // Browsers name the origin of every POST; something that does not is not our page.
  const bool own_origin = request.origin.starts_with(scheme) && own_host(request.origin.substr(scheme.size()));
  if (request.origin.empty() ? !reads : !own_origin)
    return refusal(403, "comes from another page", "the page this program serves");
  return std::nullopt;
}

std::string fresh_secret() {
  if (sodium_init() < 0) throw std::runtime_error("the operating system gives no random numbers");
  std::array<unsigned char, 32> bytes{};
  randombytes_buf(bytes.data(), bytes.size());
  std::string text(bytes.size() * 2 + 1, '\0');
  sodium_bin2hex(text.data(), text.size(), bytes.data(), bytes.size());
  text.pop_back();
  return text;
}

Guard::Guard(int port, std::string key, std::string token)
    : port_(port), key_(std::move(key)), token_(std::move(token)), cookie_name_("lathbook-" + std::to_string(port)) {}

bool Guard::is_own_host(const std::string& host) const {
  const auto port = ":" + std::to_string(port_);
  return host == "127.0.0.1" + port || host == "localhost" + port;
}

std::optional<Response> Guard::screen(const Request& request) const {
  const auto own_host = [this](const std::string& host) { return is_own_host(host); };
  if (auto refused = refuse_foreign(request, "http://", own_host, "127.0.0.1 and its port")) return refused;
  const bool reads = is_read(request);
  if (reads && request.path == "/" && !request.key.empty()) {
    if (!same(request.key, key_)) return Response{401, "text/html; charset=utf-8", kLocked, {}};
    return Response{
        303,
        "text/plain; charset=utf-8",
        "",
        {{"Location", "/"}, {"Set-Cookie", cookie_name_ + "=" + token_ + "; Path=/; HttpOnly; SameSite=Strict"}}};
  }
  if (!same(cookie_value(request.cookie, cookie_name_), token_)) {
    if (!request.path.starts_with("/api/")) return Response{401, "text/html; charset=utf-8", kLocked, {}};
    return refusal(401, "the key is missing or old", "the address that lathbook serve printed");
  }
  if (request.method == "POST" && !request.content_type.starts_with("application/json"))
    return refusal(415, "is not JSON", "Content-Type: application/json");
  return std::nullopt;
}

}  // namespace lathbook::http
