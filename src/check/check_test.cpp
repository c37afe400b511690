#include "check/check.h"

#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include <nlohmann/json.hpp>
#include <random>

#include "assets/assets.h"
#include "book/json.h"
#include "book/words.h"
#include "catalogue/evidence_data.h"

namespace lathbook::check {
namespace {

using book::Damage;
using book::Standing;
using book::Who;
using ::testing::AllOf;
using ::testing::Contains;
using ::testing::Field;
using ::testing::HasSubstr;
using ::testing::IsEmpty;
using ::testing::Not;

const Knowledge& knowledge() {
  static const auto kEvidence = catalogue::parse_evidence(book::Json::parse(assets::get("data/evidence.json"))).value();
  static const Knowledge kKnowledge{catalogue::shipped(), kEvidence, *law::find_pack("gb")};
  return kKnowledge;
}

book::Book demo() { return book::book_from_json(book::Json::parse(assets::get("data/demo.json"))).value(); }

/// The demo house is the situation everybody can look at; each test changes one thing in it.
struct Asked {
  explicit Asked(book::Book given)
      : book(std::move(given)), house(House::build(book, knowledge()).value()), checker(house) {}
  Answer job(const char* id) {
    for (std::size_t i = 0; i < book.jobs.size(); ++i) {
      if (book.jobs[i].id.text == id) return checker.job(i);
    }
    throw std::logic_error(id);
  }
  book::Book book;
  House house;
  Checker checker;
};

Verdict verdict_of(book::Book book, const char* job) { return Asked(std::move(book)).job(job).verdict; }

book::Material& material(book::Book& book, const char* id) {
  for (auto& one : book.materials) {
    if (one.id.text == id) return one;
  }
  throw std::logic_error(id);
}

void add_result(book::Book& book, const std::string& material, bool found, std::vector<book::Fibre> fibres = {}) {
  const auto n = std::to_string(1000 + book.results.size());
  book::Sample sample;
  sample.id = {"S" + n};
  sample.material = {material};
  book.samples.push_back(sample);
  book::LabResult result;
  result.id = {"LR" + n};
  result.sample = sample.id;
  result.found = found;
  result.fibres = std::move(fibres);
  book.results.push_back(result);
}

TEST(Check, TheSevenJobsOfTheDemoHaveDifferentFates) {
  Asked asked(demo());
  EXPECT_EQ(asked.job("J1").verdict, Verdict::kWithPrecautions);
  EXPECT_EQ(asked.job("J2").verdict, Verdict::kTestFirst);
  EXPECT_EQ(asked.job("J3").verdict, Verdict::kMayStart);
  EXPECT_EQ(asked.job("J4").verdict, Verdict::kNotByYou);
  EXPECT_EQ(asked.job("J5").verdict, Verdict::kRemoveFirst);
  EXPECT_EQ(asked.job("J6").verdict, Verdict::kWithPrecautions);
  EXPECT_EQ(asked.job("J7").verdict, Verdict::kMayStart);
}

TEST(Check, AHoleUpThroughTheCeilingNamesTheVoidAndTheFloorAbove) {
  Asked asked(demo());
  const auto answer = asked.job("J2");
  std::map<std::string, fabric::Side> sides;
  for (const auto& touched : answer.touched) sides[asked.book.materials[touched.material].id.text] = touched.side;
  EXPECT_EQ(sides.at("M9"), fabric::Side::kVoid);
  EXPECT_EQ(sides.at("M11"), fabric::Side::kFar);
  EXPECT_EQ(sides.at("M17"), fabric::Side::kNear);
}

TEST(Check, TheClearSamplesOfTheFloorReleaseItAndOneFewerDoesNot) {
  auto book = demo();
  book.results.erase(
      std::find_if(book.results.begin(), book.results.end(), [](const auto& one) { return one.sample.text == "S7"; }));
  EXPECT_EQ(verdict_of(book, "J3"), Verdict::kTestFirst);
}

TEST(Check, AFindInOneSampleOutweighsAnyNumberOfClearOnes) {
  auto book = demo();
  add_result(book, "M5", true, {book::Fibre::kChrysotile});
  EXPECT_EQ(verdict_of(book, "J3"), Verdict::kNotByYou);
}

TEST(Check, AClearLookAlikeReleasesNothing) {
  auto book = demo();
  for (int i = 0; i < 20; ++i)
    add_result(book, "M1", false);  // the front room's ceiling, same job and look as the hall's
  Asked asked(book);
  const auto answer = asked.job("J1");
  EXPECT_EQ(answer.verdict, Verdict::kWithPrecautions);
  EXPECT_FALSE(answer.touched.front().released);
}

TEST(Check, AFaceOfWhichNothingIsWrittenDownIsNotReleased) {
  auto book = demo();
  book.jobs[0].cuts = {{.task = "drill", .place = {{"R3"}, {book::FaceKind::kWall, 1}, book::WholeFace{}}}};
  Asked asked(book);
  const auto answer = asked.job("J1");
  EXPECT_EQ(answer.verdict, Verdict::kTestFirst);
  ASSERT_EQ(answer.unwritten.size(), 1U);
  EXPECT_EQ(answer.ways.front().kind, WayKind::kWriteDown);
}

TEST(Check, AFaceOfARoomBuiltAfterTheBanNeedsNothingWrittenDown) {
  auto book = demo();
  book.phases.push_back({{"PH9"}, "garden room", {2010, 2011}, "completion certificate"});
  for (auto& room : book.rooms) {
    if (room.id.text == "R3") room.phase = {"PH9"};
  }
  book.jobs[0].cuts = {{.task = "drill", .place = {{"R3"}, {book::FaceKind::kWall, 1}, book::WholeFace{}}}};
  EXPECT_EQ(verdict_of(book, "J1"), Verdict::kMayStart);
}

TEST(Check, AJobWithoutCutsIsNotReleased) {
  auto book = demo();
  book.jobs[2].cuts.clear();
  EXPECT_EQ(verdict_of(book, "J3"), Verdict::kTestFirst);
}

TEST(Check, ALicensedRemoverMayDoWhatAHouseholderMayNot) {
  auto book = demo();
  book.jobs[3].by = Who::kLicensedRemover;
  Asked asked(book);
  EXPECT_EQ(asked.job("J4").verdict, Verdict::kWithPrecautions);
}

TEST(Check, WhatHasBeenRemovedIsMetNoMore) {
  auto book = demo();
  material(book, "M14").removed_on = book::Date::parse("2026-12-04");
  const auto answer = Asked(book).job("J5");
  for (const auto& touched : answer.touched) EXPECT_NE(book.materials[touched.material].id.text, "M14");
}

TEST(Check, AJobCannotBeSplitToKeepUnderTheLimit) {
  auto book = demo();
  auto& board = material(book, "M6");  // over the cupboard
  board.damage = Damage::kNone;
  const auto drill = [](const char* id, const char* day) {
    book::Job job;
    job.id = {id};
    job.by = Who::kTrade;
    job.wanted_on = book::Date::parse(day);
    job.cuts = {{.task = "drill",
                 .place = {{"R7"}, {book::FaceKind::kCeiling, 0}, book::PointShape{{5.7, 3.3}}},
                 .minutes = 40}};
    return job;
  };
  book.jobs = {drill("J1", "2027-03-01")};
  EXPECT_EQ(Asked(book).job("J1").work->outcome, law::Outcome::kNonLicensed);
  book.jobs.push_back(drill("J2", "2027-03-07"));
  EXPECT_EQ(Asked(book).job("J1").work->outcome, law::Outcome::kLicensed);
  book.jobs.back() = drill("J2", "2027-03-08");
  EXPECT_EQ(Asked(book).job("J1").work->outcome, law::Outcome::kNonLicensed);
}

TEST(Check, LicensedWorkIsNeverOfferedToAHouseholder) {
  auto book = demo();
  for (auto& job : book.jobs) job.by = Who::kHouseholder;
  Asked asked(book);
  for (const auto& answer : asked.checker.all()) {
    if (!answer.work || answer.work->outcome < law::Outcome::kNotifiable) continue;
    EXPECT_GE(answer.verdict, Verdict::kTestFirst) << answer.job.text;
    EXPECT_THAT(answer.precautions, IsEmpty()) << answer.job.text;
    for (const auto& way : answer.ways)
      EXPECT_THAT(way.text, Not(AllOf(HasSubstr("yourself"), HasSubstr("remove")))) << way.text;
  }
}

TEST(Check, NoTextEverCallsAMaterialSafe) {
  Asked asked(demo());
  for (const auto& answer : asked.checker.all()) {
    std::string all = answer.sentence;
    for (const auto& one : answer.reasons) all += one.text;
    for (const auto& one : answer.ways) all += one.text;
    for (const auto& one : answer.precautions) all += one;
    EXPECT_THAT(all, Not(HasSubstr("safe")));
  }
}

TEST(Check, EveryReasonHasASourceInTheList) {
  Asked asked(demo());
  for (const auto& answer : asked.checker.all()) {
    EXPECT_FALSE(answer.reasons.empty());
    for (const auto& one : answer.reasons)
      EXPECT_NE(knowledge().catalogue.find_source(one.source), nullptr) << one.source << ": " << one.text;
  }
}

/// A random change of what is known in the demo house, none of it evidence of asbestos.
book::Book shaken(std::uint64_t seed) {
  auto book = demo();
  std::mt19937_64 random(seed);
  const auto below = [&](std::size_t n) { return std::uniform_int_distribution<std::size_t>(0, n - 1)(random); };
  for (int i = 0; i < 6; ++i) {
    auto& one = book.materials[below(book.materials.size())];
    switch (below(4)) {
      case 0:
        one.years = book::YearRange{static_cast<int>(1940 + below(40)), static_cast<int>(1980 + below(40))};
        break;
      case 1:
        one.damage = static_cast<Damage>(below(4));
        break;
      case 2:
        one.family = knowledge().catalogue.families[below(knowledge().catalogue.families.size())].id;
        break;
      default:
        if (knowledge().catalogue.find_family(one.family)->suspect) add_result(book, one.id.text, false);
        break;
    }
  }
  for (auto& job : book.jobs) job.by = static_cast<Who>(below(3));
  return book;
}

TEST(PropertyCheck, PlainWorkIsReleasedByStandingAloneHoweverLowTheBelief) {
  int released = 0;
  for (std::uint64_t seed = 1; seed <= 100; ++seed) {
    Asked asked(shaken(seed));
    for (const auto& answer : asked.checker.all()) {
      for (const auto& touched : answer.touched) {
        const auto& known = asked.house.known(touched.material);
        const bool by_standing = !known.family->suspect || known.belief.standing == Standing::kNoneDetected ||
                                 known.belief.standing == Standing::kProvenLater;
        EXPECT_EQ(touched.released, by_standing);
        if (!touched.released) {
          EXPECT_NE(answer.verdict, Verdict::kMayStart) << "seed " << seed << " " << answer.job.text;
        }
      }
      released += answer.verdict == Verdict::kMayStart ? 1 : 0;
    }
  }
  EXPECT_GT(released, 0) << "the random houses never let the property be tried";
}

TEST(PropertyCheck, EvidenceOfAsbestosNeverMakesAVerdictMilder) {
  int stricter = 0;
  for (std::uint64_t seed = 1; seed <= 100; ++seed) {
    auto book = shaken(seed);
    const auto before = Asked(book).checker.all();
    std::mt19937_64 random(seed);
    std::vector<std::string> suspects;
    for (const auto& one : book.materials) {
      if (knowledge().catalogue.find_family(one.family)->suspect) suspects.push_back(one.id.text);
    }
    add_result(book, suspects[random() % suspects.size()], true,
               {random() % 2 == 0 ? book::Fibre::kAmosite : book::Fibre::kChrysotile});
    const auto after = Asked(book).checker.all();
    for (std::size_t i = 0; i < before.size(); ++i) {
      EXPECT_GE(after[i].verdict, before[i].verdict) << "seed " << seed << " " << before[i].job.text;
      stricter += after[i].verdict > before[i].verdict ? 1 : 0;
    }
  }
  EXPECT_GT(stricter, 0) << "the finds never mattered, so nothing was tried";
}

TEST(PropertyCheck, DirtierLongerAndDeeperIsNeverMilder) {
  for (std::uint64_t seed = 1; seed <= 50; ++seed) {
    const auto book = shaken(seed);
    const auto before = Asked(book).checker.all();
    auto worse = book;
    for (auto& one : worse.materials) one.damage = std::max(one.damage, Damage::kHigh);
    auto longer = book;
    auto deeper = book;
    for (auto& job : longer.jobs) {
      for (auto& cut : job.cuts) cut.minutes *= 10;
    }
    for (auto& job : deeper.jobs) {
      for (auto& cut : job.cuts) cut.depth = book::Depth::kThrough;
    }
    for (const auto& changed : {worse, longer, deeper}) {
      const auto after = Asked(changed).checker.all();
      for (std::size_t i = 0; i < before.size(); ++i)
        EXPECT_GE(after[i].verdict, before[i].verdict) << "seed " << seed << " " << before[i].job.text;
    }
  }
}

}  // namespace
}  // namespace lathbook::check
