#include "catalogue/waste_data.h"

#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include <cctype>

#include "testing/csv.h"

namespace lathbook::catalogue {
namespace {

using ::testing::HasSubstr;

const std::vector<std::string> kPacks = {"gb", "au"};

TEST(WasteData, EverySuspectKindHasARow) {
  for (const auto& rules : kPacks) {
    for (const auto& family : shipped().families) {
      if (family.suspect) {
        EXPECT_NE(shipped_waste_data(rules).find_kind(family.legal_kind), nullptr) << rules << " " << family.id;
      }
    }
    for (const char* price : {"roll of 1000-gauge polythene", "roll of strong tape", "asbestos bag", "warning label",
                              "set of overall, gloves and mask", "driving, a kilometre"})
      EXPECT_NE(shipped_waste_data(rules).find_price(price), nullptr) << rules << " " << price;
  }
  const auto& data = shipped_waste_data("gb");
  // The List of Wastes, chapter 17 06.
  EXPECT_EQ(data.find_kind(LegalKind::kCement)->code, "17 06 05*");
  EXPECT_EQ(data.find_kind(LegalKind::kInsulatingBoard)->code, "17 06 01*");
  EXPECT_EQ(data.find_kind(LegalKind::kNone), nullptr);
  // Hazardous waste data summary 2013: asbestos is N220, friable or bonded.
  for (const auto& kind : shipped_waste_data("au").kinds) {
    EXPECT_EQ(kind.code, "N220");
    EXPECT_EQ(kind.code_means, kind.bonded ? "asbestos, bonded" : "asbestos, friable") << word(kind.kind);
  }
  EXPECT_THROW((void)shipped_waste_data("atlantis"), std::logic_error);
  EXPECT_EQ(data.find_nation("england")->waste_is_called, "hazardous waste");
  EXPECT_EQ(data.find_nation("scotland")->waste_is_called, "special waste");
  EXPECT_EQ(data.find_nation("atlantis"), nullptr);
}

TEST(WasteData, EverySourceIsListed) {
  const auto listed = [](const Backing& backing) { return shipped().find_source(backing.source) != nullptr; };
  for (const auto& rules : kPacks) {
    const auto& data = shipped_waste_data(rules);
    for (const auto& one : data.kinds) {
      EXPECT_TRUE(listed(one.backing)) << one.backing.source;
      EXPECT_TRUE(listed(one.code_backing)) << one.code_backing.source;
    }
    for (const auto& one : data.transport) EXPECT_TRUE(listed(one.backing));
    for (const auto& one : data.nations) EXPECT_TRUE(listed(one.backing));
    for (const auto& one : data.marks) EXPECT_TRUE(listed(one.backing));
  }
  for (const auto& one : shipped_site_rules()) EXPECT_TRUE(listed(one.backing));
}

TEST(WasteData, OnlyUnlicensedKindsAreBonded) {
  for (const auto& rules : kPacks) {
    for (const auto& one : shipped_waste_data(rules).kinds) {
      const bool licensed = one.kind == LegalKind::kInsulatingBoard || one.kind == LegalKind::kInsulation ||
                            one.kind == LegalKind::kCoating;
      EXPECT_FALSE(licensed && (one.bonded || one.special_provision_168));
      EXPECT_EQ(one.bonded, one.special_provision_168);
    }
  }
}

TEST(SiteRules, SixWithoutTheirNames) {
  const auto& sites = shipped_site_rules();
  EXPECT_EQ(sites.size(), 6U);
  for (const auto& site : sites) EXPECT_TRUE(site.name.starts_with("A ")) << site.name;
  EXPECT_EQ(sites[0].pieces_per_period, 3);
  EXPECT_EQ(sites[1].mass_kg_per_period, 40);
  EXPECT_EQ(sites[5].accepts, Accepts::kNothing);
}

TEST(FaultWasteData, SaysWhereAFileIsOff) {
  EXPECT_FALSE(parse_waste_data("{", "waste").ok());
  const auto wrong =
      parse_site_rules(R"({"sites": [{"id": "x", "name": "A", "rules": "gb", "accepts": "cake", "booking": "yes",
    "wrapping": "w", "as_of": 2020, "source": "book", "sure": "seen", "length_m": 0}]})");
  ASSERT_FALSE(wrong.ok());
  EXPECT_EQ(wrong.faults().size(), 2U);
  EXPECT_THAT(wrong.faults()[0].where, HasSubstr("data/sites.json/sites/0/"));
  std::string twice = testing::read_file("data/sites.json");
  const std::string id = "gb-mass-a-year";
  twice.replace(twice.find(id), id.size(), "gb-sheets-by-size");
  ASSERT_FALSE(parse_site_rules(twice).ok());
  EXPECT_EQ(parse_site_rules(twice).faults()[0].value, "gb-sheets-by-size");
}

}  // namespace
}  // namespace lathbook::catalogue
