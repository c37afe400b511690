#include "service/backs.h"

#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include <map>
#include <nlohmann/json.hpp>

#include "assets/assets.h"
#include "book/json.h"

namespace lathbook::service {
namespace {

fabric::Plan demo_plan() {
  const auto book = book::book_from_json(Json::parse(assets::get("data/demo.json"))).value();
  return fabric::Plan::build(book.storeys, book.rooms, book.openings).value();
}

const Json& face(const Json& answer, const std::string& name) {
  for (const auto& one : answer["faces"]) {
    if (one["face"] == name) return one;
  }
  throw std::logic_error("no face " + name);
}

TEST(Backs, TellsWhatIsOverUnderAndBehind) {
  const auto kitchen = backs_json(demo_plan(), {"R4"});
  EXPECT_EQ(face(kitchen, "ceiling")["backs"][0]["room"], "R14");
  EXPECT_EQ(face(kitchen, "ceiling")["bare_m2"], 0.0);
  EXPECT_TRUE(face(kitchen, "floor")["backs"].empty());
  EXPECT_NEAR(face(kitchen, "floor")["bare_m2"].get<double>(), 10.4, 1e-9);
  // Its near wall runs past the front room, the hall and the cupboard, which is lower than the kitchen.
  const auto& near = face(kitchen, "wall-1");
  std::vector<std::string> rooms;
  for (const auto& one : near["backs"]) rooms.push_back(one["room"]);
  EXPECT_THAT(rooms, ::testing::UnorderedElementsAre("R1", "R2", "R7"));
  EXPECT_NEAR(near["bare_m2"].get<double>(), 0.9 * 0.4, 1e-3);
}

TEST(PropertyBacks, NothingIsTwiceCoveredAndWhatBacksOnBacksOnBothWays) {
  const auto plan = demo_plan();
  std::map<std::string, double> seen;
  for (const auto& space : plan.spaces()) {
    const auto answer = backs_json(plan, space.id);
    for (const auto& one : answer["faces"]) {
      double covered = 0;
      for (const auto& back : one["backs"]) {
        covered += back["area_m2"].get<double>();
        const auto here = space.id.text + one["face"].get<std::string>();
        const auto there = back["room"].get<std::string>() + back["face"].get<std::string>();
        seen[std::min(here, there) + std::max(here, there)] += (here < there ? 1 : -1) * back["area_m2"].get<double>();
      }
      EXPECT_NEAR(covered + one["bare_m2"].get<double>(), one["area_m2"].get<double>(), 0.02) << space.name << one;
    }
  }
  EXPECT_GT(seen.size(), 20U);
  for (const auto& [pair, difference] : seen) EXPECT_NEAR(difference, 0, 1e-3) << pair;
}

TEST(Backs, OpeningsLieOnTheFacesOfTheirRooms) {
  const auto openings = openings_json(demo_plan());
  ASSERT_EQ(openings["O2"].size(), 2U);
  EXPECT_EQ(openings["O2"][0]["room"], "R1");
  EXPECT_EQ(openings["O2"][1]["room"], "R2");
  EXPECT_EQ(openings["O15"][1]["face"], "floor");  // the loft's
}

}  // namespace
}  // namespace lathbook::service
