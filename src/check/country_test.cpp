// The same house under other rules: what a second country's pack changes, and that nothing gets milder by not saying
// where the house stands.
#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include <nlohmann/json.hpp>

#include "assets/assets.h"
#include "book/json.h"
#include "check/check.h"
#include "law/evidence_for.h"

namespace lathbook::check {
namespace {

using book::Who;
using ::testing::Contains;
using ::testing::HasSubstr;
using ::testing::Not;

Knowledge rules_of(const char* id) {
  const auto& pack = *law::find_pack(id);
  return {catalogue::shipped(), law::evidence_for(pack), pack};
}

book::Book demo(const char* rules, const char* region) {
  auto book = book::book_from_json(book::Json::parse(assets::get("data/demo.json"))).value();
  book.about.rules = rules;
  book.about.region = region;
  return book;
}

std::vector<Answer> answers_of(const book::Book& book) {
  const auto house = House::build(book, rules_of(book.about.rules.c_str())).value();
  return Checker(house).all();
}

const std::vector<const char*> kRegions = {"act", "nsw", "nt", "qld", "sa", "tas", "vic", "wa"};

/// Cement sheets of so many m2 on the back bedroom's walls, each taken down whole by a job of its own; nothing else is
/// planned. An area below nought is not written down.
book::Book sheets(const char* rules, const char* region, const std::vector<double>& areas) {
  auto book = demo(rules, region);
  book.jobs.clear();
  book.materials.clear();
  book.samples.clear();
  book.results.clear();
  book.actions.clear();
  book.events.clear();
  for (std::size_t i = 0; i < areas.size(); ++i) {
    const auto left = 0.5 * static_cast<double>(i);
    book::Material sheet;
    sheet.id = {"M" + std::to_string(i + 1)};
    sheet.name = "Cement sheet";
    sheet.family = "cement-flat-sheet";
    sheet.place = {{"R9"}, {book::FaceKind::kWall, 1}, book::PointShape{{left + 0.2, 1.0}}};
    if (areas[i] >= 0) sheet.extent = book::Extent{areas[i], book::Unit::kM2};
    book.materials.push_back(sheet);
    book::Job job;
    job.id = {"J" + std::to_string(i + 1)};
    job.title = "Take it down";
    book::Cut cut;
    cut.task = "lift-whole";
    cut.minutes = 20;
    cut.depth = book::Depth::kSurface;
    cut.place = {{"R9"}, {book::FaceKind::kWall, 1}, book::PointShape{{left + 0.2, 1.0}}};
    job.cuts = {cut};
    book.jobs.push_back(job);
  }
  return book;
}

/// Whether any of its work is not for the householder.
bool refused(const Answer& answer) {
  return std::any_of(answer.touched.begin(), answer.touched.end(),
                     [](const Touched& one) { return one.work && one.work->may == law::May::kNo; });
}

TEST(PropertyCountry, AHouseWhoseRegionIsNotSaidIsAnsweredNoMilderThanInAnyRegion) {
  const auto not_said = answers_of(demo("au", ""));
  for (const char* region : kRegions) {
    const auto there = answers_of(demo("au", region));
    ASSERT_EQ(there.size(), not_said.size());
    for (std::size_t i = 0; i < there.size(); ++i) {
      EXPECT_GE(not_said[i].verdict, there[i].verdict) << region << " " << there[i].job.text;
      EXPECT_GE(refused(not_said[i]), refused(there[i])) << region << " " << there[i].job.text;
    }
  }
}

TEST(PropertyCountry, MoreAreaIsNeverAnsweredMoreMildly) {
  for (const char* region : {"nsw", "vic", "act", ""}) {
    bool before = false;
    for (const double area : {0.5, 5.0, 10.0, 10.01, 50.0, -1.0}) {
      const bool now = refused(answers_of(sheets("au", region, {area})).front());
      EXPECT_GE(now, before) << region << " " << area;
      before = now;
    }
    EXPECT_TRUE(before) << "an area not written down is beyond the limit";
  }
}

TEST(Country, TenSquareMetresCountOverAllThatIsStillToBeDone) {
  for (const auto& answer : answers_of(sheets("au", "nsw", {5, 5}))) EXPECT_FALSE(refused(answer));
  for (const auto& answer : answers_of(sheets("au", "nsw", {5, 5, 0.5}))) {
    EXPECT_TRUE(refused(answer)) << "a removal split up is one removal";
    EXPECT_THAT(answer.sentence, HasSubstr("Class B licensed removal"));
    EXPECT_THAT(answer.sentence, HasSubstr("not for you"));
  }
  auto book = sheets("au", "nsw", {5, 5, 0.5});
  book.jobs[2].by = Who::kLicensedRemover;
  EXPECT_FALSE(refused(answers_of(book).front())) << "what a licensed remover takes out is not the householder's";
  book.jobs[2].by = Who::kHouseholder;
  book.jobs[2].done_on = reason::Date::parse("2026-01-01");
  EXPECT_FALSE(refused(answers_of(book).front()));
  book = sheets("au", "nsw", {5, 5, 0.5});
  book.jobs[2].cuts[0].area_m2 = 0.0001;
  EXPECT_TRUE(refused(answers_of(book).front()));
  for (const auto& answer : answers_of(sheets("gb", "", {5, 5, 50}))) {
    EXPECT_FALSE(refused(answer)) << "Great Britain asks for no area";
  }
}

TEST(Country, AnHourInAWeekCountsEveryKindTogetherWhereThePackSaysSo) {
  auto book = sheets("au", "vic", {1, 1});
  book.materials[1].family = "vinyl-tile";
  for (auto& job : book.jobs) {
    job.wanted_on = reason::Date::parse("2027-03-01");
    job.cuts[0].minutes = 40;
  }
  EXPECT_TRUE(refused(answers_of(book).front())) << "40 and 40 minutes are more than an hour";
  book.jobs[1].wanted_on = reason::Date::parse("2027-04-01");
  EXPECT_FALSE(refused(answers_of(book).front()));
  book.about.region = "nsw";
  book.jobs[1].wanted_on = book.jobs[0].wanted_on;
  EXPECT_FALSE(refused(answers_of(book).front()));
}

TEST(Country, WhoMayTakeASampleIsTheCountrysToSay) {
  const auto may = [](const char* rules, const char* region, const char* family) {
    auto book = sheets(rules, region, {1});
    book.materials[0].family = family;
    return House::build(book, rules_of(rules)).value().may_take_sample(0);
  };
  EXPECT_TRUE(may("gb", "", "cement-flat-sheet"));
  EXPECT_TRUE(may("gb", "", "insulating-board"));
  EXPECT_TRUE(may("au", "nsw", "cement-flat-sheet"));
  EXPECT_FALSE(may("au", "nsw", "insulating-board")) << "friable";
  EXPECT_FALSE(may("au", "qld", "cement-flat-sheet")) << "for a competent person";
  EXPECT_FALSE(may("au", "", "cement-flat-sheet")) << "the strictest";
  EXPECT_FALSE(may("gb", "", "pipe-lagging"));
}

TEST(MayTakeSample, NotThroughWhatIsNotForThem) {
  auto book = sheets("gb", "", {1, 1});
  auto& before = book.materials[0];
  auto& behind = book.materials[1];
  behind.place = before.place;
  const auto may = [&] { return House::build(book, rules_of("gb")).value().may_take_sample(1); };
  before.family = "pipe-lagging";
  behind.family = "vinyl-tile";
  behind.layer = 1;
  EXPECT_FALSE(may()) << "lagging lies before it";
  before.family = "cement-flat-sheet";
  EXPECT_TRUE(may()) << "of that they may take a sample as well";
  before.family = "pipe-lagging";
  before.removed_on = reason::Date::parse("2026-01-01");
  EXPECT_TRUE(may()) << "it is gone";
  before.removed_on.reset();
  before.layer = 2;
  EXPECT_TRUE(may()) << "it lies deeper";
  before.layer = 0;
  before.place.face = {book::FaceKind::kWall, 2};
  behind.place.face = {book::FaceKind::kWall, 3};
  EXPECT_TRUE(may()) << "on another wall";
}

TEST(Country, ACertificateIsAskedForAsTheRemovalWas) {
  auto book = sheets("au", "nsw", {4});
  book::Action removal;
  removal.id = {"A1"};
  removal.material = {"M1"};
  removal.kind = book::ActionKind::kRemove;
  removal.done_on = reason::Date::parse("2026-12-01");
  book.actions = {removal};
  const auto not_cleared = [&] { return rooms_not_cleared(House::build(book, rules_of("au")).value()); };
  EXPECT_TRUE(not_cleared().empty()) << "4 m2 need no licence, so no certificate";
  book.materials[0].extent = book::Extent{40, book::Unit::kM2};
  ASSERT_EQ(not_cleared().size(), 1U);
  EXPECT_THAT(not_cleared()[0].ask, HasSubstr("Ask for the clearance certificate"));
  book::Certificate paper;
  paper.id = {"C1"};
  paper.materials = {{"M1"}};
  paper.issued_on = reason::Date::parse("2026-12-02");
  paper.stages = {"visual inspection"};
  book.certificates = {paper};
  EXPECT_TRUE(not_cleared().empty()) << "after non-friable removal the look decides";
  book.materials[0].family = "insulating-board";
  ASSERT_EQ(not_cleared().size(), 1U) << "after friable removal an air test is asked for";
  EXPECT_THAT(not_cleared()[0].why, HasSubstr("C1"));
}

TEST(Country, CautionsAndWordsAreThePacks) {
  const auto own = answers_of(demo("gb", "england"));
  const auto other = answers_of(demo("au", "nsw"));
  for (const auto& answer : other)
    EXPECT_THAT(answer.cautions, Contains(HasSubstr("10 square metres"))) << answer.job.text;
  for (const auto& answer : own) EXPECT_THAT(answer.cautions, Not(Contains(HasSubstr("10 square metres"))));
}

}  // namespace
}  // namespace lathbook::check
