#include "http/door.h"

#include <arpa/inet.h>
#include <netinet/in.h>
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
      if (!ready(POLLIN)) return -1;
      const auto got = ::recv(socket_, buffer_.data(), buffer_.size(), 0);
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
    while (ready(POLLOUT)) {
      const auto sent = ::send(socket_, from, count, MSG_NOSIGNAL | MSG_DONTWAIT);
      if (sent >= 0 || (errno != EAGAIN && errno != EINTR)) return sent;
    }
    return -1;
  }

  void get_remote_ip_and_port(std::string& ip, int& port) const override { name(::getpeername, ip, port); }
  void get_local_ip_and_port(std::string& ip, int& port) const override { name(::getsockname, ip, port); }
  [[nodiscard]] socket_t socket() const override { return socket_; }

 private:
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
    sockaddr_in address{};
    socklen_t length = sizeof address;
    std::array<char, INET_ADDRSTRLEN> text{};
    if (ask(socket_, reinterpret_cast<sockaddr*>(&address), &length) != 0) return;
    if (::inet_ntop(AF_INET, &address.sin_addr, text.data(), text.size()) != nullptr) ip = text.data();
    port = ntohs(address.sin_port);
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
