#include "catalogue/air_data.h"

#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include "catalogue/exposure_record.h"
#include "catalogue/first_response.h"

namespace lathbook::catalogue {
namespace {

using ::testing::HasSubstr;
using ::testing::Not;

TEST(AirData, EverySuspectFamilyHasAFigureForEveryTaskThatCuts) {
  const auto& data = shipped_air_data();
  for (const auto& family : shipped().families) {
    if (!family.suspect) continue;
    for (const char* task : {"drill", "fix-through", "saw", "power-saw", "grind", "cut", "break", "lift-whole",
                             "unscrew", "scrape", "wet-scrape", "sand", "strip", "open-up", "sample"}) {
      EXPECT_NE(emission_of(data, family.id, task), nullptr) << family.id << " " << task;
    }
  }
}

TEST(AirData, ControlsNeverRaiseTheMedian) {
  for (const auto& control : shipped_air_data().controls) EXPECT_LE(control.value.geometric_mean, 1) << control.id;
}

TEST(FaultAirData, BadRowsAreNamed) {
  EXPECT_FALSE(parse_air_data("{}").ok());
  EXPECT_FALSE(parse_air_data("nothing").ok());
  EXPECT_FALSE(parse_first_response(R"({"steps": [{"id": "a"}]})").ok());
  const auto unknown = parse_exposure_record(
      R"({"note": [{"id": "mood", "what": "a", "text": "b", "source": "c", "sure": "seen"}], "advice": []})");
  ASSERT_FALSE(unknown.ok());
  EXPECT_NE(unknown.faults().front().text().find("nothing that can be filled in"), std::string::npos);
}

std::string steps_for(const char* family, Amount amount) {
  std::string out;
  for (const auto& step :
       first_response(shipped_first_response(), family == nullptr ? nullptr : shipped().find_family(family), amount)) {
    out += step.text + "\n";
  }
  return out;
}

// Nobody is ever told to clear up what only a licensed remover may; and the order is stop, out, shut, never sweep.
TEST(FirstResponse, OnlyFirmlyBoundCrumbsAreClearedUpByOneself) {
  for (const auto& family : shipped().families) {
    if (!family.suspect) continue;
    for (const auto amount : {Amount::kSmall, Amount::kLarge}) {
      const auto text = steps_for(family.id.c_str(), amount);
      const bool own = family.binding == Binding::kFirmlyBound && amount == Amount::kSmall;
      EXPECT_EQ(text.find("pick them up whole") != std::string::npos, own) << family.id;
      const std::size_t stop = text.find("Stop, now");
      const std::size_t out = text.find("Everybody out");
      const std::size_t shut = text.find("Shut the door");
      const std::size_t never = text.find("Do not sweep");
      const std::size_t call = text.find("Call:");
      EXPECT_LT(stop, out);
      EXPECT_LT(out, shut);
      EXPECT_LT(shut, never);
      EXPECT_LT(never, call);
      EXPECT_NE(call, std::string::npos);
    }
  }
}

TEST(FirstResponse, UnknownIsTakenForTheLoosest) {
  EXPECT_EQ(steps_for(nullptr, Amount::kSmall), steps_for("pipe-lagging", Amount::kSmall));
  EXPECT_THAT(steps_for(nullptr, Amount::kSmall), HasSubstr("licensed remover"));
  EXPECT_THAT(steps_for("cement-profiled-sheet", Amount::kSmall), Not(HasSubstr("licensed")));
}

}  // namespace
}  // namespace lathbook::catalogue
