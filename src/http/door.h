// The page's sockets: cpp-httplib's server, with limits on what one connection may hold up.
//
// A library's timeout starts anew with each byte, and its threads are counted: a few dozen connections that send a byte
// now and then would keep everybody else waiting, and a line without an end would fill the memory. Here a request's
// head must be there within kSecondsForHead and kMostHeadBytes, its body and the taking of the answer have an end as
// well, and each connection has a thread of its own, up to kMostConnections; beyond these, a new one waits for one that
// ends.
#pragma once

#include <httplib.h>

#include <condition_variable>
#include <deque>
#include <functional>
#include <mutex>

namespace lathbook::http {

inline constexpr int kSecondsForHead = 5;
inline constexpr std::size_t kMostHeadBytes = 32U << 10U;
inline constexpr int kSecondsForBody = 60;
inline constexpr int kSecondsToTake = 60;
inline constexpr int kMostConnections = 1000;

class Door : public httplib::Server {
 public:
  Door();

  /// Once bound: lets more connections wait to be taken than the library does.
  void widen();

 private:
  /// One request a connection, so that the unread body of a refused one is never taken for the next.
  bool process_and_close_socket(socket_t socket) override;
};

/// The same behind TLS, for connections from other machines: the handshake has to be over with the head.
class TlsDoor : public Door {
 public:
  /// `show` puts certificate and key into the context; false = they do not fit, and the door is not valid.
  explicit TlsDoor(const std::function<bool(SSL_CTX&)>& show);
  TlsDoor(const TlsDoor&) = delete;
  TlsDoor& operator=(const TlsDoor&) = delete;
  ~TlsDoor() override;
  [[nodiscard]] bool is_valid() const override { return valid_; }

 private:
  bool process_and_close_socket(socket_t socket) override;

  SSL_CTX* context_;
  bool valid_;
};

/// Threads as they are needed: one that is idle takes the next task, else a new one does. All have ended after
/// shutdown().
class Crew : public httplib::TaskQueue {
 public:
  explicit Crew(int most);
  void enqueue(std::function<void()> task) override;
  void shutdown() override;

 private:
  void work();
  const int most_;
  std::mutex mutex_;
  std::condition_variable changed_;  ///< a task, or the end
  std::condition_variable ended_;    ///< a thread
  std::deque<std::function<void()>> tasks_;
  int threads_ = 0;
  int idle_ = 0;
  bool ending_ = false;
};

}  // namespace lathbook::http
