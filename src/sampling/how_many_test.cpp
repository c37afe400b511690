#include "sampling/how_many.h"

#include <gmock/gmock.h>
#include <gtest/gtest.h>

namespace lathbook::sampling {
namespace {

const catalogue::EvidenceData& data() { return catalogue::shipped_evidence(); }

int needed(const char* family, std::optional<book::Extent> extent = {}) {
  return samples_needed(*data().find(family), extent, 0.05).samples;
}

TEST(HowMany, FollowsTheSurveyGuideByExtent) {
  EXPECT_EQ(needed("insulating-board"), 1);
  EXPECT_EQ(needed("insulating-board", book::Extent{25, book::Unit::kM2}), 1);
  EXPECT_EQ(needed("insulating-board", book::Extent{26, book::Unit::kM2}), 2);
  EXPECT_EQ(needed("insulating-board", book::Extent{60, book::Unit::kM2}), 3);
  EXPECT_EQ(needed("insulating-board", book::Extent{60, book::Unit::kM}), 1) << "another unit than the rule's";
  EXPECT_EQ(needed("pipe-lagging", book::Extent{20, book::Unit::kM}), 7) << "the guide's 7 for a run of 20 m";
  EXPECT_EQ(needed("pipe-lagging", book::Extent{200, book::Unit::kM}), 67) << "and 67 for 200 m";
}

TEST(PropertyHowMany, NoFamilyIsSettledByFewerThanTheChanceAsks) {
  for (const auto& family : data().families) {
    for (const double m2 : {0.1, 5.0, 40.0, 300.0}) {
      const auto n = samples_needed(family, book::Extent{m2, book::Unit::kM2}, 0.05);
      EXPECT_LT(n.miss_chance, 0.05) << family.id;
      EXPECT_GE(n.samples, family.samples.minimum) << family.id;
      EXPECT_GE(n.samples, samples_needed(family, {}, 0.05).samples) << family.id;
      EXPECT_EQ(n.samples, how_many_samples(family, book::Extent{m2, book::Unit::kM2}, 0.05)) << family.id;
    }
  }
}

TEST(HowMany, APatchyCoatingNeedsThreePlacesForBothReasons) {
  const auto n = samples_needed(*data().find("textured-coating"), {}, 0.05);
  EXPECT_EQ(n.by_rule, 3);
  EXPECT_EQ(n.by_chance, 3);
  // E[(1 - 0.9 p)^2] for p ~ Beta(3.2, 0.8): two would not do.
  EXPECT_GT(1 - 1.8 * 0.8 + 0.81 * 3.2 * 4.2 / 20, 0.05);
  EXPECT_THAT(n.reasons.back().text, ::testing::HasSubstr("3 clear samples would miss asbestos that is there"));
}

}  // namespace
}  // namespace lathbook::sampling
