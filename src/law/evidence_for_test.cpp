#include "law/evidence_for.h"

#include <gtest/gtest.h>

namespace lathbook::law {
namespace {

double middle_in(const std::vector<catalogue::YearKnot>& knots, int year) {
  for (std::size_t i = 1; i < knots.size(); ++i) {
    const auto& a = knots[i - 1];
    const auto& b = knots[i];
    if (year <= a.year) return a.middle;
    if (year < b.year) return a.middle + (b.middle - a.middle) * (year - a.year) / (b.year - a.year);
  }
  return knots.back().middle;
}

TEST(PropertyEvidenceFor, CarriedOnToALaterBanNothingBecomesLessLikely) {
  const auto& gb = evidence_for(*find_pack("gb"));
  const auto& au = evidence_for(*find_pack("au"));
  EXPECT_EQ(gb.rules, "gb");
  EXPECT_EQ(au.rules, "au");
  ASSERT_EQ(gb.families.size(), au.families.size());
  for (const auto& own : au.families) {
    const auto& from = *gb.find(own.id);
    for (int year = 1900; year <= 2015; ++year)
      EXPECT_GE(middle_in(own.years, year) + 1e-12, middle_in(from.years, year)) << own.id << " " << year;
    for (std::size_t i = 1; i < own.years.size(); ++i) EXPECT_LT(own.years[i - 1].year, own.years[i].year) << own.id;
    EXPECT_EQ(own.why, find_pack("au")->years->why) << "another country's history is not told as one's own";
  }
  // What was likely in the year of one ban is as likely in the year of the other.
  for (const auto& own : au.families)
    EXPECT_DOUBLE_EQ(middle_in(own.years, 2003), middle_in(gb.find(own.id)->years, 1999)) << own.id;
}

TEST(FaultEvidenceFor, RulesNobodyKnows) {
  RulePack pack;
  pack.id = "atlantis";
  EXPECT_THROW((void)evidence_for(pack), std::logic_error);
}

}  // namespace
}  // namespace lathbook::law
