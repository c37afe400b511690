#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include "calc/testing.h"

namespace lathbook::calc {
namespace {

using ::testing::ElementsAre;

Json two_rooms() {
  return Json::parse(R"({
    "storeys": [{"id": "L1", "name": "ground", "floor_m": 0, "height_m": 2.4}, {"id": "L2", "name": "first", "floor_m": 2.6, "height_m": 2.4}],
    "rooms": [{"id": "R1", "name": "kitchen", "storey": "L1", "outline": [[0, 0], [4, 0], [4, 3], [0, 3]]},
              {"id": "R2", "name": "bathroom", "storey": "L2", "outline": [[0, 0], [4, 0], [4, 3], [0, 3]]}],
    "materials": [{"id": "M1", "name": "tiles", "family": "thermoplastic-tile", "room": "R2", "face": "floor"},
                  {"id": "M2", "name": "coating", "family": "textured-coating", "room": "R1", "face": "ceiling",
                   "shape": {"outline": [[0, 0], [2, 0], [2, 3], [0, 3]]}}],
    "cuts": [{"task": "drill", "room": "R1", "face": "ceiling", "shape": {"point": [2.1, 1]}, "diameter_mm": 40, "depth": "through"},
             {"task": "drill", "room": "R1", "face": "ceiling", "shape": {"point": [3, 1]}, "depth": "surface"}]
  })");
}

TEST(CalcTouches, TheContract) {
  const auto answer = answered("touches", two_rooms());
  ASSERT_EQ(answer["touches"].size(), 2U);
  EXPECT_EQ(answer["touches"][0],
            Json::parse(R"({"cut": 0, "material": "M2", "certainty": "possible", "side": "near", "distance_m": 0.08})"))
      << answer["touches"][0];
  EXPECT_EQ(answer["touches"][1],
            Json::parse(R"({"cut": 0, "material": "M1", "certainty": "definite", "side": "far", "distance_m": 0.0})"));
  EXPECT_FALSE(answer["reasons"].empty());
}

TEST(CalcTouches, TheUncertaintyCanBeSet) {
  auto input = two_rooms();
  input["uncertainty_m"] = 0.05;
  EXPECT_EQ(answered("touches", input)["touches"].size(), 1U);
}

Json kitchen_to_bathroom() {
  auto input = two_rooms();
  input.erase("cuts");
  input["from"] = Json::parse(R"({"room": "R1", "face": "wall-1", "point": [1, 1.2]})");
  input["to"] = Json::parse(R"({"room": "R2", "face": "wall-1", "point": [1, 1.2]})");
  return input;
}

TEST(CalcRoute, WhatStandsInTheWayAndWhatItsReleaseOpens) {
  auto answer = answered("route", kitchen_to_bathroom());
  EXPECT_TRUE(answer["routes"].empty());
  ASSERT_EQ(answer["blocked_by"].size(), 1U);
  EXPECT_EQ(answer["blocked_by"][0]["material"], "M1");
  auto input = kitchen_to_bathroom();
  input["standings"] = Json::parse(R"([{"material": "M1", "standing": "no asbestos detected"}])");
  answer = answered("route", input);
  ASSERT_FALSE(answer["routes"].empty());
  EXPECT_EQ(answer["routes"][0]["holes"].size(), 1U);
  EXPECT_EQ(answer["routes"][0]["path"].front(),
            Json::parse(R"({"room": "R1", "face": "wall-1", "point": [1.0, 1.2]})"));
  EXPECT_EQ(answer["routes"][0]["path"].back(),
            Json::parse(R"({"room": "R2", "face": "wall-1", "point": [1.0, 1.2]})"));
  EXPECT_FALSE(answer.contains("blocked_by"));
}

TEST(FaultCalcRoute, NamesWhereByPointer) {
  auto input = kitchen_to_bathroom();
  input["standings"] = Json::parse(R"([{"material": "M9", "standing": "presumed"}])");
  EXPECT_THAT(refused_in_words("route", input), ElementsAre(testing::StartsWith("/standings/0/material: M9")));
  input = kitchen_to_bathroom();
  input["to"]["point"] = {7, 1};
  EXPECT_THAT(refused_in_words("route", input),
              ElementsAre(testing::StartsWith("/to/point: (7, 1) lies 3.00 m off wall-1 of R2")));
  input = kitchen_to_bathroom();
  input["diameter_mm"] = -1;
  EXPECT_THAT(refused_in_words("route", input), ElementsAre(testing::StartsWith("/diameter_mm")));
}

TEST(FaultCalcTouches, NamesWhereByPointer) {
  auto input = two_rooms();
  input["rooms"][0]["outline"] = Json::parse("[[0, 0], [4, 3], [4, 0], [0, 2]]");
  EXPECT_THAT(refused_in_words("touches", input),
              ElementsAre(testing::StartsWith("/rooms/0/outline: crosses or touches itself")));
  input = two_rooms();
  input["cuts"][1]["face"] = "wall-9";
  input["materials"][0]["room"] = "R7";
  EXPECT_THAT(refused_in_words("touches", input),
              ElementsAre(testing::StartsWith("/materials/0/room: R7 is not a room"),
                          testing::StartsWith("/cuts/1/face: wall-9")));
  input = two_rooms();
  input["cuts"][0]["colour"] = "red";
  EXPECT_THAT(refused_in_words("touches", input), ElementsAre(testing::StartsWith("/cuts/0/colour")));
  input = two_rooms();
  input["materials"][1]["id"] = "M1";
  EXPECT_THAT(refused_in_words("touches", input),
              ElementsAre(testing::StartsWith("/materials/1/id: M1 is used twice")));
}

}  // namespace
}  // namespace lathbook::calc
