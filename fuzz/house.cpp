// The demo house with some of its numbers changed: three bytes a change, which number (two) and which value. What the
// book takes, every place of the page must have an answer for.
#include <unistd.h>

#include <algorithm>
#include <array>
#include <filesystem>
#include <nlohmann/json.hpp>
#include <vector>

#include "assets/assets.h"
#include "http/site.h"
#include "must.h"
#include "service/open_book.h"

namespace {

using namespace lathbook;
using Json = nlohmann::json;

constexpr const char* kNow = "2026-11-01T10:00:00Z";
constexpr std::size_t kMostChanges = 8;
constexpr std::array kValues = {0.0,  1e-300, 1e-9, 0.001, 0.1, 0.5, 1.0, 2.0,  3.0,  10.0,
                                50.0, 100.0,  1e3,  1e4,   1e5, 1e6, 1e9, 1e12, 9e15, -1.0};

/// Where the numbers of a document stand.
void find_numbers(const Json& value, const Json::json_pointer& at, std::vector<Json::json_pointer>& found) {
  if (value.is_number()) found.push_back(at);
  if (!value.is_structured()) return;
  for (std::size_t i = 0; const auto& [key, inner] : value.items()) {
    find_numbers(inner, value.is_array() ? at / i : at / key, found);
    ++i;
  }
}

/// In memory where there is such a place; gone with the program.
class Folder {
 public:
  Folder() { std::filesystem::create_directories(path_); }
  ~Folder() {
    std::error_code ignored;
    std::filesystem::remove_all(path_, ignored);
  }
  Folder(const Folder&) = delete;
  Folder& operator=(const Folder&) = delete;
  /// Where a book goes of which nothing is there yet.
  [[nodiscard]] std::filesystem::path fresh() const {
    const auto file = path_ / "book.lathbook";
    for (const char* beside : {"", "-wal", "-shm"}) std::filesystem::remove(file.string() + beside);
    return file;
  }

 private:
  std::filesystem::path path_ =
      (::access("/dev/shm", W_OK) == 0 ? std::filesystem::path("/dev/shm") : std::filesystem::temp_directory_path()) /
      ("lathbook-fuzz-house-" + std::to_string(::getpid()));
};

Json asked(http::Site& site, const std::string& path) {
  http::Request request;
  request.method = "GET";
  request.path = "/api/" + path;
  const auto answer = site.answer(request);
  auto told = Json::parse(answer.body, nullptr, false);
  fuzz::must(!told.is_discarded(), path + " answers in JSON");
  fuzz::must(answer.status == 200 || (answer.status < 500 && told.is_object() && !told["faults"].empty()),
             path + " is answered, or refused with a reason");
  return told;
}

}  // namespace

extern "C" int LLVMFuzzerTestOneInput(const std::uint8_t* data, std::size_t size) {
  static const Json demo = Json::parse(assets::get("data/demo.json"));
  static const auto numbers = [] {
    std::vector<Json::json_pointer> found;
    find_numbers(demo, Json::json_pointer(), found);
    return found;
  }();
  Json form = demo;
  for (std::size_t i = 0; i + 3 <= std::min(size, 3 * kMostChanges); i += 3) {
    const double value = kValues[data[i + 2] % kValues.size()];
    auto& place = form[numbers[(data[i] * 256U + data[i + 1]) % numbers.size()]];
    place = place.is_number_integer() ? Json(static_cast<std::int64_t>(value)) : Json(value);
  }

  static const Folder folder;
  const auto file = folder.fresh();
  if (!service::OpenBook::create(file, form, "made", kNow).ok()) return 0;
  const auto site =
      http::Site::open(file, {[] { return std::string(kNow); }, [] { return std::string("2026-11-01"); }}, {});
  fuzz::must(site.ok(), "a book that was made can be opened");
  const Json all = asked(**site, "book");
  for (const char* place : {"walks", "testing", "timeline", "waste"}) asked(**site, place);
  const std::pair<const char*, const char*> each[] = {{"jobs", "check/"},
                                                      {"materials", "material/"},
                                                      {"certificates", "certificate/"},
                                                      {"rooms", "walk/"},
                                                      {"rooms", "backs/"}};
  for (const auto& [list, question] : each) {
    for (const auto& item : form.value(list, Json::array())) asked(**site, question + item["id"].get<std::string>());
  }
  return 0;
}
