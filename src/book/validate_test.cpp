#include "book/validate.h"

#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include <algorithm>

namespace lathbook::book {
namespace {

using ::testing::Contains;
using ::testing::ElementsAre;
using ::testing::HasSubstr;
using ::testing::IsEmpty;

std::vector<std::string> texts(const Book& book) {
  std::vector<std::string> lines;
  for (const auto& fault : validate(book)) lines.push_back(fault.text());
  return lines;
}

Book small() {
  Book book;
  book.storeys.push_back({{"L1"}, "ground", 0, 2.4});
  Room room;
  room.id = {"R1"};
  room.name = "kitchen";
  room.storey = {"L1"};
  room.outline = {{0, 0}, {4, 0}, {4, 3}, {0, 3}};
  book.rooms.push_back(room);
  Material material;
  material.id = {"M1"};
  material.name = "ceiling board";
  material.family = "insulating-board";
  material.place = {{"R1"}, {FaceKind::kCeiling, 0}, WholeFace{}};
  book.materials.push_back(material);
  Sample sample;
  sample.id = {"S1"};
  sample.material = {"M1"};
  sample.taken_on = Date::parse("2026-03-02");
  book.samples.push_back(sample);
  for (const char* id : {"J1", "J2", "J3"}) {
    Job job;
    job.id = {id};
    job.title = id;
    book.jobs.push_back(job);
  }
  return book;
}

TEST(Validate, ASoundBookHasNoFault) { EXPECT_THAT(validate(small()), IsEmpty()); }

TEST(FaultValidate, NamesAReferenceThatLeadsNowhereAndWhatThereIs) {
  auto book = small();
  book.materials[0].place.room = {"R9"};
  EXPECT_THAT(texts(book), Contains("M1 room: R9 is not the id of a room in this book; allowed: R1"));
}

TEST(FaultValidate, FindsIdsUsedTwice) {
  auto book = small();
  book.rooms.push_back(book.rooms[0]);
  EXPECT_THAT(texts(book), Contains(HasSubstr("R1 id: is used by two items")));
}

TEST(FaultValidate, NamesTheCycleAmongJobs) {
  auto book = small();
  book.jobs[0].after = {{"J2"}};
  book.jobs[1].after = {{"J3"}};
  book.jobs[2].after = {{"J1"}};
  EXPECT_THAT(texts(book), Contains(HasSubstr("J1 after: J1 after J2 after J3 after J1 goes round in a circle")));
  book.jobs[2].after = {{"J3"}};
  EXPECT_THAT(texts(book), Contains(HasSubstr("J3 after J3 goes round in a circle")));
}

TEST(FaultValidate, NamesTheCycleAmongGroups) {
  auto book = small();
  book.groups.push_back({{"G1"}, "boards", {"G2"}, Alike::kSameLook});
  book.groups.push_back({{"G2"}, "all", {"G1"}, Alike::kSameLook});
  EXPECT_THAT(texts(book), Contains(HasSubstr("goes round in a circle")));
}

TEST(FaultValidate, ALongChainIsNoCycleAndDoesNotExhaustTheStack) {
  Book book;
  for (int i = 1; i <= 200000; ++i) {
    Job job;
    job.id = {"J" + std::to_string(i)};
    if (i > 1) job.after = {{"J" + std::to_string(i - 1)}};
    book.jobs.push_back(std::move(job));
  }
  std::reverse(book.jobs.begin(), book.jobs.end());
  EXPECT_THAT(validate(book), IsEmpty());
}

TEST(FaultValidate, YearsAndDatesInOrder) {
  auto book = small();
  book.phases.push_back({{"PH1"}, "house", {1960, 1954}, ""});
  LabResult result;
  result.id = {"LR1"};
  result.sample = {"S1"};
  result.reported_on = Date::parse("2026-03-01");
  result.fibres = {Fibre::kAmosite};
  book.results.push_back(result);
  EXPECT_THAT(texts(book), Contains(HasSubstr("PH1 years: 1960-1954 ends before it begins")));
  EXPECT_THAT(texts(book),
              Contains(HasSubstr("LR1 reported_on: 2026-03-01 is before the day the sample was taken (2026-03-02)")));
  EXPECT_THAT(texts(book), Contains(HasSubstr("LR1 fibres: amosite is named though nothing was found")));
}

TEST(FaultValidate, ASampleHasOneResult) {
  auto book = small();
  for (const char* id : {"LR1", "LR2"}) {
    LabResult result;
    result.id = {id};
    result.sample = {"S1"};
    book.results.push_back(result);
  }
  EXPECT_THAT(texts(book), ElementsAre(HasSubstr("LR2 sample: S1 has a result already (LR1); allowed: one result for "
                                                 "each sample")));
  book.results.pop_back();
  EXPECT_THAT(validate(book), IsEmpty());
}

TEST(FaultValidate, ALabelIsOnOneBag) {
  auto book = small();
  book.materials.push_back({.id = {"M7"}, .name = "board", .family = "insulating-board", .place = {.room = {"R1"}}});
  const auto fault_of = [&](const char* first, const char* second) {
    book.samples = {{.id = {"S1"}, .material = {"M7"}, .label = first},
                    {.id = {"S2"}, .material = {"M7"}, .label = second}};
    std::vector<std::string> told;
    for (auto& text : texts(book)) {
      if (text.find("label") != std::string::npos) told.push_back(std::move(text));
    }
    return told;
  };
  EXPECT_THAT(fault_of("M7-1", "M7-2"), IsEmpty());
  EXPECT_THAT(fault_of("", ""), IsEmpty());
  EXPECT_THAT(fault_of("M7-1", "M7-1"), ElementsAre(HasSubstr("S2 label: M7-1 is written on S1 already")));
}

TEST(FaultValidate, APersonIsInOnePlaceAtATime) {
  auto book = small();
  book.people.push_back({{"PE1"}, "owner", "", {}, {}, {}});
  Event event;
  event.id = {"E1"};
  event.stays = {{{"PE1"}, {"R1"}, 0, 30, true}, {{"PE1"}, {"R1"}, 20, 40, false}, {{"PE1"}, {"R1"}, 50, 50, false}};
  book.events.push_back(event);
  EXPECT_THAT(texts(book), Contains(HasSubstr("E1/stays/2 person: PE1 is in two places at once")));
  EXPECT_THAT(texts(book), Contains(HasSubstr("E1/stays/3 to_min: 50 is not after from_min (50)")));
}

TEST(FaultValidate, AGroupMemberSaysHowAlikeItIs) {
  auto book = small();
  book.groups.push_back({{"G1"}, "boards", {}, {}});
  book.materials[0].group = {"G1"};
  EXPECT_THAT(texts(book), Contains(HasSubstr("M1 alike: is missing")));
}

TEST(FaultValidate, ASpanIsForWalls) {
  auto book = small();
  book.materials[0].place.shape = SpanShape{1, 0.5, 0, 2};
  EXPECT_THAT(texts(book), Contains(HasSubstr("M1 shape: 1 to 0.5 m has no width")));
  EXPECT_THAT(texts(book), Contains(HasSubstr("M1 shape: ceiling does not take a span by heights")));
}

}  // namespace
}  // namespace lathbook::book
