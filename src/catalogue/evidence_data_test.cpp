#include "catalogue/evidence_data.h"

#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include <nlohmann/json.hpp>
#include <random>

#include "assets/assets.h"
#include "schema/schema.h"

namespace lathbook::catalogue {
namespace {

using nlohmann::json;

json document() { return json::parse(assets::get("data/evidence.json")); }

TEST(EvidenceData, CoversEveryFamilyAndEveryRowHasAKnownSource) {
  const auto& data = shipped_evidence();
  EXPECT_EQ(data.families.size(), 29U);
  std::vector<std::string> known;
  const json sources = json::parse(assets::get("data/sources.json"));
  for (const auto& source : sources["sources"]) known.push_back(source["id"]);
  for (const auto& family : data.families) {
    for (const auto& source : family.anchors) EXPECT_THAT(known, ::testing::Contains(source)) << family.id;
    for (const auto& source :
         {family.source, family.fibres_source, family.detection_source, family.samples.source, family.take_source}) {
      EXPECT_THAT(known, ::testing::Contains(source)) << family.id;
    }
    EXPECT_GE(family.years.back().year, 2000) << family.id << ": a tail of old stock after the ban";
    EXPECT_LE(family.years.back().high, 0.02) << family.id;
    for (const auto& knot : family.years)
      EXPECT_GT(knot.low, 0) << family.id << ": a prior of 0 could never learn from a result";
  }
}

/// The kits were chosen by people who were worried enough to send them, so they bound the priors only loosely: the
/// range of each family, averaged over years of installation, has to meet the share found within the stated factor.
TEST(EvidenceData, PriorsLieWithinTheStatedBandOfThePostalKits) {
  const auto& data = shipped_evidence();
  ASSERT_FALSE(data.kits.empty());
  for (const auto& kit : data.kits) {
    const auto* family = data.find(kit.family);
    ASSERT_NE(family, nullptr) << kit.family;
    double sum = 0;
    int years = 0;
    for (int year = data.kit_years.from; year <= data.kit_years.to; ++year, ++years) {
      for (std::size_t i = 1; i < family->years.size(); ++i) {
        const auto& a = family->years[i - 1];
        const auto& b = family->years[i];
        if (year < a.year || year >= b.year) continue;
        sum += a.middle + (b.middle - a.middle) * (year - a.year) / (b.year - a.year);
      }
      if (year >= family->years.back().year) sum += family->years.back().middle;
      if (year < family->years.front().year) sum += family->years.front().middle;
    }
    const double mean = sum / years;
    EXPECT_GE(mean, kit.positive / data.kit_factor) << kit.family;
    EXPECT_LE(mean, kit.positive * data.kit_factor) << kit.family;
  }
}

TEST(FaultEvidenceData, NamesWhatIsOutOfOrder) {
  auto bad = document();
  bad["families"][0]["years"][1][0] = 1800;
  bad["families"][1]["years"][0] = {1900, 0.5, 0.4, 0.6};
  bad["families"][2]["fibres"][0]["shares"] = {{"amosite", 0.7}};
  bad["families"][4]["id"] = bad["families"][3]["id"];
  const auto read = parse_evidence(bad.dump());
  ASSERT_FALSE(read.ok());
  std::vector<std::string> places;
  for (const auto& fault : read.faults()) places.push_back(fault.where);
  EXPECT_THAT(places, ::testing::ElementsAre("/families/0/years/1/0", "/families/1/years/0",
                                             "/families/2/fibres/0/shares", "/families/4/id"));
}

/// Every value of a document, lists and objects too.
void collect(json& value, std::vector<json*>& out) {
  out.push_back(&value);
  if (!value.is_structured()) return;
  for (auto& one : value) collect(one, out);
}

TEST(PropertyEvidenceData, RefusesWhateverItsSchemaRefuses) {
  const schema::Schema form(json::parse(assets::get("data/schemas/evidence.schema.json")));
  const auto whole = document();
  ASSERT_TRUE(form.check(whole).empty());
  std::mt19937_64 random(5);
  const auto below = [&](std::size_t n) { return std::uniform_int_distribution<std::size_t>(0, n - 1)(random); };
  const std::vector<json> others = {nullptr, "word", -1, 0, 1, 1.5, 2, 1e12, json::array(), json::object(), true};
  int refused = 0;
  for (int i = 0; i < 800; ++i) {
    auto bad = whole;
    std::vector<json*> values;
    collect(bad, values);
    auto& value = *values[below(values.size())];
    if (value.is_object() && !value.empty() && below(3) > 0) {
      value.erase(std::next(value.begin(), static_cast<std::ptrdiff_t>(below(value.size()))));
    } else if (value.is_object() && below(2) > 0) {
      value["other"] = 0.1;
    } else if (value.is_array() && !value.empty() && below(3) > 0) {
      value.erase(below(value.size()));
    } else {
      value = others[below(others.size())];
    }
    const auto faults = form.check(bad);
    if (faults.empty()) continue;
    ++refused;
    EXPECT_FALSE(parse_evidence(bad.dump()).ok()) << faults.front().text();
  }
  EXPECT_GT(refused, 400);
}

}  // namespace
}  // namespace lathbook::catalogue
