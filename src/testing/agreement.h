// How well a test's two sides agree, told to the test report. tests/tools/agreement.py reads it there and writes the
// tables in docs/methods/: a figure in those pages is one that a test measured.
#pragma once

#include <fmt/format.h>
#include <gtest/gtest.h>

#include <algorithm>
#include <cmath>
#include <string>
#include <utility>

namespace lathbook::testing {

class Agreement {
 public:
  /// `id` is a word of letters, digits and underscores that tests/tools/agreement.py knows.
  explicit Agreement(std::string id) : id_(std::move(id)) {}
  ~Agreement() {
    ::testing::Test::RecordProperty("agreement_" + id_, fmt::format("{} {:.2g} {:.2g}", cases_, worst_, used_));
  }
  Agreement(const Agreement&) = delete;
  Agreement& operator=(const Agreement&) = delete;

  /// One more case: how far the two sides are apart, and how far the test lets them be.
  void apart(double difference, double allowed) {
    ++cases_;
    worst_ = std::max(worst_, std::abs(difference));
    if (allowed > 0) used_ = std::max(used_, std::abs(difference) / allowed);
  }
  /// One more case that has to be the same to the letter; the test itself fails when it is not.
  void same() { ++cases_; }

 private:
  std::string id_;
  long cases_ = 0;
  double worst_ = 0;  ///< the furthest apart
  double used_ = 0;   ///< the largest share of what was allowed
};

}  // namespace lathbook::testing
