#include "clearance/certificate.h"

#include <gmock/gmock.h>
#include <gtest/gtest.h>

namespace lathbook::clearance {
namespace {

using reason::Date;
using ::testing::HasSubstr;

/// What Great Britain asks, written out again: the shipped pack is held against its own sources elsewhere.
catalogue::ClearanceRules four_stages() {
  return {.certificate = "the certificate of the four-stage clearance",
          .by = "an accredited, independent analyst",
          .roles = {"analyst", "laboratory"},
          .stages = {{"the preliminary check", {"preliminary", "site condition", "completeness"}},
                     {"the visual inspection", {"visual", "thorough"}},
                     {"the air test", {"air"}},
                     {"the final look", {"final", "after the enclosure", "post-enclosure"}}},
          .air = {.required = true,
                  .below_f_per_ml = 0.01,
                  .litres = 480,
                  .fields = 200,
                  .filter_mm = 20,
                  .more_for_area = true},
          .reasons = {{"because", {"hsg247", catalogue::Sure::kSecondary}}},
          .independent = std::pair<std::string, catalogue::Backing>("not by whoever did the removal",
                                                                    {"ukas-lab-30", catalogue::Sure::kSecondary})};
}

/// A country where the look decides and an air test may be added.
catalogue::ClearanceRules one_look() {
  return {.certificate = "the clearance certificate",
          .by = "an independent competent person",
          .roles = {"analyst", "laboratory", "surveyor"},
          .stages = {{"the visual inspection", {"visual"}}},
          .air = {.required = false,
                  .below_f_per_ml = 0.01,
                  .litres = std::nullopt,
                  .fields = std::nullopt,
                  .filter_mm = std::nullopt,
                  .more_for_area = false},
          .reasons = {},
          .independent = std::nullopt};
}

Stated good() {
  Stated stated;
  stated.area_m2 = 100;
  stated.height_m = 2.5;
  stated.stages = {"preliminary check", "thorough visual inspection", "air test", "final look"};
  stated.work_finished_on = *Date::parse("2025-03-03");
  stated.issued_on = *Date::parse("2025-03-04");
  stated.accreditation_expires_on = *Date::parse("2026-01-01");
  stated.whole_certificate = true;
  for (int i = 0; i < 4; ++i) {
    stated.samples.push_back(
        {.count = {.fibres = 4, .fields = 200, .litres = 480}, .flow_l_per_min = 8, .minutes = 60, .f_per_ml = 0.01});
  }
  return stated;
}

/// The one finding of a certificate that has exactly one.
Finding only(const Stated& stated) {
  const auto checked = check(stated, four_stages());
  EXPECT_TRUE(checked.ok());
  EXPECT_EQ(checked->findings.size(), 1U);
  EXPECT_EQ(checked->pass, checked->findings.empty());
  return checked->findings.empty() ? Finding{} : checked->findings.front();
}

TEST(Certificate, AGoodOnePasses) {
  const auto checked = check(good(), four_stages());
  ASSERT_TRUE(checked.ok());
  EXPECT_TRUE(checked->pass) << (checked->findings.empty() ? "" : checked->findings.front().what);
  EXPECT_EQ(checked->samples_needed, 4);
  EXPECT_FALSE(checked->reasons.empty());
}

TEST(Certificate, SamplesForTheSize) {
  // N = A^(1/3) − 1 to the nearest: the figures listed with the rule.
  EXPECT_EQ(samples_needed(50, 2.5), 3);
  EXPECT_EQ(samples_needed(100, 2.5), 4);
  EXPECT_EQ(samples_needed(200, 2.5), 5);
  EXPECT_EQ(samples_needed(500, 2.5), 7);
  EXPECT_EQ(samples_needed(1000, 2.5), 9);
  EXPECT_EQ(samples_needed(5000, 2.5), 16);
  EXPECT_EQ(samples_needed(10000, 2.5), 21);
  EXPECT_EQ(samples_needed(12, 2.4), 2);
  EXPECT_EQ(samples_needed(3, 2.4), 1) << "below 10 m3";
  EXPECT_EQ(samples_needed(3.99, 2.5), 1);
  EXPECT_EQ(samples_needed(4, 2.5), 2) << "10 m3 are not below 10";
  EXPECT_EQ(samples_needed(50, 6), 4) << "above 3 m the volume over 3 stands for the area";
  EXPECT_EQ(samples_needed(140, 3), 4);
  EXPECT_EQ(samples_needed(140, 3.6), 5);
}

TEST(PropertyCertificate, BiggerSpacesNeverNeedFewerSamples) {
  for (double height : {2.0, 3.0, 3.01, 5.0}) {
    int before = 0;
    for (double area = 1; area < 2000; area *= 1.1) {
      EXPECT_GE(samples_needed(area, height), before);
      before = samples_needed(area, height);
    }
  }
}

TEST(Certificate, TooFewSamples) {
  Stated stated = good();
  stated.samples.pop_back();
  EXPECT_THAT(only(stated).what, HasSubstr("3 taken"));
}

TEST(Certificate, TooLittleAir) {
  Stated stated = good();
  stated.samples[1].count.litres = 479;
  const auto found = only(stated);
  EXPECT_EQ(found.where, "sample 2");
  EXPECT_THAT(found.what, HasSubstr("at least 480"));
}

TEST(Certificate, TooFewFields) {
  Stated stated = good();
  stated.samples[0].count.fields = 100;
  stated.samples[0].count.fibres = 2;
  stated.samples[0].f_per_ml.reset();
  EXPECT_THAT(only(stated).what, HasSubstr("100 fields counted"));
  stated.samples[0].count.fields = 199;
  EXPECT_THAT(only(stated).what, HasSubstr("199 fields counted"));
}

TEST(Certificate, FilterTooSmall) {
  Stated stated = good();
  stated.samples[0].count.filter_mm = 20;
  EXPECT_THAT(only(stated).what, HasSubstr("must be wider than 20 mm"));
}

TEST(Certificate, AtTheLimitIsNotBelowIt) {
  Stated stated = good();
  stated.samples[3].count.fibres = 20;
  EXPECT_THAT(only(stated).what, HasSubstr("is not below 0.01"));
  stated.samples[3].count.fibres = 19.5;
  EXPECT_TRUE(check(stated, four_stages())->pass);
}

TEST(Certificate, FlowTimesMinutesMustMakeTheLitres) {
  Stated stated = good();
  stated.samples[2].minutes = 45;
  EXPECT_THAT(only(stated).what, HasSubstr("make 360 litres, not 480"));
  stated.samples[2].minutes = 53;  // 424 litres
  EXPECT_THAT(only(stated).what, HasSubstr("make 424 litres, not 480"));
  stated.samples[2].minutes = 55;  // 440: a pump may drift by a tenth
  EXPECT_TRUE(check(stated, four_stages())->pass);
}

TEST(Certificate, StatedResultMustFollowFromTheCount) {
  Stated stated = good();
  stated.samples[0].f_per_ml = 0.05;
  EXPECT_THAT(only(stated).what, HasSubstr("states 0.05 f/ml"));
  stated.samples[0].f_per_ml = 0.002;  // the concentration itself, unrounded, is fair too
  EXPECT_TRUE(check(stated, four_stages())->pass);
}

TEST(Certificate, DirtyBlank) {
  Stated stated = good();
  stated.samples[0].count.fibres = 10;
  stated.samples[0].count.blank_fibres = 4;
  stated.samples[0].count.blank_fields = 100;
  EXPECT_THAT(only(stated).what, HasSubstr("at most 3 in 100"));
}

TEST(Certificate, ABlankNeverBringsARoomBelowTheLevel) {
  // 22 fibres are 0.0111 f/ml; a clean enough blank (3 in 100) would take 6 off.
  Stated stated = good();
  stated.samples[0].count.fibres = 22;
  stated.samples[0].count.blank_fibres = 3;
  stated.samples[0].count.blank_fields = 100;
  stated.samples[0].f_per_ml.reset();
  const auto found = only(stated);
  EXPECT_EQ(found.where, "sample 1");
  EXPECT_EQ(found.what, "0.011 f/ml before the blank is taken off is not below 0.01 f/ml.");
  stated.samples[0].count.fibres = 19.5;
  EXPECT_TRUE(check(stated, four_stages())->pass);
}

TEST(Certificate, ACleanBlankIsNoFinding) {
  Stated stated = good();
  stated.samples[0].count.blank_fibres = 3;
  stated.samples[0].count.blank_fields = 100;
  EXPECT_TRUE(check(stated, four_stages())->pass);
  stated.samples[0].count.blank_fields = 99;
  EXPECT_THAT(only(stated).what, HasSubstr("3 fibres in 99 fields"));
}

TEST(Certificate, TheFigureMayBeStatedWithTheBlankOrWithout) {
  // 40 fibres in 100 fields of 480 litres are 0.0403 f/ml; less a blank of 3 in 100, 0.0373.
  auto rules = four_stages();
  rules.air = {.required = true,
               .below_f_per_ml = 0.1,
               .litres = std::nullopt,
               .fields = std::nullopt,
               .filter_mm = std::nullopt,
               .more_for_area = false};
  Stated stated = good();
  stated.samples.resize(1);
  auto& sample = stated.samples[0];
  sample.count = {.fibres = 40, .fields = 100, .litres = 480, .blank_fibres = 3, .blank_fields = 100};
  for (double fair : {0.04, 0.037}) {
    sample.f_per_ml = fair;
    EXPECT_TRUE(check(stated, rules)->pass) << fair;
  }
  sample.f_per_ml = 0.05;
  EXPECT_FALSE(check(stated, rules)->pass);
}

TEST(Certificate, APaperThatStatesMoreThanTheLevelClearsNothing) {
  // The count says 0.004; 0.012 is within rounding of the 0.0101 that "less than" would be, and yet not below 0.01.
  Stated stated = good();
  stated.samples[0].f_per_ml = 0.012;
  EXPECT_THAT(only(stated).what, HasSubstr("states 0.012 f/ml, which is not below 0.01 f/ml"));
  stated.samples[0].f_per_ml = 0.0101;
  EXPECT_TRUE(check(stated, four_stages())->pass) << "the limit of quantification, unrounded";
}

TEST(Certificate, ASmallCircleNeedsMoreFields) {
  // With a circle of 70 µm 200 fields see half of what they should: 20 fibres would stand for 0.02 f/ml.
  Stated stated = good();
  stated.samples[0].count.graticule_um = 70;
  stated.samples[0].f_per_ml.reset();
  EXPECT_THAT(only(stated).what, HasSubstr("20 fibres stand for 0.02 f/ml"));
  stated.samples[0].count.fields = 410;
  EXPECT_TRUE(check(stated, four_stages())->pass);
}

TEST(Certificate, WhoeverDidTheRemovalDoesNotClearIt) {
  Stated stated = good();
  stated.independent = false;
  const auto found = only(stated);
  EXPECT_EQ(found.where, "independence");
  EXPECT_THAT(found.ask, HasSubstr("an accredited, independent analyst"));
  EXPECT_EQ(check(stated, four_stages())->reasons.back().source, "ukas-lab-30");
  stated.independent = true;
  EXPECT_TRUE(check(stated, four_stages())->pass);
  EXPECT_NE(check(stated, four_stages())->reasons.back().source, "ukas-lab-30") << "told where it is broken";
  stated.independent.reset();
  EXPECT_TRUE(check(stated, four_stages())->pass) << "not known";
  stated.independent = false;
  auto silent = four_stages();
  silent.independent.reset();
  EXPECT_TRUE(check(stated, silent)->pass) << "a country that does not ask for it";
}

TEST(Certificate, AFirmOfTheWrongKindClearsNothing) {
  for (const auto& rules : {four_stages(), one_look()}) {
    for (const std::string role : {"laboratory", "surveyor", "analyst", "remover", "carrier", "trade"}) {
      Stated stated = good();
      stated.role = role;
      const bool may = std::ranges::find(rules.roles, role) != rules.roles.end();
      const auto answer = check(stated, rules);
      const auto& findings = answer->findings;
      const auto told = std::ranges::find(findings, "party", &Finding::where);
      ASSERT_EQ(told == findings.end(), may) << role;
      if (may) continue;
      EXPECT_FALSE(answer->pass);
      EXPECT_EQ(told, findings.begin()) << "before what its figures say";
      EXPECT_THAT(told->what, HasSubstr(role));
      EXPECT_THAT(told->means, HasSubstr(rules.by));
      EXPECT_THAT(told->ask, HasSubstr("analyst, laboratory"));
    }
  }
  Stated stated = good();
  EXPECT_TRUE(check(stated, four_stages())->pass) << "not known";
  stated.role = "remover";
  stated.independent = false;
  EXPECT_EQ(only(stated).where, "independence") << "that it did the removal says more";
}

TEST(Certificate, StagesMissingOrOutOfOrder) {
  Stated stated = good();
  stated.stages.pop_back();
  EXPECT_THAT(only(stated).what, HasSubstr("Stage 4"));
  stated = good();
  std::swap(stated.stages[1], stated.stages[2]);
  EXPECT_THAT(only(stated).what, HasSubstr("not in order"));
  stated = good();
  stated.stages = {"preliminary check", "visual inspection", "air test", "final visual look"};
  EXPECT_TRUE(check(stated, four_stages())->pass) << "what comes later is told by a word of its own";
  stated.stages = {"1", "2", "3", "4"};
  EXPECT_TRUE(check(stated, four_stages())->pass);
  stated.stages.push_back("cup of tea");
  EXPECT_THAT(only(stated).what, HasSubstr("none of the four stages"));
}

TEST(Certificate, WhereTheLookDecidesNoAirTestIsMissed) {
  Stated stated;
  stated.stages = {"visual inspection"};
  stated.issued_on = *Date::parse("2025-03-04");
  stated.whole_certificate = true;
  auto checked = check(stated, one_look());
  ASSERT_TRUE(checked.ok());
  EXPECT_TRUE(checked->pass) << "no samples, no area";
  EXPECT_EQ(checked->samples_needed, 0);
  stated.stages.emplace_back("air test");
  stated.samples.push_back({.count = {.fibres = 4, .fields = 200, .litres = 480},
                            .flow_l_per_min = std::nullopt,
                            .minutes = std::nullopt,
                            .f_per_ml = std::nullopt});
  EXPECT_TRUE(check(stated, one_look())->pass);
  stated.samples[0].count.fibres = 40;
  ASSERT_FALSE(check(stated, one_look())->pass) << "a test that was made still counts";
  EXPECT_THAT(check(stated, one_look())->findings.front().what, HasSubstr("is not below 0.01"));
  stated.samples.clear();
  stated.stages.clear();
  ASSERT_FALSE(check(stated, one_look())->pass);
  EXPECT_THAT(check(stated, one_look())->findings.front().means, HasSubstr("nothing is cleared"));
}

TEST(Certificate, AnAirTestThatIsAskedForMustBeThere) {
  auto rules = one_look();
  rules.stages.push_back({"the air test", {"air"}});
  rules.air.required = true;
  Stated stated;
  stated.stages = {"visual inspection", "air test"};
  stated.issued_on = *Date::parse("2025-03-04");
  stated.whole_certificate = true;
  const auto checked = check(stated, rules);
  ASSERT_TRUE(checked.ok());
  ASSERT_EQ(checked->findings.size(), 1U);
  EXPECT_THAT(checked->findings.front().what, HasSubstr("No air sample"));
  stated.stages.pop_back();
  EXPECT_THAT(check(stated, rules)->findings.back().means, HasSubstr("The two stages are one whole: a pass in one"));
}

TEST(FaultCertificate, DatedBeforeTheWork) {
  Stated stated = good();
  stated.issued_on = *Date::parse("2025-03-02");
  const auto found = only(stated);
  EXPECT_EQ(found.where, "issued_on");
  EXPECT_THAT(found.what, HasSubstr("before the work was finished on 2025-03-03"));
  EXPECT_FALSE(found.means.empty());
  EXPECT_FALSE(found.ask.empty());
  stated.issued_on = stated.work_finished_on;
  EXPECT_TRUE(check(stated, four_stages())->pass) << "cleared on the day";
}

TEST(Certificate, AccreditationRunOut) {
  Stated stated = good();
  stated.accreditation_expires_on = *Date::parse("2025-03-03");
  EXPECT_EQ(only(stated).where, "accreditation");
  stated.accreditation_expires_on = stated.issued_on;
  EXPECT_TRUE(check(stated, four_stages())->pass) << "its last day counts";
}

TEST(FaultCertificate, ImpossibleFiguresAreFaultsNotFindings) {
  Stated stated = good();
  stated.samples[1].count.fibres = 9000;
  stated.height_m = 0;
  const auto checked = check(stated, four_stages());
  ASSERT_FALSE(checked.ok());
  EXPECT_EQ(checked.faults().size(), 2U);
  EXPECT_EQ(checked.faults()[1].where, "/samples/1/fibres");
}

TEST(Certificate, FromTheBook) {
  book::Certificate paper;
  paper.area_m2 = 20;
  paper.height_m = 2.4;
  paper.issued_on = *Date::parse("2025-03-02");
  paper.work_finished_on = *Date::parse("2025-03-03");
  paper.stages = {"air test"};
  for (double fibres : {3.0, 1.0}) {
    book::AirSample sample;
    sample.litres = 480;
    sample.fibres = fibres;
    sample.fields = 200;
    paper.samples.push_back(sample);
  }
  book::Party analyst;
  analyst.licence_expires_on = *Date::parse("2024-12-31");
  const auto checked = check(paper, &analyst, std::nullopt, four_stages());
  ASSERT_TRUE(checked.ok());
  EXPECT_EQ(checked->findings.size(), 5U) << "three stages, the date, the accreditation";
  EXPECT_EQ(check(paper, nullptr, false, four_stages())->findings.back().where, "independence");
  paper.area_m2.reset();
  EXPECT_FALSE(check(paper, nullptr, std::nullopt, four_stages()).ok());
}

TEST(Certificate, TheBooksFilterCircleAndBlankAreUsed) {
  book::Certificate paper;
  paper.area_m2 = 3;
  paper.height_m = 2.4;
  book::AirSample sample{.litres = 480, .fibres = 3, .fields = 200};
  paper.samples = {sample};
  const auto counted = [&] { return check(paper, nullptr, std::nullopt, four_stages())->counts.front(); };
  EXPECT_DOUBLE_EQ(counted().f_per_ml, concentration_f_per_ml(3, {.fields = 200, .litres = 480})) << "the usual sizes";
  paper.samples[0].filter_mm = 25;
  paper.samples[0].graticule_um = 98;
  EXPECT_DOUBLE_EQ(counted().f_per_ml, 1000 * 3.0 * 25 * 25 / (480.0 * 200 * 98 * 98));
  paper.samples[0].blank_fibres = 1;
  paper.samples[0].blank_fields = 200;
  EXPECT_DOUBLE_EQ(counted().f_per_ml, 1000 * 2.0 * 25 * 25 / (480.0 * 200 * 98 * 98));
  paper.samples[0].filter_mm = 20;
  const auto checked = check(paper, nullptr, std::nullopt, four_stages());
  EXPECT_THAT(checked->findings.front().what, HasSubstr("must be wider than 20 mm"));
}

}  // namespace
}  // namespace lathbook::clearance
