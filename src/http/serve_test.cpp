// The whole door over a real socket: what only cpp-httplib can get wrong.
#include "http/serve.h"

#include <arpa/inet.h>
#include <gmock/gmock.h>
#include <gtest/gtest.h>
#include <httplib.h>
#include <sys/socket.h>
#include <sys/wait.h>
#include <unistd.h>

#include <algorithm>
#include <array>
#include <chrono>
#include <functional>
#include <future>
#include <nlohmann/json.hpp>
#include <optional>
#include <thread>
#include <utility>

#include "http/door.h"
#include "http/peer.h"
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

/// A connection past any library, for what no library would send.
class Socket {
 public:
  explicit Socket(int port) : socket_(::socket(AF_INET, SOCK_STREAM | SOCK_CLOEXEC, 0)) {
    sockaddr_in to{};
    to.sin_family = AF_INET;
    to.sin_port = htons(static_cast<std::uint16_t>(port));
    to.sin_addr.s_addr = htonl(INADDR_LOOPBACK);
    EXPECT_EQ(::connect(socket_, reinterpret_cast<sockaddr*>(&to), sizeof to), 0);
  }
  Socket(Socket&& other) noexcept : socket_(std::exchange(other.socket_, -1)) {}
  Socket& operator=(Socket&&) = delete;
  ~Socket() {
    if (socket_ >= 0) ::close(socket_);
  }
  bool send(std::string_view bytes) const {
    while (!bytes.empty()) {
      const auto sent = ::send(socket_, bytes.data(), bytes.size(), MSG_NOSIGNAL);
      if (sent <= 0) return false;
      bytes.remove_prefix(static_cast<std::size_t>(sent));
    }
    return true;
  }
  /// No more is to come from here.
  void finish() const { ::shutdown(socket_, SHUT_WR); }
  /// Everything until the other side ends.
  [[nodiscard]] std::string rest() const {
    std::string all;
    std::array<char, 4096> some{};
    for (ssize_t got = 0; (got = ::recv(socket_, some.data(), some.size(), 0)) > 0;)
      all.append(some.data(), static_cast<std::size_t>(got));
    return all;
  }

 private:
  int socket_;
};

TEST_F(Serving, AnotherUsersProgramIsNotListenedToWhateverItKnows) {
  const auto with = with_cookie();
  const auto request = "GET /api/book HTTP/1.1\r\nHost: 127.0.0.1:" + std::to_string(port_) +
                       "\r\nCookie: " + with.find("Cookie")->second + "\r\n\r\n";
  const Socket mine(port_);
  mine.send(request);
  EXPECT_THAT(mine.rest(), StartsWith("HTTP/1.1 200"));
  // Another user is whom only root can become.
  if (::geteuid() != 0) return;
  constexpr uid_t kOther = 65534;
  std::array<int, 2> pipe{};
  ASSERT_EQ(::pipe(pipe.data()), 0);
  const pid_t child = ::fork();
  if (child == 0) {
    if (::setuid(kOther) != 0) ::_exit(1);
    const Socket socket(port_);
    socket.send(request);
    const auto answer = socket.rest();
    ::_exit(::write(pipe[1], answer.data(), answer.size()) == static_cast<ssize_t>(answer.size()) ? 0 : 1);
  }
  ::close(pipe[1]);
  std::string answer;
  std::array<char, 4096> some{};
  for (ssize_t got = 0; (got = ::read(pipe[0], some.data(), some.size())) > 0;)
    answer.append(some.data(), static_cast<std::size_t>(got));
  ::close(pipe[0]);
  int status = 0;
  ::waitpid(child, &status, 0);
  EXPECT_EQ(status, 0);
  EXPECT_THAT(answer, StartsWith("HTTP/1.1 403"));
  EXPECT_EQ(answer.find("revision"), std::string::npos);
}

TEST(Peer, IsKnownToTheKernel) {
  const int listening = ::socket(AF_INET, SOCK_STREAM | SOCK_CLOEXEC, 0);
  sockaddr_in at{};
  at.sin_family = AF_INET;
  at.sin_addr.s_addr = htonl(INADDR_LOOPBACK);
  socklen_t length = sizeof at;
  ASSERT_EQ(::bind(listening, reinterpret_cast<sockaddr*>(&at), sizeof at), 0);
  ASSERT_EQ(::listen(listening, 1), 0);
  ASSERT_EQ(::getsockname(listening, reinterpret_cast<sockaddr*>(&at), &length), 0);
  {
    const Socket client(ntohs(at.sin_port));
    const int accepted = ::accept(listening, nullptr, nullptr);
    ASSERT_GE(accepted, 0);
    EXPECT_EQ(speaker_at(accepted), Speaker::kOurs);
    ::close(accepted);
  }
  {
    // Who has left, after sending what they had, could be anybody.
    std::optional<Socket> client(std::in_place, ntohs(at.sin_port));
    const int accepted = ::accept(listening, nullptr, nullptr);
    client->send("POST / HTTP/1.1\r\n\r\n");
    client.reset();
    EXPECT_EQ(speaker_at(accepted), Speaker::kOthers);
    ::close(accepted);
  }
  EXPECT_EQ(speaker_at(listening), Speaker::kNotTold);
  ::close(listening);
}

