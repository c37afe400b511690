// The whole door over a real socket: what only cpp-httplib can get wrong.
#include "http/serve.h"

#include <gmock/gmock.h>
#include <gtest/gtest.h>
#include <httplib.h>

#include <algorithm>
#include <array>
#include <functional>
#include <future>
#include <nlohmann/json.hpp>
#include <thread>

#include "service/open_book.h"
#include "store/testing.h"

namespace lathbook::http {
namespace {

using service::Json;
using ::testing::HasSubstr;
using ::testing::StartsWith;

class Serving : public ::testing::Test {
 protected:
  void SetUp() override {
    const auto path = folder_ / "demo.lathbook";
    const auto made = service::OpenBook::create(path, Json::parse(assets::get("data/demo.json")), "demo", now());
    ASSERT_TRUE(made.ok());
    auto site = Site::open(path, {now, [] { return std::string("2026-11-25"); }}, {{"index.html", "the page"}});
    ASSERT_TRUE(site.ok());
    site_ = std::move(site).value();
    std::promise<std::string> ready;
    auto address = ready.get_future();
    server_ = std::thread([this, &ready] {
      const auto done = serve(*site_, {0, 0, [&](const std::string& at, std::function<void()> stop) {
                                         stop_ = std::move(stop);
                                         ready.set_value(at);
                                       }});
      EXPECT_TRUE(done.ok());
    });
    address_ = address.get();
    const auto colon = address_.rfind(':');
    port_ = std::stoi(address_.substr(colon + 1));
  }
  void TearDown() override {
    if (stop_) stop_();
    if (server_.joinable()) server_.join();
  }
  static std::string now() { return "2026-11-25T12:00:00Z"; }

  [[nodiscard]] httplib::Client client() const { return httplib::Client("127.0.0.1", port_); }
  [[nodiscard]] std::string entrance() const { return address_.substr(address_.find("/?key=")); }
  [[nodiscard]] httplib::Headers with_cookie() const {
    const auto entered = client().Get(entrance());
    const auto cookie = entered->get_header_value("Set-Cookie");
    return {{"Cookie", cookie.substr(0, cookie.find(';'))}, {"Origin", address_.substr(0, address_.find("/?"))}};
  }

