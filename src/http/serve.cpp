#include "http/serve.h"

#include <fmt/format.h>
#include <openssl/pem.h>
#include <pthread.h>

#include <csignal>
#include <memory>
#include <thread>

#include "http/door.h"
#include "http/guard.h"
#include "http/phone_guard.h"
#include "http/photo_upload.h"

namespace lathbook::http {
namespace {

Request read(const httplib::Request& from) {
  return {from.method,
          from.path,
          from.has_param("key") ? from.get_param_value("key") : "",
          from.get_header_value("Host"),
          from.get_header_value("Origin"),
          from.get_header_value("Cookie"),
          from.get_header_value("Content-Type"),
          from.body,
          from.get_header_value("Idempotency-Key"),
          from.get_header_value("Accept-Encoding"),
          from.get_header_value("If-None-Match")};
}

/// An answer may keep its own rule where it names a header that all carry.
/// Of a body it is handed whole, cpp-httplib makes the smallest it can (brotli at its slowest) while somebody waits:
/// 75 ms for the book of the demo, to save what costs nothing over loopback. So it is handed them piece by piece.
void write(Response&& from, httplib::Response& to) {
  to.status = from.status;
  for (const auto& [name, value] : from.headers) to.set_header(name.c_str(), value);
  for (const auto& [name, value] : common_headers()) {
    if (!to.has_header(name.c_str())) to.set_header(name.c_str(), value);
  }
  if (from.status != 200 || from.body.empty()) {
    to.set_content(std::move(from.body), from.content_type.c_str());
    return;
  }
  const auto body = std::make_shared<const std::string>(std::move(from.body));
  to.set_content_provider(body->size(), from.content_type.c_str(),
                          [body](std::size_t offset, std::size_t length, httplib::DataSink& to_browser) {
                            return to_browser.write(body->data() + offset, length);
                          });
}

/// Runs `stop` when the process is told to end. The signals are held back from every thread from here on and waited for
/// by one, so that nothing runs inside a signal handler.
class Ending {
 public:
  explicit Ending(std::function<void()> stop) {
    sigemptyset(&signals_);
    for (const int signal : {SIGINT, SIGTERM, SIGUSR1}) sigaddset(&signals_, signal);
    pthread_sigmask(SIG_BLOCK, &signals_, &before_);
    waiting_ = std::thread([this, stop = std::move(stop)] {
      int signal = 0;
      if (sigwait(&signals_, &signal) == 0 && signal != SIGUSR1) stop();
    });
  }
  ~Ending() {
    if (waiting_.joinable()) {
      pthread_kill(waiting_.native_handle(), SIGUSR1);  // our own word for: nothing more to wait for
      waiting_.join();
    }
    pthread_sigmask(SIG_SETMASK, &before_, nullptr);
  }
  Ending(const Ending&) = delete;
  Ending& operator=(const Ending&) = delete;