TEST_F(Serving, SlowClientsKeepNobodyWaiting) {
  const auto with = with_cookie();
  // More than there are idle threads in any pool: silent ones, and ones that send a byte now and then.
  std::vector<Socket> slow;
  for (int i = 0; i < 400; ++i) {
    slow.emplace_back(port_);
    if (i % 2 == 0) slow.back().send("GET / HTTP/1.1\r\nX-Slow: ");
  }
  const auto begun = std::chrono::steady_clock::now();
  const auto seconds = [&] { return std::chrono::duration<double>(std::chrono::steady_clock::now() - begun).count(); };
  for (int i = 0; i < 5; ++i) {
    const auto answer = client().Get("/", with);
    ASSERT_TRUE(answer);
    EXPECT_EQ(answer->status, 200);
    for (const auto& one : slow) one.send("a");
  }
  EXPECT_LT(seconds(), kSecondsForHead);
  // They do not stay either, however often they send a byte.
  std::thread trickle([&] {
    while (seconds() < kSecondsForHead + 1) {
      slow[0].send("a");
      std::this_thread::sleep_for(std::chrono::milliseconds(100));
    }
  });
  EXPECT_EQ(slow[0].rest().find(" 200 "), std::string::npos);
  EXPECT_LT(seconds(), kSecondsForHead + 10);
  trickle.join();
}

TEST_F(Serving, ALineWithoutAnEndDoesNotFillTheMemory) {
  const Socket socket(port_);
  std::size_t taken = 0;
  const std::string some(1 << 16, 'a');
  while (taken < (64U << 20U) && socket.send(some)) taken += some.size();
  EXPECT_LT(taken, 8U << 20U) << "the program took it all";
  EXPECT_EQ(client().Get("/", with_cookie())->status, 200);
}

TEST_F(Serving, WhatIsNoRequestIsAnsweredOrCutOff) {
  const auto with = with_cookie();
  const auto cookie = with.find("Cookie")->second;
  const auto host = "Host: 127.0.0.1:" + std::to_string(port_) +
                    "\r\nOrigin: http://127.0.0.1:" + std::to_string(port_) + "\r\nCookie: " + cookie +
                    "\r\nContent-Type: application/json\r\n";
  const std::vector<std::string> requests = {
      "",
      "\r\n\r\n",
      std::string(100, '\0') + "\r\n\r\n",
      "GET\r\n\r\n",
      "GET / HTTP/9.9\r\n" + host + "\r\n",
      "\x16\x03\x01\x02\x00\x01\x00\x01\xfc\x03\x03 a TLS hello\r\n\r\n",
      "GET http://attacker.example/ HTTP/1.1\r\n" + host + "\r\n",
      "POST /api/undo HTTP/1.1\r\n" + host + "Content-Length: -1\r\n\r\n{}",
      "POST /api/undo HTTP/1.1\r\n" + host + "Content-Length: 99999999999999999999\r\n\r\n{}",
      "POST /api/undo HTTP/1.1\r\n" + host + "Content-Length: x\r\n\r\n{}",
      "POST /api/undo HTTP/1.1\r\n" + host + "Transfer-Encoding: chunked\r\n\r\nffffffffffffffff\r\n{}",
      "POST /api/undo HTTP/1.1\r\n" + host + "Transfer-Encoding: chunked\r\n\r\nzz\r\n{}\r\n0\r\n\r\n",
      "POST /api/undo HTTP/1.1\r\n" + host +
          "Transfer-Encoding: chunked\r\nContent-Length: 2\r\n\r\n2\r\n{}\r\n0\r\n\r\n",
      "POST /api/undo HTTP/1.1\r\n" + host + "Content-Encoding: gzip\r\nContent-Length: 2\r\n\r\n{}",
      "GET /" + std::string(9000, 'a') + " HTTP/1.1\r\n" + host + "\r\n",
      "GET / HTTP/1.1\r\n" + host + std::string(20000, 'b') + ": 1\r\n\r\n",
      "GET /?key=%zz%00%ff HTTP/1.1\r\n" + host + "\r\n",
      "GET / HTTP/1.1\r\nHost: attacker.example\r\n" + host + "\r\n",
      "GET / HTTP/1.1\r\nRange: bytes=0-,0-,0-,0-,0-,0-,0-,0-\r\n" + host + "\r\n",
  };
  for (const auto& request : requests) {
    const Socket socket(port_);
    socket.send(request);
    socket.finish();
    const auto answer = socket.rest();
    // Refused, cut off, or the page for what asks for it in an odd way; never the book.
    const bool refused = answer.empty() || answer.starts_with("HTTP/1.1 4");
    EXPECT_TRUE(refused || answer.ends_with("the page")) << request.substr(0, 80) << "\n" << answer.substr(0, 200);
  }
  // One connection carries one request: what follows a refused one is not taken for another.
  const Socket socket(port_);
  socket.send(
      "POST /api/undo HTTP/1.1\r\nHost: attacker.example\r\nContent-Length: 9\r\n\r\nGET /api/book HTTP/1.1\r\n" +
      host + "\r\n");
  const auto answer = socket.rest();
  EXPECT_THAT(answer, StartsWith("HTTP/1.1 421"));
  EXPECT_EQ(answer.find("HTTP/1.1 200"), std::string::npos);
  EXPECT_EQ(Json::parse(client().Get("/api/book", with)->body)["revision"], 1);
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
