// A request to the page's door: first line method and path, then key, Host, Origin, Cookie and Content-Type, a line
// each, then the body. The guard sees all of it; the site answers whatever the guard would say, as if the person had
// sent it.
#include <unistd.h>

#include <array>
#include <filesystem>
#include <nlohmann/json.hpp>

#include "assets/assets.h"
#include "http/guard.h"
#include "http/site.h"
#include "must.h"
#include "service/open_book.h"

namespace {

using namespace lathbook;

constexpr const char* kNow = "2026-03-01T10:00:00Z";
constexpr int kPort = 4173;
constexpr const char* kKey = "0f0f0f0f";
constexpr const char* kToken = "a1a1a1a1";

/// One demo book in memory, copied anew whenever a request has changed the last copy.
class Books {
 public:
  Books() {
    std::filesystem::create_directories(folder_);
    const auto made =
        service::OpenBook::create(whole(), nlohmann::json::parse(assets::get("data/demo.json")), "demo house", kNow);
    fuzz::must(made.ok(), "the demo book can be made");
  }
  ~Books() {
    std::error_code ignored;
    std::filesystem::remove_all(folder_, ignored);
  }
  Books(const Books&) = delete;
  Books& operator=(const Books&) = delete;

  http::Site& site() {
    if (site_ != nullptr) return *site_;
    for (const char* beside : {"-wal", "-shm"}) std::filesystem::remove(copy().string() + beside);
    std::filesystem::copy_file(whole(), copy(), std::filesystem::copy_options::overwrite_existing);
    auto opened = http::Site::open(copy(), {[] { return std::string(kNow); }, [] { return std::string("2026-03-01"); }},
                                   {{"index.html", "<!doctype html>"}, {"page.js", "0"}});
    fuzz::must(opened.ok(), "a copy of the demo book opens");
    site_ = std::move(opened).value();
    return *site_;
  }
  /// After a request that was let in: the file is whole, and the next request finds the demo book as it was.
  void renew() {
    site_.reset();
    const auto opened = store::Store::open(copy(), store::Mode::kReadOnly);
    fuzz::must(opened.ok() && opened->verify().ok(), "the book is whole after a request");
  }

 private:
  [[nodiscard]] std::filesystem::path whole() const { return folder_ / "whole.lathbook"; }
  [[nodiscard]] std::filesystem::path copy() const { return folder_ / "copy.lathbook"; }

  std::filesystem::path folder_ =
      (::access("/dev/shm", W_OK) == 0 ? std::filesystem::path("/dev/shm") : std::filesystem::temp_directory_path()) /
      ("lathbook-fuzz-request-" + std::to_string(::getpid()));
  std::unique_ptr<http::Site> site_;
};

std::string up_to(std::string_view& rest, char end) {
  const auto at = rest.find(end);
  const std::string taken(rest.substr(0, at));
  rest = at == std::string_view::npos ? "" : rest.substr(at + 1);
  return taken;
}

/// Whether the cookie header holds our cookie with our token, by a reading of its own.
bool holds_token(const http::Request& request) { return request.cookie.find(kToken) != std::string::npos; }

}  // namespace

extern "C" int LLVMFuzzerTestOneInput(const std::uint8_t* data, std::size_t size) {
  static Books books;
  static const http::Guard guard(kPort, kKey, kToken);
  auto rest = fuzz::text_of(data, size);
  http::Request request;
  request.method = up_to(rest, ' ');
  request.path = up_to(rest, '\n');
  for (auto* part : {&request.key, &request.host, &request.origin, &request.cookie, &request.content_type})
    *part = up_to(rest, '\n');
  request.body = rest;

  const auto screened = guard.screen(request);
  if (!screened) {
    fuzz::must(holds_token(request), "nobody gets past the guard without the token");
    fuzz::must(request.host.find("localhost") == 0 || request.host.find("127.0.0.1") == 0, "nor by a foreign name");
    fuzz::must(request.method == "GET" || !request.origin.empty(), "nor with a post of no origin");
  } else {
    fuzz::must(screened->status >= 300, "what the guard answers itself is a refusal or leads on");
  }

  // Draws of events run on their own threads for seconds; their answers have tests of their own.
  if (request.path.find("/api/reckon") == 0 || request.path.find("/api/rough") == 0) return 0;
  const auto answer = books.site().answer(request);
  fuzz::must(answer.status >= 200 && answer.status < 600, "an answer has a status");
  if (answer.status >= 400) {
    const auto told = nlohmann::json::parse(answer.body, nullptr, false);
    fuzz::must(told.is_object() && !told["faults"].empty(), "a refusal says why");
  }
  if (request.method == "POST" && answer.status == 200) books.renew();
  return 0;
}
