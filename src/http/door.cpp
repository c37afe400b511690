#include "http/door.h"

#include <arpa/inet.h>
#include <fcntl.h>
#include <netinet/in.h>
#include <openssl/err.h>
#include <openssl/ssl.h>
#include <poll.h>
#include <sys/socket.h>
#include <unistd.h>

#include <algorithm>
#include <array>
#include <cerrno>
#include <chrono>
#include <string_view>
#include <system_error>
#include <thread>

#include "http/peer.h"

namespace lathbook::http {
namespace {

using Clock = std::chrono::steady_clock;

/// A connection that must get on: head, body and answer each have their time.
class Line : public httplib::Stream {
 public:
  explicit Line(int socket) : socket_(socket) {}

  [[nodiscard]] bool is_readable() const override { return at_ < there_ || ready(POLLIN); }
  [[nodiscard]] bool is_writable() const override { return ready(POLLOUT); }

  ssize_t read(char* into, std::size_t most) override {
    if (at_ == there_) {
      const auto got = receive(buffer_.data(), buffer_.size());
      if (got <= 0) return got;
      at_ = 0;
      there_ = static_cast<std::size_t>(got);
    }
    const auto count = std::min(most, there_ - at_);
    std::copy_n(buffer_.begin() + static_cast<std::ptrdiff_t>(at_), count, into);
    at_ += count;
    return in_head_ && !note_head({into, count}) ? -1 : static_cast<ssize_t>(count);
  }

  ssize_t write(const char* from, std::size_t count) override {
    if (!answering_) {
      answering_ = true;
      until_ = Clock::now() + std::chrono::seconds(kSecondsToTake);
    }
    return send(from, count);
  }

  void get_remote_ip_and_port(std::string& ip, int& port) const override { name(::getpeername, ip, port); }
  void get_local_ip_and_port(std::string& ip, int& port) const override { name(::getsockname, ip, port); }
  [[nodiscard]] socket_t socket() const override { return socket_; }

 protected:
  [[nodiscard]] virtual ssize_t receive(char* into, std::size_t most) {
    return ready(POLLIN) ? ::recv(socket_, into, most, 0) : -1;
  }
  [[nodiscard]] virtual ssize_t send(const char* from, std::size_t count) {
    while (ready(POLLOUT)) {
      const auto sent = ::send(socket_, from, count, MSG_NOSIGNAL | MSG_DONTWAIT);
      if (sent >= 0 || (errno != EAGAIN && errno != EINTR)) return sent;
    }
    return -1;
  }

  /// Waits until the socket is, or time is up.
  [[nodiscard]] bool ready(short what) const {
    while (true) {
      const auto left = std::chrono::duration_cast<std::chrono::milliseconds>(until_ - Clock::now()).count();
      if (left <= 0) return false;
      pollfd one{socket_, what, 0};
      const int count = ::poll(&one, 1, static_cast<int>(left));
      if (count > 0) return true;
      if (count == 0 || errno != EINTR) return false;
    }
  }

 private:
  /// Counts the head and sees its end, an empty line; false when there is too much of it.
  bool note_head(std::string_view bytes) {
    for (const char byte : bytes) {
      if (byte == '\n') {
        if (line_bytes_ == 0) {
          in_head_ = false;
          until_ = Clock::now() + std::chrono::seconds(kSecondsForBody);
          return true;
        }
        line_bytes_ = 0;
      } else if (byte != '\r') {
        ++line_bytes_;
      }
      if (++head_bytes_ > kMostHeadBytes) return false;
    }
    return true;
  }

  template <class Ask>
  void name(Ask ask, std::string& ip, int& port) const {
    sockaddr_storage address{};
    socklen_t length = sizeof address;
    if (ask(socket_, reinterpret_cast<sockaddr*>(&address), &length) != 0) return;
    const auto* four = reinterpret_cast<const sockaddr_in*>(&address);
    const auto* six = reinterpret_cast<const sockaddr_in6*>(&address);
    const bool is_six = address.ss_family == AF_INET6;
    std::array<char, INET6_ADDRSTRLEN> text{};
    const void* raw = is_six ? static_cast<const void*>(&six->sin6_addr) : &four->sin_addr;
    if (::inet_ntop(address.ss_family, raw, text.data(), text.size()) != nullptr) ip = text.data();
    port = ntohs(is_six ? six->sin6_port : four->sin_port);
  }

  int socket_;
  Clock::time_point until_ = Clock::now() + std::chrono::seconds(kSecondsForHead);
  std::array<char, 4096> buffer_{};
  std::size_t at_ = 0;
  std::size_t there_ = 0;
  bool in_head_ = true;
  bool answering_ = false;
  std::size_t head_bytes_ = 0;
  std::size_t line_bytes_ = 0;
};

/// A connection behind TLS; its socket does not wait, so that the limits of a Line hold for every step.
class TlsLine : public Line {
 public:
  TlsLine(int socket, SSL* tls) : Line(socket), tls_(tls) {}

