#include "phone/pairing.h"

#include <fmt/format.h>
#include <sodium.h>

#include <stdexcept>

namespace lathbook::phone {

std::string Pairing::begin(Time now) {
  if (sodium_init() < 0) throw std::runtime_error("the operating system gives no random numbers");
  code_ = fmt::format("{:06}", randombytes_uniform(1'000'000));
  made_ = now;
  judged_again_ = now;
  wrong_ = 0;
  return code_;
}

bool Pairing::lives(Time now) const { return !code_.empty() && wrong_ < kTries && now - made_ < kLife; }

std::optional<Pairing::Shown> Pairing::shown(Time now) const {
  if (!lives(now)) return std::nullopt;
  return Shown{code_, std::chrono::duration_cast<std::chrono::seconds>(kLife - (now - made_))};
}

Pairing::Outcome Pairing::attempt(std::string_view code, Time now) {
  if (!lives(now)) return Outcome::kNoCode;
  if (now < judged_again_) return Outcome::kWait;
  if (code.size() == code_.size() && sodium_memcmp(code.data(), code_.data(), code_.size()) == 0) {
    code_.clear();
    return Outcome::kPaired;
  }
  judged_again_ = now + kFirstWait * (1 << wrong_);
  ++wrong_;
  return Outcome::kWrong;
}

}  // namespace lathbook::phone
