#include "check/clearing.h"

#include <fmt/format.h>
#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include <nlohmann/json.hpp>
#include <random>

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

TEST(Clearing, ACertificateOfAFirmOfTheWrongKindOpensNothing) {
  for (const std::string role : {"laboratory", "surveyor", "analyst", "remover", "carrier", "trade"}) {
    auto book = after_the_removal();
    book::Party firm;
    firm.id = {"PA9"};
    firm.role = role;
    book.parties.push_back(firm);
    book.certificates = {sound()};
    book.certificates.front().party = firm.id;
    const auto answer = answer_of(book);
    const bool may = role == "analyst" || role == "laboratory";
    EXPECT_EQ(answer.not_cleared.empty(), may) << role;
    EXPECT_EQ(answer.verdict, may ? Verdict::kMayStart : Verdict::kRemoveFirst) << role;
    if (!may) {
      EXPECT_THAT(answer.sentence, HasSubstr("written down as a " + role));
    }
  }
}

/// Removals begun and done on any day or not at all, of materials in two rooms; a certificate of any of them.
TEST(PropertyClearing, ThePaperIsForItsMaterialsAndForWhatWasBegunInItsRoomsByItsDate) {
  std::mt19937_64 engine(21);
  const auto below = [&](int n) { return static_cast<int>(engine() % static_cast<std::uint64_t>(n)); };
  const auto some_day = [&]() -> std::optional<book::Date> {
    if (below(4) == 0) return std::nullopt;
    return day(fmt::format("2026-03-{:02}", 1 + below(9)).c_str());
  };
  int by_room = 0, too_late = 0, own = 0;
  for (int trial = 0; trial < 4000; ++trial) {
    book::Book book;
    for (int m = 0; m < 4; ++m) {
      book::Material material;
      material.id = {fmt::format("M{}", m)};
      material.place.room = {m % 2 == 0 ? "R0" : "R1"};
      book.materials.push_back(material);
      book::Action action;
      action.id = {fmt::format("A{}", m)};
      action.material = material.id;
      action.kind = below(5) == 0 ? book::ActionKind::kSeal : book::ActionKind::kRemove;
      action.started_on = some_day();
      action.done_on = some_day();
      if (below(3) > 0) action.by = {below(2) == 0 ? "PA1" : "PA2"};
      book.actions.push_back(action);
    }
    book::Certificate paper;
    paper.party = {"PA1"};
    for (int m = 0; m < 4; ++m) {
      if (below(3) == 0) paper.materials.push_back(book.materials[static_cast<std::size_t>(m)].id);
    }
    if (below(2) == 0) paper.rooms.push_back({"R0"});
    paper.issued_on = some_day();
    paper.work_finished_on = some_day();

    // Said once more, item by item.
    auto finished = paper.work_finished_on;
    bool firm_named = false, same_firm = false;
    std::vector<std::string> expected;
    for (std::size_t m = 0; m < 4; ++m) {
      const auto& action = book.actions[m];
      if (action.kind == book::ActionKind::kSeal || (!action.started_on && !action.done_on)) continue;
      bool counts = false;
      for (const auto& id : paper.materials) counts = counts || id == action.material;
      if (!counts && !paper.rooms.empty() && m % 2 == 0) {
        const auto first = action.started_on ? *action.started_on : *action.done_on;
        counts = !paper.issued_on || first <= *paper.issued_on;
        by_room += counts ? 1 : 0;
        too_late += counts ? 0 : 1;
      }
      if (!counts) continue;
      expected.push_back(action.id.text);
      if (action.done_on && (!finished || *finished < *action.done_on)) finished = action.done_on;
      firm_named = firm_named || !action.by.empty();
      same_firm = same_firm || action.by.text == "PA1";
    }
    std::vector<std::string> found;
    for (const auto* removal : removals_of(book, paper)) found.push_back(removal->id.text);
    ASSERT_EQ(found, expected) << trial;
    ASSERT_EQ(work_finished_on(book, paper), finished) << trial;
    ASSERT_EQ(independent(book, paper), firm_named ? std::optional(!same_firm) : std::nullopt) << trial;
    own += same_firm ? 1 : 0;
  }
  EXPECT_GT(by_room, 100);
  EXPECT_GT(too_late, 100);
  EXPECT_GT(own, 100);
}

TEST(Clearing, IssuedWhileTheRemovalInItsRoomWasUnderWayItIsTooEarly) {
  auto book = after_the_removal();
  auto paper = sound();
  paper.rooms = {{"R5"}};
  paper.materials.clear();
  paper.work_finished_on.reset();
  paper.issued_on = day("2026-12-01");  // begun on 2026-11-23, done on 2026-12-03
  book.certificates = {paper};
  const auto house = House::build(book, knowledge()).value();
  const auto held = checked(book, paper, clearance_of(house, paper)->rules);
  ASSERT_TRUE(held.ok());
  ASSERT_THAT(held->findings, SizeIs(1));
  EXPECT_THAT(held->findings.front().what, HasSubstr("before the work was finished on 2026-12-03"));
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
