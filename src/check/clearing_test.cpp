#include "check/clearing.h"

#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include <nlohmann/json.hpp>

#include "assets/assets.h"
#include "book/json.h"
#include "catalogue/evidence_data.h"
#include "check/check.h"

namespace lathbook::check {
namespace {

using ::testing::HasSubstr;
using ::testing::IsEmpty;
using ::testing::SizeIs;

const Knowledge& knowledge() {
  static const Knowledge kKnowledge{catalogue::shipped(), catalogue::shipped_evidence(), *law::find_pack("gb")};
  return kKnowledge;
}

reason::Date day(const char* text) { return reason::Date::parse(text).value(); }

/// The demo house once the extension's boards are out, with a new job on the plain wall of that room.
book::Book after_the_removal() {
  auto book = book::book_from_json(book::Json::parse(assets::get("data/demo.json"))).value();
  for (auto& action : book.actions) {
    if (action.id.text == "A1") action.done_on = day("2026-12-03");
  }
  std::erase_if(book.actions, [](const book::Action& action) { return action.id.text == "A2"; });
  book.events.clear();
  std::string room;
  for (auto& material : book.materials) {
    if (material.id.text != "M14") continue;
    material.removed_on = day("2026-12-03");
    room = material.place.room.text;
  }
  book::Material plaster;
  plaster.id = {"M99"};
  plaster.name = "Brick wall";
  plaster.family = "plain-masonry";
  plaster.place = {{room}, {book::FaceKind::kWall, 1}, {}};
  book.materials.push_back(plaster);
  book.jobs.erase(book.jobs.begin() + 1, book.jobs.end());
  auto& job = book.jobs.front();
  job.by = book::Who::kHouseholder;
  job.cuts.resize(1);
  job.cuts[0].place.room = {room};
  job.cuts[0].place.face = {book::FaceKind::kWall, 1};
  job.cuts[0].place.shape = {};
  job.cuts[0].depth = book::Depth::kLayer;
  return book;
}

/// Eight litres a minute for an hour, few fibres: as a sound certificate has them.
book::Certificate sound() {
  book::Certificate certificate;
  certificate.id = {"C9"};
  certificate.materials = {{"M14"}};
  certificate.work_finished_on = day("2026-12-03");
  certificate.issued_on = day("2026-12-04");
  certificate.stages = {"preliminary check", "visual inspection", "air test", "final look"};
  certificate.area_m2 = 9;
  certificate.height_m = 2.4;
  for (int i = 0; i < 2; ++i) {
    book::AirSample sample;
    sample.litres = 480;
    sample.fibres = 3;
    sample.fields = 200;
    certificate.samples.push_back(sample);
  }
  return certificate;
}

Answer answer_of(const book::Book& book) {
  const auto house = House::build(book, knowledge()).value();
  return Checker(house).job(0);
}

TEST(Clearing, ARoomWithoutItsCertificateIsNotWorkedIn) {
  const auto answer = answer_of(after_the_removal());
  EXPECT_EQ(answer.verdict, Verdict::kRemoveFirst);
  EXPECT_THAT(answer.sentence, HasSubstr("no certificate in this book clears the room"));
  ASSERT_THAT(answer.not_cleared, SizeIs(1));
  EXPECT_FALSE(answer.not_cleared.front().under_way);
  ASSERT_FALSE(answer.ways.empty());
  EXPECT_EQ(answer.ways.front().kind, WayKind::kAwaitRemoval);
}

TEST(Clearing, ASoundCertificateOpensTheRoom) {
  auto book = after_the_removal();
  book.certificates = {sound()};
  const auto answer = answer_of(book);
  EXPECT_THAT(answer.not_cleared, IsEmpty());
  EXPECT_EQ(answer.verdict, Verdict::kMayStart) << answer.sentence;
}

TEST(Clearing, ACertificateThatFailsItsOwnFiguresDoesNot) {
  auto book = after_the_removal();
  auto certificate = sound();
  certificate.samples[1].litres = 240;
  book.certificates = {certificate};
  const auto answer = answer_of(book);
  EXPECT_EQ(answer.verdict, Verdict::kRemoveFirst);
  EXPECT_THAT(answer.sentence, HasSubstr("C9"));
  EXPECT_THAT(answer.sentence, HasSubstr("240 litres"));
}

TEST(Clearing, ACertificateOfEarlierWorkOrAnotherRoomSaysNothing) {
  auto book = after_the_removal();
  book.certificates = {sound()};
  book.certificates.front().issued_on = day("2026-12-01");
  book.certificates.front().work_finished_on = day("2026-12-01");
  EXPECT_EQ(answer_of(book).verdict, Verdict::kRemoveFirst);
  book.certificates = {sound()};
  book.certificates.front().materials = {{"M1"}};
  EXPECT_EQ(answer_of(book).verdict, Verdict::kRemoveFirst);
}

TEST(Clearing, WhileItIsUnderWayOnlyTheRemoversWorkThere) {
  auto book = after_the_removal();
  for (auto& action : book.actions) {
    if (action.id.text == "A1") action.done_on.reset();
  }
  for (auto& material : book.materials) material.removed_on.reset();
  EXPECT_THAT(answer_of(book).sentence, HasSubstr("under way since 2026-11-23"));
  EXPECT_EQ(answer_of(book).verdict, Verdict::kRemoveFirst);
  book.jobs.front().by = book::Who::kLicensedRemover;
  EXPECT_THAT(answer_of(book).not_cleared, IsEmpty());
}

TEST(Clearing, WhatNeedsNoLicenceNeedsNoCertificate) {
  auto book = after_the_removal();
  for (auto& material : book.materials) {
    if (material.id.text == "M14") material.family = "cement-flat-sheet";
  }
  EXPECT_THAT(answer_of(book).not_cleared, IsEmpty());
}

TEST(Clearing, ARemovalFromBeforeTheBookAsksForNothing) {
  auto book = after_the_removal();
  book.actions.clear();
  EXPECT_EQ(answer_of(book).verdict, Verdict::kMayStart);
}

/// The same, with no removal, and a board of the same room broken on a day.
book::Book after_a_mistake() {
  auto book = after_the_removal();
  book.actions.clear();
  book::Event event;
  event.id = {"E9"};
  event.title = "A board broken";
  event.started_at = "2026-12-01T10:20";
  event.materials = {{"M15"}};
  event.cuts.push_back(book.jobs.front().cuts.front());
  event.cuts.push_back(book.jobs.front().cuts.front());
  book.events = {event};
  return book;
}

TEST(Clearing, NobodyWorksWhereSomethingWasDisturbedUntilTheRoomIsCleared) {
  auto book = after_a_mistake();
  auto answer = answer_of(book);
  EXPECT_EQ(answer.verdict, Verdict::kRemoveFirst) << answer.sentence;
  EXPECT_THAT(answer.sentence, HasSubstr("was disturbed there on 2026-12-01 (E9), and no certificate"));
  ASSERT_THAT(answer.not_cleared, SizeIs(1));
  ASSERT_FALSE(answer.ways.empty());
  EXPECT_THAT(answer.ways.front().text, HasSubstr("have a licensed remover clean it"));
  EXPECT_FALSE(answer.ways.front().cost) << "a clean-up costs something";
  book.jobs.front().by = book::Who::kTrade;
  EXPECT_EQ(answer_of(book).verdict, Verdict::kRemoveFirst);
  book.jobs.front().by = book::Who::kLicensedRemover;
  EXPECT_THAT(answer_of(book).not_cleared, IsEmpty()) << "who cleans it up goes in";
}

TEST(Clearing, ACertificateOfTheRoomSinceThenOpensItAgain) {
  auto book = after_a_mistake();
  book.certificates = {sound()};
  book.certificates.front().materials.clear();
  book.certificates.front().rooms = {book.jobs.front().cuts.front().place.room};
  EXPECT_EQ(answer_of(book).verdict, Verdict::kMayStart) << answer_of(book).sentence;
  book.certificates.front().rooms.clear();
  book.certificates.front().materials = {{"M14"}};  // of the same room
  EXPECT_EQ(answer_of(book).verdict, Verdict::kMayStart) << answer_of(book).sentence;
  book.certificates.front().issued_on = day("2026-11-30");
  EXPECT_EQ(answer_of(book).verdict, Verdict::kRemoveFirst) << "of earlier work";
}

TEST(Clearing, WhatIsOnlyImaginedReleasedOrFirmlyBoundClosesNoRoom) {
  auto book = after_a_mistake();
  book.events.front().imagined = true;
  EXPECT_EQ(answer_of(book).verdict, Verdict::kMayStart);
  book = after_a_mistake();
  for (auto& material : book.materials) {
    if (material.id.text == "M15") material.family = "cement-flat-sheet";
  }
  EXPECT_EQ(answer_of(book).verdict, Verdict::kMayStart);
  book = after_a_mistake();
  book.jobs.front().cuts.front().place.room = {"R1"};  // another room
  EXPECT_THAT(answer_of(book).not_cleared, IsEmpty());
}

}  // namespace
}  // namespace lathbook::check
