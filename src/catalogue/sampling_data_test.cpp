#include "catalogue/sampling_data.h"

#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include <nlohmann/json.hpp>

#include "assets/assets.h"
#include "catalogue/evidence_data.h"

namespace lathbook::catalogue {
namespace {

using nlohmann::json;

TEST(SamplingData, NamesOnlyKnownFamiliesAndHasSomethingForEach) {
  const auto data = parse_sampling(json::parse(assets::get("data/sampling.json")));
  ASSERT_TRUE(data.ok());
  const auto& evidence = shipped_evidence();
  for (const auto& one : data->taking) {
    for (const auto& family : one.families) EXPECT_NE(evidence.find(family), nullptr) << family;
  }
  for (const auto& family : evidence.families) EXPECT_FALSE(data->taking_of(family.id).empty()) << family.id;
  EXPECT_EQ(data->taking_of("vinyl-tile").size(), 2U) << "what holds for all, and the adhesive under it";
}

TEST(FaultSamplingData, RefusesARowWithoutItsSource) {
  auto bad = json::parse(assets::get("data/sampling.json"));
  bad["steps"][0].erase("source");
  const auto read = parse_sampling(bad);
  ASSERT_FALSE(read.ok());
  EXPECT_THAT(read.faults()[0].where, ::testing::HasSubstr("/steps/0"));
}

}  // namespace
}  // namespace lathbook::catalogue
