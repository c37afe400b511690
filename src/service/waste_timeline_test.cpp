#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include <nlohmann/json.hpp>

#include "assets/assets.h"
#include "book/json.h"
#include "catalogue/waste_data.h"
#include "law/pack.h"
#include "service/answers.h"
#include "service/certificate_answer.h"
#include "service/timeline_answer.h"
#include "service/waste_answer.h"

namespace lathbook::service {
namespace {

using reason::Date;
using ::testing::Contains;
using ::testing::HasSubstr;

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
  EXPECT_THAT(waste_svg(at.house, *answer), HasSubstr("3 piece(s), flat"));
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

TEST(WasteAnswer, CodesAreThoseOfTheRulePack) {
  const auto* pack = law::find_pack("gb");
  ASSERT_NE(pack, nullptr);
  for (const auto& kind : catalogue::shipped_waste_data("gb").kinds) {
    const auto* code = pack->waste_code(kind.kind);
    ASSERT_NE(code, nullptr) << catalogue::word(kind.kind);
    EXPECT_EQ(code->code, kind.code) << catalogue::word(kind.kind);
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

TEST(TimelineAnswer, NoticeIsKeptBeforeLicensedRemovals) {
  const Standing at(demo());
  const auto answer = planned(at, {.today = kToday, .away = {}, .dry = {}});
  int seen = 0;
  for (const auto& one : answer.rows) {
    if (!one.activity.id.starts_with("book-")) continue;
    EXPECT_GE(one.activity.days.low, 14) << one.activity.id;
    ++seen;
  }
  EXPECT_GT(seen, 0);
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
  book::Certificate paper;
  paper.id = {"C1"};
  paper.party = {"PA2"};
  paper.area_m2 = 10.1;
  paper.height_m = 2.4;
  paper.issued_on = *Date::parse("2026-12-04");
  paper.work_finished_on = *Date::parse("2026-12-04");
  paper.stages = {"preliminary check", "visual inspection", "air test", "final look"};
  for (int i = 0; i < 2; ++i) {
    book::AirSample sample;
    sample.litres = 480;
    sample.fields = 200;
    sample.fibres = 3;
    paper.samples.push_back(sample);
  }
  EXPECT_TRUE(certificate_answer(*house, paper)->pass);
  paper.issued_on = *Date::parse("2026-12-01");
  const auto answer = certificate_answer(*house, paper);
  EXPECT_FALSE(answer->pass);
  EXPECT_EQ(certificate_json(paper, *answer)["faults"].size(), 1U);
  paper.samples[0].fibres = 5000;
  ASSERT_FALSE(certificate_answer(*house, paper).ok());
  EXPECT_EQ(certificate_answer(*house, paper).faults()[0].where, "C1/samples/0/fibres");
}

}  // namespace
}  // namespace lathbook::service
