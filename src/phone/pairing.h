// The six digits that pair a phone: shown on the laptop, typed on the phone.
//
// A code lives five minutes and is good for one phone. Every wrong try doubles the time in which no further one is
// judged, from one second; after five wrong ones the code is dead. A new code is made only by the person at the laptop,
// so that a stranger on the network guesses five times in a million for each code the person asks for.
#pragma once

#include <chrono>
#include <optional>
#include <string>
#include <string_view>

namespace lathbook::phone {

class Pairing {
 public:
  using Time = std::chrono::steady_clock::time_point;

  static constexpr std::chrono::seconds kLife{300};
  static constexpr std::chrono::seconds kFirstWait{1};
  static constexpr int kTries = 5;

  /// A new code, from the operating system's random numbers; the one before is dead.
  std::string begin(Time now);

  struct Shown {
    std::string code;
    std::chrono::seconds left{};  ///< of its life
  };
  /// The code while it can still be used.
  [[nodiscard]] std::optional<Shown> shown(Time now) const;

  enum class Outcome {
    kPaired,  ///< the code is used up
    kWrong,   ///< counted
    kWait,    ///< too soon after a wrong one: neither judged nor counted
    kNoCode,  ///< there is none, or it is too old, used or dead
  };
  Outcome attempt(std::string_view code, Time now);

  /// Wrong tries at the last code.
  [[nodiscard]] int wrong() const { return wrong_; }

 private:
  [[nodiscard]] bool lives(Time now) const;

  std::string code_;  ///< empty = none
  Time made_;
  Time judged_again_;
  int wrong_ = 0;
};

}  // namespace lathbook::phone
