// Works events out aside from the requests, so that nothing waits for thousands of draws.
//
// One event at a time, on a thread of its own that hands the draws to `workers` threads. A new one takes the place of
// the one before, which is stopped. What was worked out last is kept, and the same question is answered from it.
#pragma once

#include <condition_variable>
#include <cstdint>
#include <deque>
#include <memory>
#include <mutex>
#include <optional>
#include <string>
#include <thread>

#include "book/book.h"
#include "reason/fault.h"

namespace lathbook::http {

class Reckoner {
 public:
  /// `workers` is at least 1.
  explicit Reckoner(unsigned workers);
  ~Reckoner();  ///< stops what runs, and waits for it
  Reckoner(const Reckoner&) = delete;
  Reckoner& operator=(const Reckoner&) = delete;

  /// Begins with `event` of `book` and answers its number. `question` tells one question from another: under one that
  /// is kept, nothing is drawn again.
  [[nodiscard]] std::int64_t start(std::shared_ptr<const book::Book> book, std::string event, std::string question);

  enum class State { kRunning, kDone, kStopped, kReplaced, kRefused };
  struct Look {
    State state = State::kRunning;
    double share_done = 0;                      ///< of the draws allowed; fewer may do
    std::shared_ptr<const std::string> answer;  ///< as event_json, when done, or stopped with some draws in hand
    reason::Faults faults;                      ///< when refused
  };
  /// How a run stands; empty for a number never given out.
  [[nodiscard]] std::optional<Look> look(std::int64_t run) const;
  /// Asks the run to end early. False when it is not the one that runs.
  bool stop(std::int64_t run);

  /// The same from a few draws, at once and on the caller's thread: for sliders. Its `error` tells how rough it is.
  [[nodiscard]] reason::Result<std::string> rough(const book::Book& book, const std::string& event) const;

 private:
  struct Run;
  void work();

  const unsigned workers_;
  mutable std::mutex mutex_;
  std::condition_variable wake_;
  std::int64_t last_ = 0;
  std::shared_ptr<Run> now_;               ///< running, or the last to have run
  std::shared_ptr<Run> next_;              ///< waits for the one before it to stop
  std::deque<std::shared_ptr<Run>> kept_;  ///< finished, latest last
  bool ending_ = false;
  std::thread thread_;
};

}  // namespace lathbook::http
