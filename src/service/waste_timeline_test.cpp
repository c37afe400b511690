#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include <nlohmann/json.hpp>

#include "assets/assets.h"
#include "book/json.h"
#include "catalogue/waste_data.h"
#include "service/answers.h"
#include "service/certificate_answer.h"
#include "service/timeline_answer.h"
#include "service/waste_answer.h"

namespace lathbook::service {
namespace {

using reason::Date;
using ::testing::AllOf;
using ::testing::Contains;
using ::testing::ElementsAre;
using ::testing::HasSubstr;
using ::testing::IsEmpty;
using ::testing::Not;

book::Book demo() { return book::book_from_json(book::Json::parse(assets::get("data/demo.json"))).value(); }

/// A house on its book, kept together since the house points into it.
struct Standing {
  explicit Standing(book::Book from)
      : book(std::move(from)), house(check::House::build(book, knowledge_for(book).value()).value()) {}
  book::Book book;
  check::House house;
};

const TimelineRow& row(const TimelineAnswer& answer, const std::string& id) {
  for (const auto& one : answer.rows) {
    if (one.activity.id == id) return one;
  }
  throw std::logic_error("no row " + id);
}

TimelineAnswer planned(const Standing& at, TimelineQuestion question) {
  auto answer = timeline_answer(at.house, question);
  if (!answer.ok()) throw std::runtime_error(answer.faults().front().text());
  return std::move(*answer);
}

const Date kToday = *Date::parse("2026-11-25");

TEST(WasteAnswer, SheetsGoWholeAndBoardCrumbsByCarrier) {
  const Standing at(demo());
  const auto answer = waste_answer(at.house, {});
  ASSERT_TRUE(answer.ok());
  ASSERT_EQ(answer->pieces.size(), 2U);
  EXPECT_EQ(answer->pieces[0].disposal.way, waste::Way::kOwnHands);
  EXPECT_EQ(answer->pieces[1].disposal.way, waste::Way::kLicensedCarrier);
  ASSERT_FALSE(answer->runs.empty());
  EXPECT_EQ(at.book.vehicles[*answer->runs[0].vehicle].id.text, "V2") << "the estate car is too short";
  EXPECT_EQ(answer->runs[0].plan.trips.size(), 1U);
  EXPECT_EQ(answer->carriers.size(), 1U);
  EXPECT_GT(answer->wrapping.polythene_m2, 0);
  const auto json = waste_json(at.house, *answer);
  EXPECT_EQ(json["runs"][0]["trips"][0]["pieces"][0]["id"], "W1");
  EXPECT_THAT(waste_svg(at.house, *answer), HasSubstr("3 pieces, flat"));
}

book::Piece piece(const char* id, const char* material, double l, double w, double mm, int count) {
  book::Piece out;
  out.id = {id};
  out.name = id;
  out.material = {material};
  out.length_m = l;
  out.width_m = w;
  out.thickness_mm = mm;
  out.count = count;
  return out;
}

TEST(WasteAnswer, AWayCostsOnlyWhatGoesThatWay) {
  const Standing plain(demo());
  auto book = demo();
  book.pieces.push_back(piece("W3", "M8", 5.2, 1.1, 9, 4));  // too long for both vehicles
  const Standing more(std::move(book));
  const auto without = waste_answer(plain.house, {}), with = waste_answer(more.house, {});
  ASSERT_TRUE(without.ok() && with.ok());
  EXPECT_THAT(with->runs[0].left, ElementsAre("W3", "W2"));
  EXPECT_EQ(with->runs[0].cost.low_minor, without->runs[0].cost.low_minor);
  EXPECT_EQ(with->runs[0].cost.high_minor, without->runs[0].cost.high_minor);
  EXPECT_EQ(with->runs[0].cost.parts, without->runs[0].cost.parts);
  EXPECT_EQ(with->wrapping.polythene_m2, without->wrapping.polythene_m2) << "nothing is bought for what stays";
  // What takes nothing costs nothing.
  EXPECT_TRUE(with->runs[1].plan.trips.empty());
  EXPECT_EQ(with->runs[1].cost.high_minor, 0);
}

TEST(WasteAnswer, TheCarrierForTheRestIsPartOfTheComparison) {
  auto book = demo();
  const Standing plain(book);
  auto json = waste_json(plain.house, *waste_answer(plain.house, {}));
  EXPECT_EQ(json["runs"][0]["left"], Json({"W2"}));
  EXPECT_EQ(json["runs"][0]["carrier_for_the_rest"], "PA4");
  EXPECT_EQ(json["runs"][0]["cost_of_the_rest"], 18000);
  EXPECT_EQ(json["runs"][0]["days_high"], 1);
  EXPECT_EQ(json["runs"][0]["people"], 2) << "a sheet of up to 42 kg is not for one";
  // A quote is better than a call-out charge, the latest best.
  for (const auto& [id, day, amount] : {std::tuple("Q7", "2026-11-01", 26000), std::tuple("Q8", "2026-11-09", 24000)}) {
    book::Quote quote;
    quote.id = {id};
    quote.party = {"PA4"};
    quote.amount = amount;
    quote.quoted_on = Date::parse(day);
    book.quotes.push_back(quote);
  }
  const Standing quoted(book);
  json = waste_json(quoted.house, *waste_answer(quoted.house, {}));
  EXPECT_EQ(json["carriers"][0]["price"], 24000);
  EXPECT_EQ(json["carriers"][0]["quote"], "Q8");
}

TEST(WasteAnswer, SmallPiecesTravelAndAreCountedByTheBag) {
  auto book = demo();
  book.pieces.push_back(piece("W3", "M11", 0.23, 0.23, 3, 40));
  const Standing at(book);
  const auto answer = waste_answer(at.house, {});
  ASSERT_TRUE(answer.ok());
  const auto& run = answer->runs[0];
  ASSERT_EQ(run.bags.size(), 1U);
  EXPECT_THAT(run.bags[0].holds.pieces, ElementsAre(std::pair(std::string("W3"), 40)));
  EXPECT_EQ(run.plan.trips.size(), 2U) << "three sheets and a bag, three a visit: forty tiles are not forty pieces";
  EXPECT_EQ(run.wrapping.bags, 1);
  // Wrapped already, they stay in their bag, and none is bought.
  book.pieces.back().wrapped = true;
  const Standing wrapped(book);
  const auto then = waste_answer(wrapped.house, {});
  EXPECT_EQ(then->runs[0].bags.size(), 1U);
  EXPECT_EQ(then->runs[0].wrapping.bags, 0);
}

TEST(WasteAnswer, ASiteThatTakesBagsAloneGetsNoSheets) {
  auto book = demo();
  book.sites.resize(1);
  book.sites[0].rules = "gb-mass-a-year";
  const Standing at(std::move(book));
  const auto answer = waste_answer(at.house, {});
  ASSERT_TRUE(answer.ok());
  ASSERT_FALSE(answer->runs.empty());
  for (const auto& run : answer->runs) {
    EXPECT_TRUE(run.plan.trips.empty());
    ASSERT_EQ(run.plan.will_not_go.size(), 1U);
    EXPECT_THAT(run.plan.will_not_go[0].why, HasSubstr("the site takes no sheets"));
  }
}

TEST(WasteAnswer, SaysWhatIsMissing) {
  auto book = demo();
  book.vehicles.clear();
  book.sites.clear();
  book.parties.clear();
  const Standing at(std::move(book));
  const auto answer = waste_answer(at.house, {});
  ASSERT_TRUE(answer.ok());
  EXPECT_TRUE(answer->runs.empty());
  EXPECT_EQ(answer->next.size(), 3U);
}

TEST(FaultWasteAnswer, UnknownVehicleSiteAndNationAreAllNamed) {
  const Standing at(demo());
  const auto answer = waste_answer(at.house, {.vehicle = "V9", .site = "TS9", .nation = "atlantis"});
  ASSERT_FALSE(answer.ok());
  EXPECT_EQ(answer.faults().size(), 3U);
  EXPECT_THAT(answer.faults()[0].text(), HasSubstr("V1, V2"));
}

TEST(PropertyWasteAnswer, NothingLicensedEverHasARunOfItsOwn) {
  // Every family of the catalogue in turn as the whole sheets' material.
  for (const auto& family : catalogue::shipped().families) {
    auto book = demo();
    for (auto& material : book.materials) {
      if (material.id == book.pieces[0].material) {
        material.family = family.id;
        material.proof.reset();
      }
    }
    const Standing at(std::move(book));
    const auto answer = waste_answer(at.house, {});
    ASSERT_TRUE(answer.ok());
    const bool licensed = family.legal_kind == catalogue::LegalKind::kInsulatingBoard ||
                          family.legal_kind == catalogue::LegalKind::kInsulation ||
                          family.legal_kind == catalogue::LegalKind::kCoating;
    if (licensed) {
      EXPECT_TRUE(answer->runs.empty()) << family.id;
      EXPECT_EQ(answer->wrapping.polythene_m2, 0) << family.id;
    }
  }
}

TEST(TimelineAnswer, AJobIntoAFaceNobodyHasWrittenDownWaitsForALook) {
  auto book = demo();
  book.jobs[0].cuts = {{.task = "drill", .place = {{"R3"}, {book::FaceKind::kWall, 1}, book::WholeFace{}}}};
  const Standing at(std::move(book));
  const auto answer = planned(at, {.today = kToday});
  EXPECT_THAT(row(answer, "J1").planned.held_by_ids, Contains("look-J1"));
  EXPECT_GT(row(answer, "J1").planned.start, kToday);
}

TEST(TimelineAnswer, AJobWaitsForTestRemovalAndClearance) {
  const Standing at(demo());
  const auto answer = planned(at, {.today = kToday, .away = {}, .dry = {}});
  const auto& job = row(answer, "J4");
  EXPECT_THAT(job.activity.after, Contains("clear-M14"));
  EXPECT_GE(job.planned.start, row(answer, "clear-M14").planned.finish);
  EXPECT_EQ(row(answer, "remove-M14").planned.start, kToday) << "under way since the 23rd";
  EXPECT_EQ(row(answer, "remove-M14").planned.finish, *Date::parse("2026-12-04")) << "its due date";
  EXPECT_GE(row(answer, "J5").planned.start, job.planned.finish);
  for (const auto& one : answer.rows) {
    EXPECT_LE(one.range.start.low, one.planned.start) << one.activity.id;
    EXPECT_LE(one.planned.start, one.range.start.high) << one.activity.id;
  }
  EXPECT_FALSE(answer.reasons.empty());
}

TEST(TimelineAnswer, AJobThatMayBeginWaitsForWhatIsDecidedToComeOut) {
  auto book = demo();
  // J3 lifts the kitchen tiles, M4, found clear; a drilled hole through asbestos cement may be done with precautions.
  book::Job job;
  job.id.text = "J90";
  job.title = "A hook under the shed roof";
  job.by = book::Who::kTrade;
  const auto sheets = std::ranges::find(book.materials, std::string("cement-profiled-sheet"), &book::Material::family);
  ASSERT_NE(sheets, book.materials.end());
  job.cuts = {{.task = "drill", .place = {sheets->place.room, sheets->place.face, book::WholeFace{}}, .minutes = 10}};
  book.jobs.push_back(job);
  const std::string removal = "remove-" + sheets->id.text;
  const auto held = [&](const book::Book& one) {
    const Standing at(one);
    return row(planned(at, {.today = kToday, .away = {}, .dry = {}}), "J90").activity.after;
  };
  std::erase_if(book.actions, [&](const book::Action& one) { return one.material == sheets->id; });
  EXPECT_THAT(held(book), Not(Contains(removal))) << "nothing is decided";
  book.actions.push_back({.id = {"A90"}, .material = sheets->id, .kind = book::ActionKind::kRemove});
  EXPECT_THAT(held(book), Contains(removal));
  book.jobs.back().cuts[0].task = "lift-whole";
  EXPECT_THAT(held(book), Not(Contains(removal))) << "it is the removal itself";
}

TEST(TimelineAnswer, NoticeIsKeptBeforeLicensedRemovals) {
  const Standing at(demo());
  const auto answer = planned(at, {.today = kToday, .away = {}, .dry = {}});
  int licensed = 0, other = 0;
  for (const auto& one : answer.rows) {
    if (!one.activity.id.starts_with("book-")) continue;
    if (check::licensed_to_remove(at.house, *one.material)) {
      EXPECT_GE(one.activity.days.low, 14) << one.activity.id;
      EXPECT_THAT(one.activity.name, HasSubstr("Notice"));
      ++licensed;
    } else {
      EXPECT_THAT(one.activity.name, Not(HasSubstr("Notice"))) << one.activity.id;
      ++other;
    }
  }
  EXPECT_GT(licensed, 0);
  EXPECT_GT(other, 0);
}

TEST(TimelineAnswer, ARemovalWithoutALicenceNeedsNoCertificate) {
  const Standing at(demo());
  const auto answer = planned(at, {.today = kToday, .away = {}, .dry = {}});
  EXPECT_THAT(row(answer, "J4").activity.after, Contains("remove-M13")) << "felt, not licensed";
  EXPECT_THROW((void)row(answer, "clear-M13"), std::logic_error);
  EXPECT_THAT(row(answer, "clear-M9").activity.after, ElementsAre("remove-M9"));
}

/// The demo with a job on a plain wall of the extension, where A1 takes the ceiling boards (M14) out.
book::Book with_a_job_in_the_extension() {
  auto book = demo();
  book::Material plaster;
  plaster.id = {"M99"};
  plaster.name = "Brick wall";
  plaster.family = "plain-masonry";
  plaster.place = {{"R5"}, {book::FaceKind::kWall, 1}, {}};
  book.materials.push_back(plaster);
  book::Job job;
  job.id = {"J99"};
  job.title = "A shelf in the extension";
  job.cuts = {{.task = "drill", .place = {{"R5"}, {book::FaceKind::kWall, 1}, book::WholeFace{}}}};
  book.jobs.push_back(job);
  return book;
}

void removed_on(book::Book& book, const char* day, bool written_down) {
  for (auto& action : book.actions) {
    if (action.id.text == "A1") action.done_on = Date::parse(day);
  }
  for (auto& material : book.materials) {
    if (written_down && material.id.text == "M14") material.removed_on = Date::parse(day);
  }
}

book::Certificate sound_certificate() {
  book::Certificate paper;
  paper.id = {"C1"};
  paper.materials = {{"M14"}};
  paper.party = {"PA9"};
  paper.area_m2 = 10.1;
  paper.height_m = 2.4;
  paper.work_finished_on = Date::parse("2026-11-20");
  paper.issued_on = Date::parse("2026-11-21");
  paper.stages = {"preliminary check", "visual inspection", "air test", "final look"};
  for (int i = 0; i < 2; ++i) {
    book::AirSample sample;
    sample.litres = 480;
    sample.fields = 200;
    sample.fibres = 3;
    paper.samples.push_back(sample);
  }
  return paper;
}

TEST(TimelineAnswer, AJobInARoomUnderRemovalWaitsForItsCertificate) {
  const Standing at(with_a_job_in_the_extension());
  const auto answer = planned(at, {.today = kToday, .away = {}, .dry = {}});
  EXPECT_THAT(row(answer, "J99").activity.after, Contains("clear-M14"));
  EXPECT_GE(row(answer, "J99").planned.start, row(answer, "clear-M14").planned.finish);
}

TEST(TimelineAnswer, AJobInARoomThatIsNotClearedWaitsForItsCertificate) {
  auto book = with_a_job_in_the_extension();
  removed_on(book, "2026-11-20", true);
  const Standing at(book);
  const auto answer = planned(at, {.today = kToday, .away = {}, .dry = {}});
  EXPECT_THAT(row(answer, "J99").activity.after, Contains("clear-M14"));
  EXPECT_THAT(row(answer, "clear-M14").activity.after, IsEmpty()) << "the removal itself is over";
  EXPECT_GT(row(answer, "J99").planned.start, kToday);
  EXPECT_THROW((void)row(answer, "remove-M14"), std::logic_error);

  book.certificates = {sound_certificate()};
  const Standing cleared(book);
  const auto then = planned(cleared, {.today = kToday, .away = {}, .dry = {}});
  EXPECT_THAT(row(then, "J99").activity.after, Not(Contains("clear-M14")));

  book.certificates[0].samples[0].litres = 100;
  const Standing failed(book);
  EXPECT_THAT(row(planned(failed, {.today = kToday, .away = {}, .dry = {}}), "clear-M14").activity.name,
              HasSubstr("once more"));
}

TEST(TimelineAnswer, WhatIsOutButNotWrittenDownAsGoneIsNotTakenOutTwice) {
  auto book = with_a_job_in_the_extension();
  removed_on(book, "2026-11-20", false);
  const Standing at(std::move(book));
  const auto answer = planned(at, {.today = kToday, .away = {}, .dry = {}});
  EXPECT_THAT(row(answer, "J4").activity.after, AllOf(Contains("gone-M14"), Contains("clear-M14")));
  EXPECT_THROW((void)row(answer, "remove-M14"), std::logic_error);
}

TEST(TimelineAnswer, ReasonsNameActivitiesAndNotTheirIds) {
  const Standing at(demo());
  const auto answer = planned(at, {.today = kToday, .away = {}, .dry = {}});
  for (const auto& one : answer.reasons) {
    EXPECT_THAT(one.text, Not(::testing::ContainsRegex("(book|test|remove|clear|sample)-M[0-9]"))) << one.text;
  }
}

TEST(TimelineAnswer, AwayAndWetDaysPutJobsOff) {
  const Standing at(demo());
  const auto before = planned(at, {.today = kToday, .away = {}, .dry = {}});
  EXPECT_EQ(row(before, "J1").planned.start, kToday);
  const auto after = planned(at, {.today = kToday,
                                  .away = {{kToday, *Date::parse("2026-12-01"), "away"}},
                                  .dry = {{*Date::parse("2027-04-01"), *Date::parse("2027-09-30"), "dry"}}});
  EXPECT_EQ(row(after, "J1").planned.start, *Date::parse("2026-12-02"));
  EXPECT_EQ(row(after, "J6").planned.start, *Date::parse("2027-04-01")) << "the garage roof waits for dry weather";
}

TEST(TimelineAnswer, DaysAwayAndDryWeatherOfTheBookCountLikeThoseAsked) {
  auto book = demo();
  book.about.away = {{kToday, *Date::parse("2026-12-01"), ""}};
  book.about.dry = {{*Date::parse("2027-04-01"), *Date::parse("2027-09-30"), "summer"}};
  const Standing at(std::move(book));
  const auto answer = planned(
      at, {.today = kToday, .away = {{*Date::parse("2026-12-02"), *Date::parse("2026-12-03"), "guests"}}, .dry = {}});
  EXPECT_EQ(row(answer, "J1").planned.start, *Date::parse("2026-12-04"));
  EXPECT_EQ(row(answer, "J6").planned.start, *Date::parse("2027-04-01"));
  const auto json = timeline_json(at.house, answer);
  EXPECT_EQ(json["away"].size(), 2U);
  EXPECT_EQ(json["dry"][0]["why"], "summer");
}

TEST(PropertyTimelineAnswer, BadNewsNeverBringsAJobForward) {
  // A find in the lagging over the kitchen, or a longer laboratory, can only put jobs off.
  const Standing at(demo());
  const auto before = planned(at, {.today = kToday, .away = {}, .dry = {}});
  auto slower = demo();
  for (auto& party : slower.parties) {
    if (party.role == "laboratory") party.lead_days = *party.lead_days + 9;
  }
  const Standing late(std::move(slower));
  const auto after = planned(late, {.today = kToday, .away = {}, .dry = {}});
  for (const auto& one : before.rows) {
    if (one.job) {
      EXPECT_LE(one.planned.start, row(after, one.activity.id).planned.start);
    }
  }
}

TEST(FaultTimelineAnswer, WorkThatNeverEndsIsNamedByWhatItIs) {
  auto book = demo();
  book.about.away = {{*Date::parse("2026-11-25"), *Date::parse("2390-01-01"), "gone"}};
  const Standing at(std::move(book));
  const auto answer = timeline_answer(at.house, {.today = kToday, .away = {}, .dry = {}});
  ASSERT_FALSE(answer.ok());
  EXPECT_THAT(answer.faults().front().where, HasSubstr("Ceiling boards, kitchen extension"));
  EXPECT_THAT(answer.faults().front().text(), HasSubstr("would not be finished within 200 years"));
  EXPECT_THAT(answer.faults().front().text(), Not(HasSubstr("/activities")));
}

TEST(TimelineAnswer, CalendarHoldsJobsLooksAndExpiries) {
  const Standing at(demo());
  const auto answer = planned(at, {.today = kToday, .away = {}, .dry = {}});
  std::vector<std::string> keys;
  for (const auto& one : answer.calendar) keys.push_back(one.key);
  EXPECT_THAT(keys, Contains("J4"));
  EXPECT_THAT(keys, Contains("look-M1"));
  EXPECT_THAT(keys, Contains("licence-PA2"));
  EXPECT_THAT(keys, Contains("quote-Q1"));
  EXPECT_EQ(std::set(keys.begin(), keys.end()).size(), keys.size()) << "each key once";
  EXPECT_THAT(timeline_ics(answer, "house", "2026-11-25T08:00:00Z"), HasSubstr("DTSTAMP:20261125T080000Z\r\n"));
}

TEST(CertificateAnswer, FindsWhatDoesNotStand) {
  const auto book = demo();
  const auto knowledge = knowledge_for(book);
  ASSERT_TRUE(knowledge.ok());
  const auto house = check::House::build(book, *knowledge);
  ASSERT_TRUE(house.ok());
  auto paper = sound_certificate();
  paper.materials.clear();
  paper.issued_on = *Date::parse("2026-12-04");
  paper.work_finished_on = *Date::parse("2026-12-04");
  EXPECT_TRUE(certificate_answer(*house, paper)->pass);
  // Dated before the work: by the paper itself, or by the book where the paper gives no day.
  paper.materials = {{"M14"}};
  paper.work_finished_on.reset();
  EXPECT_TRUE(certificate_answer(*house, paper)->pass);
  auto later = book;
  removed_on(later, "2026-12-05", true);
  const Standing done(later);
  ASSERT_EQ(certificate_answer(done.house, paper)->findings.size(), 1U);
  EXPECT_THAT(certificate_answer(done.house, paper)->findings[0].what,
              HasSubstr("before the work was finished on 2026-12-05"));
  paper.work_finished_on = *Date::parse("2026-12-04");
  paper.issued_on = *Date::parse("2026-12-01");
  const auto answer = certificate_answer(*house, paper);
  EXPECT_FALSE(answer->pass);
  EXPECT_EQ(certificate_json(paper, *answer)["faults"].size(), 1U);
  paper.samples[0].fibres = 5000;
  ASSERT_FALSE(certificate_answer(*house, paper).ok());
  EXPECT_EQ(certificate_answer(*house, paper).faults()[0].where, "C1/samples/1 fibres");
}

}  // namespace
}  // namespace lathbook::service
