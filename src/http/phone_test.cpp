// The door for phones: who is let in, over real sockets and TLS where that is what could go wrong.
#include <arpa/inet.h>
#include <fmt/format.h>
#include <gmock/gmock.h>
#include <gtest/gtest.h>
#include <httplib.h>
#include <openssl/ssl.h>
#include <unistd.h>

#include <array>
#include <atomic>
#include <filesystem>
#include <future>
#include <nlohmann/json.hpp>
#include <thread>

#include "http/door.h"
#include "http/phone_guard.h"
#include "http/serve.h"
#include "http/testing.h"

namespace lathbook::http {
namespace {

using phone::Pairing;
using service::Json;
using ::testing::HasSubstr;
using ::testing::Not;
using ::testing::StartsWith;

constexpr const char* kHost = "192.168.1.5:23456";
constexpr const char* kPeer = "192.168.1.77";

class PhoneGuardTest : public ::testing::Test {
 protected:
  PhoneGuardTest()
      : desk_(std::make_shared<PhoneDesk>(
            phone::Devices(folder_ / "phone"), "https://192.168.1.5:23456", phone::Identity{},
            PhoneDesk::Clock{[this] { return now_; }, [] { return std::string("2026-11-25"); }})),
        guard_({kHost}, desk_, "<p>{said}</p>", &phone::is_private) {}

  static Request request(const std::string& method, const std::string& path, const std::string& cookie = "") {
    Request one;
    one.method = method;
    one.path = path;
    one.host = kHost;
    one.cookie = cookie;
    if (method == "POST") {
      one.origin = std::string("https://") + kHost;
      one.content_type = "application/json";
    }
    return one;
  }
  /// The status a request is answered with by the guard; 0 = it may pass.
  [[nodiscard]] int status(const Request& one, const std::string& peer = kPeer) const {
    const auto refused = guard_.screen(one, peer);
    return refused ? refused->status : 0;
  }
  /// Pairs a phone; its cookie.
  std::string paired() {
    const auto code = (*desk_->new_code())["code"].get<std::string>();
    const auto answer = guard_.pair(code, "Loft phone");
    EXPECT_EQ(answer.status, 303);
    for (const auto& [name, value] : answer.headers) {
      if (name == "Set-Cookie") return value.substr(0, value.find(';'));
    }
    return "";
  }