  [[nodiscard]] bool shake_hands() {
    return until_done([this] { return SSL_accept(tls_); }) == 1;
  }
  [[nodiscard]] bool is_readable() const override { return SSL_pending(tls_) > 0 || Line::is_readable(); }

 protected:
  [[nodiscard]] ssize_t receive(char* into, std::size_t most) override {
    return until_done([&] { return SSL_read(tls_, into, static_cast<int>(most)); });
  }
  [[nodiscard]] ssize_t send(const char* from, std::size_t count) override {
    return until_done([&] { return SSL_write(tls_, from, static_cast<int>(std::min<std::size_t>(count, 1U << 20U))); });
  }

 private:
  /// What a step came to once the socket let it be done; 0 = the other end closed, -1 = failed or out of time.
  template <class Step>
  int until_done(const Step& step) {
    while (true) {
      ERR_clear_error();
      const int done = step();
      if (done > 0) return done;
      const int why = SSL_get_error(tls_, done);
      if (why == SSL_ERROR_ZERO_RETURN) return 0;
      const bool wants = why == SSL_ERROR_WANT_READ || why == SSL_ERROR_WANT_WRITE;
      if (!wants || !ready(why == SSL_ERROR_WANT_READ ? POLLIN : POLLOUT)) return -1;
    }
  }

  SSL* tls_;
};

constexpr std::string_view kOtherUser =
    "HTTP/1.1 403 Forbidden\r\nContent-Type: text/plain\r\nConnection: close\r\n\r\n"
    "This book is served to the user who opened it, and to nobody else on this machine.\n";

}  // namespace

Door::Door() {
  new_task_queue = [] { return new Crew(kMostConnections); };
}

void Door::widen() { ::listen(svr_sock_, kMostConnections); }

bool Door::process_and_close_socket(socket_t socket) {
  Line line(socket);
  bool closed = false;
  bool answered = false;
  if (speaker_at(socket) != Speaker::kOthers) {
    answered = process_request(line, true, closed, nullptr);
  } else {
    line.write(kOtherUser.data(), kOtherUser.size());
  }
  ::shutdown(socket, SHUT_RDWR);
  ::close(socket);
  return answered;
}

TlsDoor::TlsDoor(const std::function<bool(SSL_CTX&)>& show)
    : context_(SSL_CTX_new(TLS_server_method())), valid_(context_ != nullptr && show(*context_)) {
  if (!valid_) return;
  SSL_CTX_set_mode(context_, SSL_MODE_ENABLE_PARTIAL_WRITE | SSL_MODE_ACCEPT_MOVING_WRITE_BUFFER);
}

TlsDoor::~TlsDoor() { SSL_CTX_free(context_); }

bool TlsDoor::process_and_close_socket(socket_t socket) {
  ::fcntl(socket, F_SETFL, ::fcntl(socket, F_GETFL) | O_NONBLOCK);
  SSL* tls = SSL_new(context_);
  bool answered = false;
  if (tls != nullptr && SSL_set_fd(tls, socket) == 1) {
    TlsLine line(socket, tls);
    bool closed = false;
    if (line.shake_hands()) {
      answered = process_request(line, true, closed, nullptr);
      SSL_shutdown(tls);
    }
  }
  SSL_free(tls);
  ::shutdown(socket, SHUT_RDWR);
  ::close(socket);
  return answered;
}

Crew::Crew(int most) : most_(most) {}

void Crew::enqueue(std::function<void()> task) {
  const std::lock_guard lock(mutex_);
  tasks_.push_back(std::move(task));
  changed_.notify_one();
  if (static_cast<std::size_t>(idle_) >= tasks_.size() || threads_ == most_) return;
  try {
    std::thread([this] { work(); }).detach();
    ++threads_;
  } catch (const std::system_error&) {
    // No more to be had: the task waits for one of those at work.
    if (threads_ == 0) throw;
  }
}

void Crew::work() {
  constexpr auto kPatience = std::chrono::seconds(20);
  std::unique_lock lock(mutex_);
  while (true) {
    ++idle_;
    const bool woken = changed_.wait_for(lock, kPatience, [this] { return !tasks_.empty() || ending_; });
    --idle_;
    if (!woken || tasks_.empty()) break;
    const auto task = std::move(tasks_.front());
    tasks_.pop_front();
    lock.unlock();
    task();
    lock.lock();
  }
  --threads_;
  ended_.notify_all();
}

void Crew::shutdown() {
  std::unique_lock lock(mutex_);
  ending_ = true;
  changed_.notify_all();
  ended_.wait(lock, [this] { return threads_ == 0; });
}

}  // namespace lathbook::http
