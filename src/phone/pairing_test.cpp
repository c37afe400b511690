#include "phone/pairing.h"

#include <fmt/format.h>
#include <gtest/gtest.h>

#include <set>

namespace lathbook::phone {
namespace {

using namespace std::chrono_literals;
using Outcome = Pairing::Outcome;

/// Another code than this one.
std::string other(const std::string& code) { return code == "000000" ? "000001" : "000000"; }

const Pairing::Time kStart = Pairing::Time{} + 1000h;

TEST(Pairing, ACodeIsSixDigitsAndPairsOnce) {
  Pairing pairing;
  EXPECT_EQ(pairing.attempt("000000", kStart), Outcome::kNoCode);
  EXPECT_FALSE(pairing.shown(kStart));
  std::set<std::string> drawn;
  for (int i = 0; i < 50; ++i) {
    const auto code = pairing.begin(kStart);
    EXPECT_EQ(code.size(), 6U);
    EXPECT_EQ(code.find_first_not_of("0123456789"), std::string::npos);
    drawn.insert(code);
  }
  EXPECT_GT(drawn.size(), 45U);
  const auto code = pairing.begin(kStart);
  EXPECT_EQ(pairing.shown(kStart + 10s)->code, code);
  EXPECT_EQ(pairing.shown(kStart + 10s)->left, 290s);
  EXPECT_EQ(pairing.attempt(code, kStart + 10s), Outcome::kPaired);
  EXPECT_EQ(pairing.attempt(code, kStart + 11s), Outcome::kNoCode);
}

TEST(Pairing, ACodeDiesOfAge) {
  Pairing pairing;
  const auto code = pairing.begin(kStart);
  EXPECT_EQ(pairing.attempt(code, kStart + Pairing::kLife), Outcome::kNoCode);
  EXPECT_FALSE(pairing.shown(kStart + Pairing::kLife));
  EXPECT_EQ(pairing.attempt(pairing.begin(kStart + 1h), kStart + 1h + 1s), Outcome::kPaired);
}

TEST(Pairing, EachWrongTryDoublesTheWaitInWhichNotEvenTheRightOneIsJudged) {
  Pairing pairing;
  const auto code = pairing.begin(kStart);
  auto now = kStart;
  for (const auto wait : {1s, 2s, 4s, 8s}) {
    EXPECT_EQ(pairing.attempt(other(code), now), Outcome::kWrong);
    EXPECT_EQ(pairing.attempt(code, now + wait - 1ms), Outcome::kWait);
    now += wait;
  }
  EXPECT_EQ(pairing.attempt(code, now), Outcome::kPaired);
}

TEST(Pairing, TriesOfTheWrongLengthAreWrong) {
  Pairing pairing;
  const auto code = pairing.begin(kStart);
  for (const auto& bad : {std::string(), code.substr(1), code + "0"}) {
    EXPECT_EQ(pairing.attempt(bad, kStart), Outcome::kWrong);
    (void)pairing.begin(kStart);
  }
}

// A machine that tries all million codes as fast as it likes gets five of them judged.
TEST(Pairing, BruteForceIsLockedOut) {
  Pairing pairing;
  const auto code = pairing.begin(kStart);
  int judged = 0;
  bool paired = false;
  auto now = kStart;
  for (int i = 0; i < 1'000'000; ++i) {
    const auto guess = fmt::format("{:06}", i);
    if (guess == code) continue;  // the worst luck that is not luck
    const auto outcome = pairing.attempt(guess, now);
    judged += outcome == Outcome::kWrong ? 1 : 0;
    paired = paired || outcome == Outcome::kPaired;
    now += 100ms;
  }
  EXPECT_FALSE(paired);
  EXPECT_EQ(judged, Pairing::kTries);
  EXPECT_EQ(pairing.wrong(), Pairing::kTries);
  EXPECT_EQ(pairing.attempt(code, now), Outcome::kNoCode);  // dead for good, the right one too
}

}  // namespace
}  // namespace lathbook::phone
