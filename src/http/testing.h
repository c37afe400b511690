// The demo house behind its page, for tests. Whatever it answers is held against the form of that answer.
#pragma once

#include <gtest/gtest.h>

#include <memory>
#include <nlohmann/json.hpp>
#include <stdexcept>
#include <string>
#include <utility>

#include "http/forms.h"
#include "http/site.h"
#include "service/open_book.h"
#include "store/testing.h"

namespace lathbook::http::testing {

using service::Json;

inline constexpr const char* kNow = "2026-11-25T12:00:00Z";

class DemoSite : public ::testing::Test {
 protected:
  DemoSite() {
    const auto made = service::OpenBook::create(path(), Json::parse(assets::get("data/demo.json")), "demo house", kNow);
    if (!made.ok()) throw std::runtime_error(made.faults().front().text());
    site_ = reopened();
  }

  [[nodiscard]] std::filesystem::path path() const { return folder_ / "demo.lathbook"; }
  [[nodiscard]] std::unique_ptr<Site> reopened() const {
    auto site = Site::open(path(), {[] { return std::string(kNow); }, [] { return std::string("2026-11-25"); }},
                           {{"index.html", "<!doctype html>"}, {"page.js", "0"}});
    if (!site.ok()) throw std::runtime_error(site.faults().front().text());
    return std::move(site).value();
  }
  static Response ask(Site& site, const std::string& method, const std::string& path, const std::string& body = "",
                      const std::string& key = "") {
    Request request;
    request.method = method;
    request.path = path;
    request.body = body;
    request.request_key = key;
    auto response = site.answer(request);
    if (path.starts_with("/api/") && response.content_type == "application/json") {
      const auto word = path.substr(5, path.find('/', 5) - 5);
      const auto json = Json::parse(response.body);
      const auto faults = response.status == 200 ? check_answer(method + " " + word, json) : check_refusal(json);
      for (const auto& fault : faults) ADD_FAILURE() << method << " " << path << ": " << fault.text();
    }
    return response;
  }
  Json get(const std::string& path) {
    const auto response = ask(*site_, "GET", path);
    EXPECT_EQ(response.status, 200) << response.body;
    return Json::parse(response.body);
  }
  std::pair<int, Json> post(const std::string& path, const Json& body) {
    const auto response = ask(*site_, "POST", path, body.dump());
    return {response.status, Json::parse(response.body)};
  }
  std::int64_t revision() { return get("/api/book")["revision"]; }

  store::testing::Folder folder_;
  std::unique_ptr<Site> site_;
};

}  // namespace lathbook::http::testing
