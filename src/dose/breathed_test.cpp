#include "dose/breathed.h"

#include <gmock/gmock.h>
#include <gtest/gtest.h>

namespace lathbook::dose {
namespace {

using ::testing::HasSubstr;

TEST(PropertyMask, EffectiveFactorRunsFromNoneToTheMasksOwn) {
  EXPECT_DOUBLE_EQ(effective_factor(20, 0), 1);
  EXPECT_DOUBLE_EQ(effective_factor(20, 1), 20);
  EXPECT_NEAR(effective_factor(1e9, 0.9), 10, 1e-6);  // a perfect mask off for a tenth of the time is worth ten
  for (double w = 0; w < 0.85; w += 0.1) EXPECT_LT(effective_factor(20, w), effective_factor(20, w + 0.1));
}

TEST(Stretches, AreCutWhereMasksGoOnAndOff) {
  const std::vector<Stay> stays{{1, 60, 90}, {0, 0, 60}};
  const std::vector<Mask> masks{{10, 70, 4, 0.5}};
  const auto cut = stretches(stays, masks);
  ASSERT_EQ(cut.size(), 4U);
  EXPECT_EQ(cut[0].to_min, 10);
  EXPECT_EQ(cut[0].factor, 1);
  EXPECT_DOUBLE_EQ(cut[1].factor, 1 / (0.5 + 0.125));
  EXPECT_EQ(cut[2].zone, 1U);
  EXPECT_EQ(cut[2].to_min, 70);
  EXPECT_EQ(cut[3].factor, 1);
  double minutes = 0;
  for (const auto& one : cut) minutes += one.to_min - one.from_min;
  EXPECT_EQ(minutes, 90);
}

TEST(FaultBreathed, EverythingWrongIsNamed) {
  const std::vector<Stay> stays{{0, 0, 60}, {1, 59, 80}, {0, 90, 90}, {0, 95, 400}};
  const std::vector<Mask> masks{{0, 10, 0.5, 1}, {5, 20, 10, 1.2}};
  std::string text;
  for (const auto& fault : check(stays, masks, 300, "/people/0")) text += fault.text() + "\n";
  EXPECT_THAT(text, HasSubstr("/people/0/stays/1: 59 to 80 min overlaps /people/0/stays/0: a person in two places"));
  EXPECT_THAT(text, HasSubstr("/people/0/stays/2/to_min"));
  EXPECT_THAT(text, HasSubstr("/people/0/stays/3/to_min: 400 is after the air's last phase"));
  EXPECT_THAT(text, HasSubstr("/people/0/masks/0/protection: 0.5 is below 1"));
  EXPECT_THAT(text, HasSubstr("/people/0/masks/1: 5 to 20 min overlaps"));
  EXPECT_THAT(text, HasSubstr("/people/0/masks/1/worn"));
}

}  // namespace
}  // namespace lathbook::dose
