#include "fabric/validate.h"

#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include <nlohmann/json.hpp>

#include "assets/assets.h"
#include "book/json.h"
#include "fabric/house_fixture.h"

namespace lathbook::fabric {
namespace {

using namespace fixture;
using ::testing::ElementsAre;
using ::testing::HasSubstr;
using ::testing::IsEmpty;

book::Book book_of(const House& h) {
  book::Book book;
  book.storeys = h.storeys;
  book.rooms = h.rooms;
  book.materials = h.materials;
  book::Job job;
  job.id = {"J1"};
  job.cuts = h.cuts;
  book.jobs.push_back(std::move(job));
  return book;
}

std::vector<std::string> faults_of(const House& h) {
  std::vector<std::string> lines;
  for (const auto& fault : validate(book_of(h))) lines.push_back(fault.text());
  return lines;
}

TEST(Validate, TheDemoHouseIsSound) {
  const auto book = book::book_from_json(nlohmann::json::parse(assets::get("data/demo.json")));
  ASSERT_TRUE(book.ok());
  ASSERT_FALSE(book->rooms.empty());
  for (const auto& fault : validate(*book)) ADD_FAILURE() << fault.text();
}

TEST(Validate, GapsAndOverlapsOfAHandDrawnPlanHeal) {
  auto h = house();
  h.rooms[1].outline = {{3.72, 0.1}, {6.1, -0.1}, {6.0, 3.1}, {3.85, 2.9}};
  EXPECT_THAT(faults_of(h), IsEmpty());
}

TEST(FaultValidate, ARoomThatCrossesItself) {
  auto h = house();
  h.rooms[0].outline = {{0, 0}, {4, 3}, {4, 0}, {0, 3}};
  EXPECT_THAT(faults_of(h), ElementsAre(HasSubstr("kitchen outline: crosses or touches itself")));
  h.rooms[0].outline = {{0, 0}, {4, 3}, {8, 6}, {1, 0.75}};  // all in one line
  EXPECT_THAT(faults_of(h), ElementsAre("kitchen outline: has no area; allowed: corners that enclose some floor"));
  h.rooms[0].outline = {{0, 0}, {4, 3}, {4, 0}, {0, 2}};
  EXPECT_THAT(faults_of(h), ElementsAre("kitchen outline: crosses or touches itself: the edge from (0, 0) and the edge "
                                        "from (4, 0); allowed: corners in order "
                                        "round the room"));
}

TEST(FaultValidate, AnEdgeThatRunsBackOverItself) {
  auto h = house();
  h.rooms[0].outline = {{0, 0}, {4, 0}, {4, 3}, {4, 1}, {4, 3}, {0, 3}};
  EXPECT_EQ(faults_of(h).size(), 1U);
}

TEST(FaultValidate, ARoomWithoutArea) {
  for (const auto& outline : {std::vector<Point>{{20, 0}, {22, 0}, {24, 0}}, {{20, 0}, {20, 0}, {20, 0}}}) {
    auto h = house();
    h.rooms.push_back(room("line", "L0", outline));
    const auto faults = faults_of(h);
    ASSERT_EQ(faults.size(), 1U);
    EXPECT_THAT(faults[0], testing::StartsWith("line outline: "));
  }
}

TEST(FaultValidate, RoomsThatOverlapAreNamedBoth) {
  auto h = house();
  h.rooms[1].outline = box(3.5, 0, 6.1, 3);
  EXPECT_THAT(faults_of(h), ElementsAre("hall outline: overlaps kitchen by 0.50 m near (3.75, 1.50); allowed: rooms "
                                        "side by side; overlaps up to 0.3 m "
                                        "count as a wall between"));
  h.rooms[1].outline = box(1, 1, 2, 2);
  EXPECT_THAT(faults_of(h), testing::Contains(testing::HasSubstr("hall outline: overlaps kitchen by 1.00 m")));
}

TEST(FaultValidate, ARoomThatRisesThroughTheOneAbove) {
  auto h = house();
  h.rooms[0].height_m = 3.2;
  const auto lines = faults_of(h);
  EXPECT_THAT(lines, testing::Contains(testing::HasSubstr("bathroom outline: overlaps kitchen by 3.00 m")));
  h.rooms[0].height_m = 2.9;  // within what heals: a floor drawn a little low
  h.rooms.erase(h.rooms.begin() + 3);
  EXPECT_THAT(faults_of(h), IsEmpty());
}

TEST(FaultValidate, StoreysAndHeightsBelowThemselves) {
  auto h = house();
  h.storeys[0].height_m = -2.4;
  h.rooms[2].height_m = 0;
  EXPECT_THAT(faults_of(h),
              ElementsAre("L0 height_m: -2.4 puts its ceiling below its floor; allowed: a height above 0 m",
                          "bathroom height_m: 0 puts its ceiling below its floor; allowed: a height above 0 m"));
}

TEST(FaultValidate, AZoneOffItsRoom) {
  auto h = house();
  h.rooms[2].heights = {{box(0, 0, 1, 3), 2.0, 1.0}, {box(5, 0, 8, 3), 1.0, 2.0}};
  EXPECT_THAT(
      faults_of(h),
      ElementsAre(
          "bathroom heights 1: 2 to 1 m is not a range of heights; allowed: the lower height first, neither below the "
          "floor",
          "bathroom heights 2: (8, 0) lies 1.90 m outside its room; allowed: corners within 0.3 m of the room"));
}

TEST(FaultValidate, FacesThatDoNotExistAndPointsOffTheirFace) {
  auto h = house();
  h.materials = {material("M1", "kitchen", wall(5)),
                 material("M2", "kitchen", roof(5)),
                 material("M3", "attic", kFloor),
                 material("M4", "kitchen", kFloor, book::PointShape{{4.2, 1}}),
                 material("M5", "kitchen", kFloor, book::PointShape{{4.1, 1}}),
                 material("M6", "kitchen", wall(1), book::SpanShape{3, 4.5, 0, 1}),
                 material("M7", "kitchen", kFloor, book::PolygonShape{{{0, 0}, {1, 1}, {1, 0}, {0, 1.5}}}),
                 material("M8", "kitchen", kFloor, book::SpanShape{0, 1, 0, 1}),
                 material("M9", "kitchen", kFloor, book::LineShape{{{1, 1}, {1, 1}}, 0.1})};
  h.cuts = {hole("hall", wall(1), {0.5, 2.9}, book::Depth::kLayer)};
  EXPECT_THAT(
      faults_of(h),
      ElementsAre(
          "M1 face: wall-5 is not a face of kitchen; allowed: floor, ceiling, inside, wall-1 to wall-4, roof-1 to "
          "roof-4",
          "M2 face: roof-5 is not a face of kitchen; allowed: floor, ceiling, inside, wall-1 to wall-4, roof-1 to "
          "roof-4",
          "M3 room: attic is not a room of this plan; allowed: the id of a room",
          "M4 shape: (4.2, 1) lies 0.20 m off floor of kitchen; allowed: the outline of kitchen, from (0, 0) to (4, 3)",
          "M6 shape: (4.5, 0) lies 0.50 m off wall-1 of kitchen; allowed: 0 to 4.00 m along the wall and 0 to 2.40 m "
          "high",
          "M7 shape: crosses or touches itself: the edge from (0, 0) and the edge from (1, 0); allowed: corners in "
          "order round the shape",
          "M8 shape: floor does not take a span by heights; allowed: a point, a line or an outline; a span is for "
          "walls",
          "M9 shape: is a line without length; allowed: two different points, or a point",
          "J1/cuts/1 shape: (0.5, 2.9) lies 0.50 m off wall-1 of hall; allowed: 0 to 2.00 m along the wall and 0 to "
          "2.40 m high"));
}

TEST(FaultValidate, AnOpeningThatStandsInAnother) {
  const auto opening = [](std::string id, book::OpeningKind kind, std::string from, std::string to, Point at) {
    book::Opening one;
    one.id = {std::move(id)};
    one.kind = kind;
    one.from = {std::move(from)};
    one.to = {std::move(to)};
    one.at = at;
    return one;
  };
  auto book = book_of(house());
  const auto told = [&] {
    std::vector<std::string> lines;
    for (const auto& fault : validate(book)) lines.push_back(fault.text());
    return lines;
  };
  book.openings = {opening("O1", book::OpeningKind::kDoor, "kitchen", "hall", {4.05, 1}),
                   opening("O2", book::OpeningKind::kDoor, "hall", "kitchen", {4.05, 1.5})};
  EXPECT_THAT(told(),
              ElementsAre(HasSubstr("O2 at: (4.05, 1.5) overlaps the door O1 on wall-4 of hall (hall) by 0.30 m")));
  book.openings[1].at = Point{4.05, 1.8};  // side by side, frame to frame
  EXPECT_THAT(told(), IsEmpty());
  book.openings[1].at = Point{4.05, 1.5};
  book.openings[1].kind = book::OpeningKind::kVent;
  EXPECT_THAT(told(), IsEmpty()) << "a vent is set into what is there";
  book.openings[1].kind = book::OpeningKind::kWindow;  // a light over the door
  book.openings[1].sill_m = 2.1;
  book.openings[1].height_m = 0.2;
  EXPECT_THAT(told(), IsEmpty());
  book.openings[1].at.reset();  // nobody has said where
  EXPECT_THAT(told(), IsEmpty());
}

}  // namespace
}  // namespace lathbook::fabric