  store::testing::Folder folder_;
  std::unique_ptr<Site> site_;
  std::thread server_;
  std::function<void()> stop_;
  std::string address_;
  int port_ = 0;
};

TEST_F(Serving, OpensWithTheKeyThenTheCookieAndNothingElse) {
  EXPECT_THAT(address_, StartsWith("http://127.0.0.1:"));
  EXPECT_EQ(client().Get("/")->status, 401);
  EXPECT_EQ(client().Get("/api/book")->status, 401);
  EXPECT_EQ(client().Get(entrance())->status, 303);
  const auto page = client().Get("/", with_cookie());
  EXPECT_EQ(page->status, 200);
  EXPECT_EQ(page->body, "the page");
}

TEST_F(Serving, AnswersGoOutAsTheyAreHoweverSmallTheBrowserWouldHaveThem) {
  auto with = with_cookie();
  with.emplace("Accept-Encoding", "gzip, deflate, br");
  const auto book = client().Get("/api/book", with);
  EXPECT_FALSE(book->has_header("Content-Encoding"));
  EXPECT_EQ(std::to_string(book->body.size()), book->get_header_value("Content-Length"));
  EXPECT_EQ(Json::parse(book->body)["revision"], 1);
  EXPECT_EQ(book->get_header_value("Cache-Control"), "no-store");
  const auto page = client().Get("/", with);
  EXPECT_EQ(page->get_header_value_count("Cache-Control"), 1);
  EXPECT_EQ(page->get_header_value("Cache-Control"), "private, no-cache");
  with.emplace("If-None-Match", page->get_header_value("ETag"));
  const auto again = client().Get("/", with);
  EXPECT_EQ(again->status, 304);
  EXPECT_EQ(again->body, "");
}

TEST_F(Serving, EveryAnswerCarriesTheHeadersThatLockThePageIn) {
  const auto with = with_cookie();
  for (const char* path : {"/", "/nothing", "/api/book", "/api/nothing"}) {
    const auto answer = client().Get(path, with);
    EXPECT_THAT(answer->get_header_value("Content-Security-Policy"), HasSubstr("default-src 'none'")) << path;
    EXPECT_EQ(answer->get_header_value("X-Content-Type-Options"), "nosniff") << path;
  }
  const auto refused = client().Get("/api/book");
  EXPECT_THAT(refused->get_header_value("Content-Security-Policy"), HasSubstr("frame-ancestors 'none'"));
}

TEST_F(Serving, RefusesAForeignHostAndOrigin) {
  auto with = with_cookie();
  with.emplace("Host", "attacker.example");
  EXPECT_EQ(client().Get("/api/book", with)->status, 421);
  auto cross = with_cookie();
  cross.erase("Origin");
  cross.emplace("Origin", "http://attacker.example");
  EXPECT_EQ(client().Post("/api/undo", cross, "{\"revision\":1}", "application/json")->status, 403);
}

TEST_F(Serving, RefusesBodiesThatAreTooLarge) {
  const std::string large(3 << 20, ' ');
  const auto answer = client().Post("/api/add", with_cookie(), large, "application/json");
  // Either told so, or cut off while still sending.
  if (answer) {
    EXPECT_EQ(answer->status, 413);
    EXPECT_THAT(answer->body, HasSubstr("too large"));
  }
  EXPECT_EQ(Json::parse(client().Get("/api/book", with_cookie())->body)["revision"], 1);
}

TEST_F(Serving, NoPathReachesTheFileSystem) {
  const auto with = with_cookie();
  for (const char* path : {"/../../../../etc/passwd", "/%2e%2e/%2e%2e/etc/passwd", "/..%5c..%5cetc", "/demo.lathbook",
                           "/%00", "/api/material/%2e%2e%2fM1", "/api/check/..%2f..%2fetc%2fpasswd"}) {
    const auto answer = client().Get(path, with);
    ASSERT_TRUE(answer) << path;
    EXPECT_TRUE(answer->status == 404 || answer->status == 400) << path << " " << answer->status;
    EXPECT_THAT(answer->body, ::testing::Not(HasSubstr("root:"))) << path;
  }
}

TEST_F(Serving, TwoProgramsNeverShareAPort) {
  const auto again = serve(*site_, {.port = port_, .ready = {}});
  ASSERT_FALSE(again.ok());
  EXPECT_THAT(again.faults().front().problem, HasSubstr("another program has it"));
  // Its usual port taken, a book is served on another.
  std::string elsewhere;
  std::thread ending;
  const auto ready = [&](const std::string& at, std::function<void()> stop) {
    elsewhere = at.substr(0, at.find("/?"));
    ending = std::thread([&elsewhere, stop = std::move(stop)] {
      while (!httplib::Client(elsewhere).Get("/")) std::this_thread::yield();
      stop();
    });
  };
  EXPECT_TRUE(serve(*site_, {.usual_port = port_, .ready = ready}).ok());
  ending.join();
  EXPECT_NE(elsewhere, address_.substr(0, address_.find("/?")));
}

TEST_F(Serving, WritersAtTheSameTimeEachWriteOrAreToldTheClash) {
  const auto with = with_cookie();
  std::vector<std::thread> writers;
  std::array<int, 6> statuses{};
  for (std::size_t i = 0; i < statuses.size(); ++i) {
    writers.emplace_back([&, i] {
      const Json body = {{"revision", 1}, {"what", "M2"}, {"typed", {"notes=writer " + std::to_string(i)}}};
      statuses[i] = client().Post("/api/set", with, body.dump(), "application/json")->status;
    });
  }
  for (auto& writer : writers) writer.join();
  EXPECT_EQ(std::count(statuses.begin(), statuses.end(), 200), 1);
  EXPECT_EQ(std::count(statuses.begin(), statuses.end(), 409), 5);
  EXPECT_EQ(Json::parse(client().Get("/api/book", with)->body)["revision"], 2);
}

}  // namespace
}  // namespace lathbook::http