 private:
  sigset_t signals_{};
  sigset_t before_{};
  std::thread waiting_;
};

/// What every socket of this program does alike.
void set_up(httplib::Server& server) {
  server.set_payload_max_length(kLargestPhotoBody);
  server.set_tcp_nodelay(true);
  // The library's own choice would let a second program share the port, and each would get some of the requests.
  server.set_socket_options([](socket_t socket) {
    const int yes = 1;
    setsockopt(socket, SOL_SOCKET, SO_REUSEADDR, &yes, sizeof yes);
  });
  server.set_error_handler([](const httplib::Request&, httplib::Response& to) {
    if (!to.body.empty()) return;  // already said in our own words
    if (to.status == 413) {
      write(refusal(413, "is too large", fmt::format("at most {} bytes", kLargestPhotoBody)), to);
    } else {
      write(refusal(to.status, "is not a request this program understands", ""), to);
    }
  });
  server.set_exception_handler([](const httplib::Request&, httplib::Response& to, std::exception_ptr) {
    write(refusal(500, "a fault of the program itself, not yours", ""), to);
  });
}

/// Puts the screen of a guard before every request: the refusal, or nothing.
void screen_by(httplib::Server& server, std::function<std::optional<Response>(const httplib::Request&)> screen) {
  server.set_pre_routing_handler([screen = std::move(screen)](const httplib::Request& from, httplib::Response& to) {
    auto refused = screen(from);
    // The library would put any number of parts together, each as large as the whole.
    if (!refused && from.has_header("Range")) refused = refusal(416, "asks for a part", "the whole");
    if (!refused) return httplib::Server::HandlerResponse::Unhandled;
    write(std::move(*refused), to);
    return httplib::Server::HandlerResponse::Handled;
  });
}

reason::Fault taken(const char* option, int port) {
  return {option, fmt::format("{}", port), "cannot be listened on: another program has it",
          "a free port from 1024 to 65535, or none for any", reason::FaultKind::kFile};
}

/// The certificate and key on a connection; TLS 1.2 or later.
bool show(SSL_CTX& context, const phone::Identity& identity) {
  const auto read = [](const std::string& pem) { return BIO_new_mem_buf(pem.data(), static_cast<int>(pem.size())); };
  BIO* chain = read(identity.chain_pem);
  X509* own = PEM_read_bio_X509(chain, nullptr, nullptr, nullptr);
  X509* authority = PEM_read_bio_X509(chain, nullptr, nullptr, nullptr);
  BIO_free(chain);
  BIO* key_text = read(identity.key_pem);
  EVP_PKEY* key = PEM_read_bio_PrivateKey(key_text, nullptr, nullptr, nullptr);
  BIO_free(key_text);
  const bool done = SSL_CTX_set_min_proto_version(&context, TLS1_2_VERSION) == 1 &&
                    SSL_CTX_use_certificate(&context, own) == 1 && SSL_CTX_add1_chain_cert(&context, authority) == 1 &&
                    SSL_CTX_use_PrivateKey(&context, key) == 1 && SSL_CTX_check_private_key(&context) == 1;
  X509_free(own);
  X509_free(authority);
  EVP_PKEY_free(key);
  return done;
}

/// The sockets for phones: one an address, each with a thread of its own, all behind one guard.
class PhoneSockets {
 public:
  PhoneSockets(Site& site, const PhoneService& service)
      : site_(site), guard_(hosts_of(service), service.desk, service.pair_page, service.may_peer), port_(service.port) {
    for (const auto& address : service.addresses) {
      auto server = std::make_unique<TlsDoor>([&service](SSL_CTX& context) { return show(context, service.identity); });
      set_up(*server);
      screen_by(*server, [this](const httplib::Request& from) { return guard_.screen(read(from), from.remote_addr); });
      const auto answer = [this](const httplib::Request& from, httplib::Response& to) {
        auto request = read(from);
        request.by_phone = true;
        if (request.path == "/pair") {  // the form alone comes so far
          write(guard_.pair(from.get_param_value("code"), from.get_param_value("name")), to);
        } else {
          write(site_.answer(request), to);
        }
      };
      server->Get(".*", answer);
      server->Post(".*", answer);
      if (!server->is_valid() || !server->bind_to_port(address.c_str(), port_)) {
        bound_ = false;
        return;
      }
      server->widen();
      servers_.push_back(std::move(server));
    }
  }
  PhoneSockets(const PhoneSockets&) = delete;
  PhoneSockets& operator=(const PhoneSockets&) = delete;
  ~PhoneSockets() {
    for (auto& server : servers_) server->stop();
    for (auto& thread : threads_) thread.join();
  }

  [[nodiscard]] bool bound() const { return bound_; }
  void listen() {
    for (auto& server : servers_) {
      threads_.emplace_back([one = server.get()] { one->listen_after_bind(); });
      // One that is told to stop before it listens would not hear it.
      while (!server->is_running()) std::this_thread::yield();
    }
  }

 private:
  static std::vector<std::string> hosts_of(const PhoneService& service) {
    std::vector<std::string> hosts;
    for (const auto& address : service.addresses)
      hosts.push_back(fmt::format("{}:{}", phone::in_url(address), service.port));
    return hosts;
  }

  Site& site_;
  PhoneGuard guard_;
  int port_;
  bool bound_ = true;
  std::vector<std::unique_ptr<TlsDoor>> servers_;
  std::vector<std::thread> threads_;
};

}  // namespace

reason::Result<reason::Done> serve(Site& site, const ServeOptions& options) {
  Door server;
  set_up(server);
  constexpr const char* kLoopback = "127.0.0.1";
  int port = options.port;
  if (port == 0) {
    const bool usual = options.usual_port != 0 && server.bind_to_port(kLoopback, options.usual_port);
    port = usual ? options.usual_port : server.bind_to_any_port(kLoopback);
  } else if (!server.bind_to_port(kLoopback, port)) {
    port = -1;
  }
  if (port < 0) return taken("--port", options.port);
  server.widen();

  const Guard guard(port, fresh_secret(), fresh_secret());
  screen_by(server, [&](const httplib::Request& from) { return guard.screen(read(from)); });
  const auto answer = [&](const httplib::Request& from, httplib::Response& to) { write(site.answer(read(from)), to); };
  server.Get(".*", answer);
  server.Post(".*", answer);

  const Ending ending([&server] { server.stop(); });
  std::optional<PhoneSockets> phones;
  if (options.phones) {
    phones.emplace(site, *options.phones);
    if (!phones->bound()) return taken("--phone", options.phones->port);
    phones->listen();
  }
  if (options.ready)
    options.ready(fmt::format("http://{}:{}{}", kLoopback, port, guard.entrance()), [&server] { server.stop(); });
  server.listen_after_bind();
  return reason::Done{};
}

}  // namespace lathbook::http