  store::testing::Folder folder_;
  Pairing::Time now_ = Pairing::Time{} + std::chrono::hours(1000);
  std::shared_ptr<PhoneDesk> desk_;
  PhoneGuard guard_;
};

TEST_F(PhoneGuardTest, APeerFromElsewhereIsRefusedWhateverItHolds) {
  const auto cookie = paired();
  EXPECT_EQ(status(request("GET", "/api/book", cookie)), 0);
  for (const char* peer : {"8.8.8.8", "2001:db8::1", "127.0.0.1", "::1", "192.0.2.7", ""}) {
    EXPECT_EQ(status(request("GET", "/api/book", cookie), peer), 403) << peer;
    EXPECT_EQ(status(request("GET", "/pair"), peer), 403) << peer;
  }
  EXPECT_EQ(status(request("GET", "/api/book", cookie), "fd00::7"), 0);
}

TEST_F(PhoneGuardTest, WithoutATokenThereIsThePairingPageAndNothingElse) {
  EXPECT_EQ(guard_.screen(request("GET", "/"), kPeer)->headers.front().second, "/pair");
  EXPECT_EQ(status(request("GET", "/pair")), 200);
  EXPECT_EQ(status(request("GET", "/manifest.webmanifest")), 0);
  for (const char* path : {"/api/book", "/api/phone", "/page.js", "/sw.js", "/index.html"}) {
    EXPECT_EQ(status(request("GET", path)), 401) << path;
    EXPECT_EQ(status(request("GET", path, "__Host-lathbook=")), 401) << path;
    EXPECT_EQ(status(request("GET", path, "__Host-lathbook=" + std::string(64, '0'))), 401) << path;
  }
  EXPECT_EQ(status(request("POST", "/api/set")), 401);
  EXPECT_EQ(status(request("DELETE", "/api/book")), 405);
}

TEST_F(PhoneGuardTest, HostAndOriginAreLookedAtWithTheTokenToo) {
  const auto cookie = paired();
  auto rebound = request("GET", "/api/book", cookie);
  rebound.host = "attacker.example:23456";
  EXPECT_EQ(status(rebound), 421);
  auto cross = request("POST", "/api/set", cookie);
  EXPECT_EQ(status(cross), 0);
  for (const char* origin : {"https://attacker.example", "http://192.168.1.5:23456", "null", ""}) {
    cross.origin = origin;
    EXPECT_EQ(status(cross), 403) << origin;
  }
  auto form = request("POST", "/api/set", cookie);
  form.content_type = "text/plain";
  EXPECT_EQ(status(form), 415);
}

TEST_F(PhoneGuardTest, TheCookieIsForThisHostOverTlsAlone) {
  const auto code = (*desk_->new_code())["code"].get<std::string>();
  const auto answer = guard_.pair(code, "");
  const auto cookie = answer.headers.at(1).second;
  for (const char* part : {"__Host-lathbook=", "Secure", "HttpOnly", "SameSite=Strict", "Path=/"})
    EXPECT_THAT(cookie, HasSubstr(part));
  EXPECT_THAT(cookie, Not(HasSubstr("Domain")));
}

TEST_F(PhoneGuardTest, ARevokedTokenSentAgainIsRefusedAtOnce) {
  const auto first = paired();
  const auto second = paired();
  EXPECT_EQ(status(request("GET", "/api/book", first)), 0);
  const auto left = desk_->revoke("P1");
  ASSERT_TRUE(left.ok());
  EXPECT_EQ((*left)["phones"].size(), 1U);
  EXPECT_EQ(status(request("GET", "/api/book", first)), 401);
  EXPECT_EQ(status(request("POST", "/api/set", first)), 401);
  EXPECT_EQ(status(request("GET", "/api/book", second)), 0);
}

TEST_F(PhoneGuardTest, WhatComesOfACodeIsSaid) {
  EXPECT_THAT(guard_.pair("123456", "").body, HasSubstr("No code is good"));
  const auto code = (*desk_->new_code())["code"].get<std::string>();
  EXPECT_EQ(guard_.pair(code == "000000" ? "000001" : "000000", "").status, 403);
  const auto soon = guard_.pair(code, "");
  EXPECT_EQ(soon.status, 429);
  EXPECT_EQ(soon.headers.back().first, "Retry-After");
  now_ += std::chrono::seconds(2);
  EXPECT_EQ(guard_.pair(code, "").status, 303);
  EXPECT_EQ((*desk_->state())["phones"][0]["name"], "A phone");
  EXPECT_FALSE(desk_->state()->contains("code"));
}

// ---- over sockets ---------------------------------------------------------------------------------------------------

class PhoneServing : public testing::DemoSite {
 protected:
  void SetUp() override {
    // Loopback stands in for a private address: nothing else can be counted on where tests run.
    auto identity = phone::identity_for(folder_ / "phone", {kAddress}, std::time(nullptr));
    ASSERT_TRUE(identity.ok());
    desk_ = std::make_shared<PhoneDesk>(
        phone::Devices(folder_ / "phone"), "https://" + std::string(kAddress), *identity,
        PhoneDesk::Clock{[this] { return Pairing::Time{} + std::chrono::seconds(100'000 + seconds_.load()); },
                         [] { return std::string("2026-11-25"); }});
    port_ = free_port();
    PhoneService phones{{kAddress}, port_,           *identity,
                        desk_,      "<p>{said}</p>", [this](std::string_view) { return may_peer_.load(); }};
    std::promise<std::string> ready;
    auto address = ready.get_future();
    server_ = std::thread([this, &ready, phones = std::move(phones)] {
      ServeOptions options;
      options.ready = [&](const std::string& at, std::function<void()> stop) {
        stop_ = std::move(stop);
        ready.set_value(at);
      };
      options.phones = phones;
      const auto done = serve(*site_, options);
      if (!done.ok()) ready.set_exception(std::make_exception_ptr(std::runtime_error(done.faults().front().text())));
    });
    loopback_ = address.get();
  }
  void TearDown() override {
    // Told to stop before it listens it would not hear it.
    while (!httplib::Client(loopback_.substr(0, loopback_.find("/?"))).Get("/")) std::this_thread::yield();
    if (stop_) stop_();
    if (server_.joinable()) server_.join();
  }
  static int free_port() {
    const int one = ::socket(AF_INET, SOCK_STREAM, 0);
    sockaddr_in at{};
    at.sin_family = AF_INET;
    ::inet_pton(AF_INET, kAddress, &at.sin_addr);
    socklen_t size = sizeof at;
    EXPECT_EQ(::bind(one, reinterpret_cast<sockaddr*>(&at), size), 0);
    EXPECT_EQ(::getsockname(one, reinterpret_cast<sockaddr*>(&at), &size), 0);
    ::close(one);
    return ntohs(at.sin_port);
  }

  [[nodiscard]] std::string host() const { return std::string(kAddress) + ":" + std::to_string(port_); }
  [[nodiscard]] std::unique_ptr<httplib::SSLClient> phone() const {
    auto client = std::make_unique<httplib::SSLClient>(kAddress, port_);
    client->enable_server_certificate_verification(false);
    return client;
  }
  [[nodiscard]] httplib::Headers origin() const { return {{"Origin", "https://" + host()}}; }
  [[nodiscard]] int pair(const std::string& code) const {
    const auto answer = phone()->Post("/pair", origin(), httplib::Params{{"code", code}, {"name", "Phone"}});
    return answer ? answer->status : 0;
  }
  /// The headers of a phone that was paired.
  [[nodiscard]] httplib::Headers paired() {
    const auto code = (*desk_->new_code())["code"].get<std::string>();
    const auto answer = phone()->Post("/pair", origin(), httplib::Params{{"code", code}, {"name", "Phone"}});
    EXPECT_EQ(answer->status, 303);
    const auto cookie = answer->get_header_value("Set-Cookie");
    auto headers = origin();
    headers.emplace("Cookie", cookie.substr(0, cookie.find(';')));
    return headers;
  }

  static constexpr const char* kAddress = "127.0.0.2";
  store::testing::Folder folder_;
  std::shared_ptr<PhoneDesk> desk_;
  std::atomic<int> seconds_ = 0;
  std::atomic<bool> may_peer_ = true;
  std::thread server_;
  std::function<void()> stop_;
  std::string loopback_;
  int port_ = 0;
};

TEST_F(PhoneServing, APairedPhoneReadsAndWritesTheBookOverTls) {
  EXPECT_EQ(phone()->Get("/api/book")->status, 401);
  const auto with = paired();
  const auto book = phone()->Get("/api/book", with);
  EXPECT_EQ(book->status, 200);
  EXPECT_THAT(book->get_header_value("Content-Security-Policy"), HasSubstr("frame-ancestors 'none'"));
  const Json body = {{"revision", 1}, {"what", "M2"}, {"typed", {"damage=high"}}};
  EXPECT_EQ(phone()->Post("/api/set", with, body.dump(), "application/json")->status, 200);
}

TEST_F(PhoneServing, PlainHttpOnThatPortIsNotAnswered) {
  httplib::Client plain(kAddress, port_);
  plain.set_read_timeout(3, 0);
  const auto answer = plain.Get("/pair");
  EXPECT_FALSE(answer) << answer->status << answer->body;
}

TEST_F(PhoneServing, OldTlsIsNotSpoken) {
  const auto client = phone();
  SSL_CTX_set_min_proto_version(client->ssl_context(), TLS1_VERSION);
  SSL_CTX_set_max_proto_version(client->ssl_context(), TLS1_1_VERSION);
  EXPECT_FALSE(client->Get("/pair"));
  EXPECT_EQ(phone()->Get("/pair")->status, 200);
}

TEST_F(PhoneServing, TheCertificateIsTheOneWhoseFingerprintIsShown) {
  const auto authority = phone()->Get("/authority.crt");
  EXPECT_EQ(authority->get_header_value("Content-Type"), "application/x-x509-ca-cert");
  const auto* bytes = reinterpret_cast<const unsigned char*>(authority->body.data());
  X509* root = d2i_X509(nullptr, &bytes, static_cast<long>(authority->body.size()));
  ASSERT_NE(root, nullptr);
  SSL_CTX* context = SSL_CTX_new(TLS_client_method());
  X509_STORE_add_cert(SSL_CTX_get_cert_store(context), root);
  BIO* link = BIO_new_ssl_connect(context);
  BIO_set_conn_hostname(link, host().c_str());
  ASSERT_EQ(BIO_do_connect(link), 1);
  ASSERT_EQ(BIO_do_handshake(link), 1);
  SSL* connection = nullptr;
  BIO_get_ssl(link, &connection);
  X509* shown = SSL_get1_peer_certificate(connection);
  std::array<unsigned char, 32> digest{};
  X509_digest(shown, EVP_sha256(), digest.data(), nullptr);
  std::string fingerprint;
  for (const auto byte : digest) fingerprint += fmt::format("{}{:02X}", fingerprint.empty() ? "" : ":", byte);
  EXPECT_EQ((*desk_->state())["fingerprint"], fingerprint);
  // The chain is whole, and is refused for one reason: loopback is no address this authority may vouch for.
  EXPECT_EQ(SSL_get_verify_result(connection), X509_V_ERR_PERMITTED_VIOLATION);
  X509_free(shown);
  X509_free(root);
  BIO_free_all(link);
  SSL_CTX_free(context);
}

TEST_F(PhoneServing, APeerThatMayNotSpeakIsToldNothing) {
  const auto with = paired();
  may_peer_ = false;
  for (const char* path : {"/pair", "/", "/api/book", "/authority.crt"}) {
    EXPECT_EQ(phone()->Get(path, with)->status, 403) << path;
  }
}

TEST_F(PhoneServing, WhoConnectsAndSaysNothingKeepsNobodyWaiting) {
  std::vector<int> silent;
  sockaddr_in at{};
  at.sin_family = AF_INET;
  at.sin_port = htons(static_cast<std::uint16_t>(port_));
  ::inet_pton(AF_INET, kAddress, &at.sin_addr);
  for (int i = 0; i < 300; ++i) {
    silent.push_back(::socket(AF_INET, SOCK_STREAM, 0));
    ASSERT_EQ(::connect(silent.back(), reinterpret_cast<const sockaddr*>(&at), sizeof at), 0);
  }
  const auto began = std::chrono::steady_clock::now();
  EXPECT_EQ(phone()->Get("/pair")->status, 200);
  EXPECT_LT(std::chrono::steady_clock::now() - began, std::chrono::seconds(kSecondsForHead));
  for (const int one : silent) ::close(one);
}

// Eight at a time, as fast as they can: five guesses are judged, then the code is dead, the right one too.
TEST_F(PhoneServing, BruteForceIsLockedOut) {
  const auto code = (*desk_->new_code())["code"].get<std::string>();
  std::atomic<int> in = 0;
  std::vector<std::thread> attackers;
  for (int i = 0; i < 8; ++i) {
    attackers.emplace_back([&, i] {
      for (int n = 0; n < 25; ++n) {
        const auto guess = fmt::format("{:06}", (i * 100'000 + n * 37) % 1'000'000);
        if (guess != code && pair(guess) == 303) ++in;
        seconds_ += 1;  // time goes on between them, so that some are judged
      }
    });
  }
  for (auto& attacker : attackers) attacker.join();
  EXPECT_EQ(in, 0);
  EXPECT_EQ((*desk_->state())["wrong"], Pairing::kTries);
  EXPECT_EQ(pair(code), 403);
  EXPECT_TRUE((*desk_->state())["phones"].empty());
}

TEST_F(PhoneServing, AReplayedTokenIsRefusedOnceRevoked) {
  const auto with = paired();
  EXPECT_EQ(phone()->Get("/api/book", with)->status, 200);
  ASSERT_TRUE(phone::Devices(folder_ / "phone").revoke("P1").ok());  // by the command, while the program runs
  EXPECT_EQ(phone()->Get("/api/book", with)->status, 401);
}

TEST_F(PhoneServing, WhoIsLetInIsForTheLaptopToSay) {
  const auto with = paired();
  EXPECT_EQ(phone()->Get("/api/phone", with)->status, 403);
  EXPECT_EQ(phone()->Post("/api/pairing", with, "{}", "application/json")->status, 403);
  EXPECT_EQ(phone()->Post("/api/unpair", with, R"({"id":"P1"})", "application/json")->status, 403);
  EXPECT_EQ(phone()->Get("/api/book", with)->status, 200);
}

TEST_F(PhoneServing, TheLaptopsOwnDoorIsAsItWas) {
  EXPECT_THAT(loopback_, StartsWith("http://127.0.0.1:"));
  const auto origin = loopback_.substr(0, loopback_.find("/?"));
  EXPECT_EQ(httplib::Client(origin).Get("/pair")->status, 401);
  auto with = paired();
  with.erase("Origin");
  EXPECT_EQ(httplib::Client(origin).Get("/api/book", with)->status, 401);  // a phone's token opens nothing here
}

}  // namespace
}  // namespace lathbook::http
