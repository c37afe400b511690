#include "http/reckon.h"

#include <fmt/format.h>

#include <algorithm>
#include <atomic>
#include <exception>
#include <nlohmann/json.hpp>
#include <utility>

#include "event/uncertain.h"
#include "service/event_answers.h"

namespace lathbook::http {
namespace {

constexpr std::size_t kKept = 8;          // a book has few events, and each is asked in a few ways
constexpr std::size_t kRoughDraws = 128;  // some 60 ms of one core in a house of twelve rooms
constexpr std::size_t kDraws = 16'384;

}  // namespace

struct Reckoner::Run {
  std::int64_t number = 0;
  std::shared_ptr<const book::Book> book;
  std::string event;
  std::string question;
  std::atomic<bool> cancel{false};
  std::atomic<double> share_done{0};
  // Under the mutex:
  State state = State::kRunning;
  std::shared_ptr<const std::string> answer;
  reason::Faults faults;
};

Reckoner::Reckoner(unsigned workers) : workers_(workers), thread_([this] { work(); }) {}

Reckoner::~Reckoner() {
  {
    const std::lock_guard lock(mutex_);
    ending_ = true;
    if (now_) now_->cancel = true;
  }
  wake_.notify_all();
  thread_.join();
}

std::int64_t Reckoner::start(std::shared_ptr<const book::Book> book, std::string event, std::string question) {
  const std::lock_guard lock(mutex_);
  const auto running = [](const std::shared_ptr<Run>& run) { return run && run->state == State::kRunning; };
  for (const auto& same : {next_, now_}) {
    if (running(same) && same->question == question && !same->cancel) return same->number;
  }
  const auto known =
      std::find_if(kept_.begin(), kept_.end(), [&](const auto& one) { return one->question == question; });
  if (known != kept_.end()) {
    if (running(now_)) now_->cancel = true;  // nobody waits for it any more
    return (*known)->number;
  }
  auto run = std::make_shared<Run>();
  run->number = ++last_;
  run->book = std::move(book);
  run->event = std::move(event);
  run->question = std::move(question);
  if (running(now_)) now_->cancel = true;
  if (next_) next_->state = State::kReplaced;
  next_ = run;
  wake_.notify_all();
  return run->number;
}

std::optional<Reckoner::Look> Reckoner::look(std::int64_t run) const {
  const std::lock_guard lock(mutex_);
  if (run < 1 || run > last_) return std::nullopt;
  const auto told = [](const Run& one) { return Look{one.state, one.share_done, one.answer, one.faults}; };
  for (const auto& one : {next_, now_}) {
    if (one && one->number == run) return told(*one);
  }
  for (const auto& one : kept_) {
    if (one->number == run) return told(*one);
  }
  return Look{State::kReplaced, 0, nullptr, {}};
}

bool Reckoner::stop(std::int64_t run) {
  const std::lock_guard lock(mutex_);
  if (next_ && next_->number == run) {
    next_->state = State::kStopped;
    now_ = std::exchange(next_, nullptr);
    return true;
  }
  if (!now_ || now_->number != run || now_->state != State::kRunning) return false;
  now_->cancel = true;
  return true;
}

reason::Result<std::string> Reckoner::rough(const book::Book& book, const std::string& event) const {
  event::Settings settings;
  settings.draws = kRoughDraws;
  settings.fewest = kRoughDraws;
  settings.workers = workers_;
  settings.changes = false;
  auto answer = service::event_json(book, event, settings);
  if (!answer.ok()) return answer.faults();
  return answer->dump();
}

void Reckoner::work() {
  std::unique_lock lock(mutex_);
  for (;;) {
    wake_.wait(lock, [&] { return ending_ || next_; });
    if (ending_) return;
    now_ = std::exchange(next_, nullptr);
    const auto run = now_;
    lock.unlock();
    event::Settings settings;
    settings.draws = kDraws;
    settings.workers = workers_;
    settings.cancel = &run->cancel;
    settings.progress = [&run](double share) { run->share_done = std::max(share, run->share_done.load()); };
    // Whatever goes wrong here belongs to this question; the server goes on.
    const auto drawn = [&]() -> reason::Result<nlohmann::json> {
      try {
        return service::event_json(*run->book, run->event, settings);
      } catch (const std::exception& broken) {
        return reason::Fault{"", run->event, fmt::format("cannot be worked out: {}", broken.what()), "",
                             reason::FaultKind::kFile};
      }
    };
    auto answer = drawn();
    lock.lock();
    const bool stopped = run->cancel;
    if (answer.ok()) {
      run->answer = std::make_shared<const std::string>(answer->dump());
    } else if (!stopped) {
      run->faults = answer.faults();
    }
    run->state = stopped ? State::kStopped : answer.ok() ? State::kDone : State::kRefused;
    run->book.reset();
    if (run->state == State::kDone) {
      kept_.push_back(run);
      if (kept_.size() > kKept) kept_.pop_front();
    }
  }
}

}  // namespace lathbook::http
