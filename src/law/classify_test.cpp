#include "law/classify.h"

#include <gmock/gmock.h>

#include <algorithm>
#include <map>
#include <set>
#include <sstream>
#include <tuple>

#include "book/words.h"
#include "testing/agreement.h"
#include "testing/csv.h"

namespace lathbook::law {
namespace {

using book::Damage;
using book::Who;
using catalogue::Family;
using catalogue::shipped;
using catalogue::Task;
using ::testing::ElementsAre;
using ::testing::HasSubstr;

const RulePack& gb() { return *find_pack("gb"); }
const Family& family(const std::string& id) { return *shipped().find_family(id); }
const Task& task(const std::string& id) { return *shipped().find_task(id); }

/// Times on both sides of, and exactly at, each limit of the pack.
struct Times {
  double longest;
  double all;
};
const std::vector<Times> kTimes = {{10, 10},       {60, 60},     {60, 120},  {60, 120.01},
                                   {60.01, 60.01}, {60.01, 120}, {600, 1200}};
constexpr std::array kDamages = {Damage::kNone, Damage::kLow, Damage::kMedium, Damage::kHigh};
constexpr std::array kWhos = {Who::kHouseholder, Who::kTrade, Who::kLicensedRemover};

/// No area written down, at most the limits, and beyond them.
const std::vector<std::optional<double>> kAreas = {10.0, 10.01, std::nullopt};

bool names_families(const RulePack& pack) {
  const auto asks = [](const auto& rows) {
    return std::any_of(rows.begin(), rows.end(), [](const auto& one) { return !one.when.families.empty(); });
  };
  return asks(pack.rules) || asks(pack.permissions) || asks(pack.precautions);
}

/// The families a pack can tell apart: all, or one of each legal kind and binding where it names none.
std::vector<const Family*> families_of(const RulePack& pack) {
  std::vector<const Family*> families;
  std::set<std::tuple<catalogue::LegalKind, catalogue::Binding, bool>> seen;
  for (const auto& one : shipped().families) {
    if (names_families(pack) || seen.emplace(one.legal_kind, one.binding, one.suspect).second) families.push_back(&one);
  }
  return families;
}

/// No region, those a condition names, and one that none does.
std::vector<std::string> regions_of(const RulePack& pack) {
  std::set<std::string> named;
  const auto note = [&](const auto& rows) {
    for (const auto& one : rows) named.insert(one.when.regions.begin(), one.when.regions.end());
  };
  note(pack.rules);
  note(pack.permissions);
  note(pack.precautions);
  std::vector<std::string> regions = {""};
  if (named.empty()) return regions;
  regions.insert(regions.end(), named.begin(), named.end());
  const auto other = std::find_if(pack.regions.begin(), pack.regions.end(),
                                  [&](const Region& one) { return !named.contains(one.id); });
  if (other != pack.regions.end()) regions.push_back(other->id);
  return regions;
}

/// Every point of the grid of the conditions, families and tasks as shipped; areas and regions only where the pack
/// tells them apart, and then a released material only once, since nothing else of it is asked.
template <class Visit>
void every_question(const RulePack& pack, Visit visit) {
  const bool by_area =
      std::any_of(pack.limits.begin(), pack.limits.end(), [](const Limit& one) { return one.area_m2; });
  const auto regions = regions_of(pack);
  const auto areas = by_area ? kAreas : std::vector<std::optional<double>>{std::nullopt};
  const auto times = by_area ? std::vector<Times>{kTimes[0], kTimes[1], kTimes[4]} : kTimes;
  for (const auto* f : families_of(pack)) {
    for (const auto& t : shipped().tasks) {
      for (const auto damage : kDamages) {
        for (const auto& time : times) {
          for (const auto& area : areas) {
            for (const auto& region : regions) {
              for (const auto who : kWhos) {
                for (const bool released : {false, true}) {
                  if (released && by_area && (damage != Damage::kNone || area || !region.empty())) continue;
                  visit(WorkQuestion{*f, t, damage, {}, time.longest, time.all, who, {}, released, area, region});
                }
              }
            }
          }
        }
      }
    }
  }
}

/// Runs a test over each pack inside the program.
template <class Test>
void every_pack(Test test) {
  ASSERT_GE(pack_ids().size(), 2U);
  for (const auto& id : pack_ids()) {
    SCOPED_TRACE(id);
    test(*find_pack(id));
  }
}

std::string told(const WorkQuestion& q) {
  std::ostringstream out;
  out << q.family.id << ", " << q.task.id << ", damage " << book::word(q.damage) << ", " << q.minutes_longest_person
      << "/" << q.minutes_all_people << " min, by " << book::word(q.by);
  if (q.area_m2) out << ", " << *q.area_m2 << " m2";
  if (!q.region.empty()) out << ", in " << q.region;
  return out.str();
}

/// The same question of another family.
WorkQuestion of_family(const WorkQuestion& q, const Family& other) {
  return {other, q.task,     q.damage,  {},      q.minutes_longest_person, q.minutes_all_people, q.by,
          {},    q.released, q.area_m2, q.region};
}

TEST(PublishedWorkClass, TheRegulatorsExamples) {
  testing::Agreement agreement("law_examples");
  for (const auto& row : testing::read_csv("tests/published/gb_work_class.csv")) {
    const WorkQuestion question{family(row.at("family")),
                                task(row.at("task")),
                                *book::from_word<Damage>(row.at("damage")),
                                {},
                                std::stod(row.at("longest")),
                                std::stod(row.at("all")),
                                Who::kTrade,
                                {},
                                false};
    const auto answer = classify(gb(), question);
    const std::string allowed = "|" + row.at("class") + "|";
    EXPECT_NE(allowed.find("|" + std::string(word(answer.outcome)) + "|"), std::string::npos)
        << row.at("example") << ": " << word(answer.outcome) << " by rule "
        << (answer.rule == nullptr ? "none" : answer.rule->id);
    EXPECT_NE(shipped().find_source(row.at("source")), nullptr) << row.at("source");
    agreement.same();
  }
}

TEST(PropertyWorkClass, EveryPointIsDecidedByARuleAndAPermissionAndNoneIsDead) {
  every_pack([](const RulePack& pack) {
    std::set<const Rule*> rules;
    std::set<const Permission*> permissions;
    std::set<Outcome> outcomes;
    std::set<std::string> precautions;
    std::set<const Duty*> duties;
    int points = 0;
    every_question(pack, [&](const WorkQuestion& question) {
      const auto answer = classify(pack, question);
      ASSERT_NE(answer.rule, nullptr) << told(question);
      ASSERT_NE(answer.permission, nullptr) << told(question);
      rules.insert(answer.rule);
      permissions.insert(answer.permission);
      outcomes.insert(answer.outcome);
      for (const auto& one : answer.precautions) precautions.insert(one.id);
      EXPECT_EQ(answer.matches.front(), answer.rule);
      EXPECT_GE(answer.reasons.size(), 2U);
      EXPECT_FALSE(answer.called.empty()) << told(question);
      EXPECT_EQ(answer.precautions.empty(), answer.may != May::kWithPrecautions) << told(question);
      ++points;
    });
    if (pack.id == "gb") {
      EXPECT_EQ(points, 33 * 21 * 4 * 7 * 3 * 2);
    }
    for (const auto& rule : pack.rules) EXPECT_TRUE(rules.contains(&rule)) << "rule " << rule.id << " decides nothing";
    for (const auto& one : pack.permissions)
      EXPECT_TRUE(permissions.contains(&one)) << "permission " << one.id << " decides nothing";
    for (const auto& one : pack.precautions)
      EXPECT_TRUE(precautions.contains(one.id)) << "precaution " << one.id << " is never given";
    for (const auto outcome : {Outcome::kOutside, Outcome::kNonLicensed, Outcome::kNotifiable, Outcome::kLicensed})
      EXPECT_EQ(outcomes.contains(outcome), !pack.name_of(outcome).empty()) << word(outcome);
  });
}

TEST(PropertyWorkClass, MoreDamageTimeOrAreaIsNeverJudgedMilder) {
  every_pack([](const RulePack& pack) {
    every_question(pack, [&](const WorkQuestion& question) {
      const auto here = classify(pack, question);
      const auto not_milder = [&](const WorkQuestion& worse) {
        const auto there = classify(pack, worse);
        EXPECT_GE(there.outcome, here.outcome) << told(question) << " against " << told(worse);
        EXPECT_GE(there.may, here.may) << told(question) << " against " << told(worse);
      };
      if (question.damage != Damage::kHigh) {
        auto worse = question;
        worse.damage = static_cast<Damage>(static_cast<int>(question.damage) + 1);
        not_milder(worse);
      }
      for (const auto& time : kTimes) {
        if (time.longest < question.minutes_longest_person || time.all < question.minutes_all_people) continue;
        auto worse = question;
        worse.minutes_longest_person = time.longest;
        worse.minutes_all_people = time.all;
        not_milder(worse);
      }
      if (question.area_m2) {
        auto worse = question;
        for (const auto& more : {std::optional<double>(*question.area_m2 * 2), std::optional<double>()}) {
          worse.area_m2 = more;
          not_milder(worse);
        }
      }
    });
  });
}

TEST(PropertyWorkClass, AHouseWhoseRegionIsNotSaidIsJudgedNoMilderThanInAnyRegion) {
  every_pack([](const RulePack& pack) {
    every_question(pack, [&](const WorkQuestion& question) {
      if (question.region.empty()) return;
      auto not_said = question;
      not_said.region.clear();
      auto unknown = question;
      unknown.region = "atlantis";
      const auto here = classify(pack, question);
      for (const auto& there : {classify(pack, not_said), classify(pack, unknown)}) {
        EXPECT_GE(there.outcome, here.outcome) << told(question);
        EXPECT_GE(there.may, here.may) << told(question);
      }
    });
  });
}

TEST(PropertyWorkClass, WorkOfOneKindThatDisturbsMoreIsNeverJudgedMilder) {
  every_pack([](const RulePack& pack) {
    every_question(pack, [&](const WorkQuestion& question) {
      const auto here = classify(pack, question);
      for (const auto& other : shipped().tasks) {
        if (other.kind != question.task.kind || other.disturbance <= question.task.disturbance) continue;
        const WorkQuestion worse{question.family,
                                 other,
                                 question.damage,
                                 {},
                                 question.minutes_longest_person,
                                 question.minutes_all_people,
                                 question.by,
                                 {},
                                 question.released,
                                 question.area_m2,
                                 question.region};
        const auto there = classify(pack, worse);
        EXPECT_GE(there.outcome, here.outcome) << told(question) << " against " << told(worse);
        EXPECT_GE(there.may, here.may) << told(question) << " against " << told(worse);
      }
    });
  });
}

TEST(PropertyWorkClass, AMoreFriableFamilyIsNeverJudgedMilder) {
  // Across real families, and for one family whose binding is made weaker with all else the same.
  every_pack([](const RulePack& pack) {
    const auto families = families_of(pack);
    every_question(pack, [&](const WorkQuestion& question) {
      if (!question.family.suspect) return;
      const auto here = classify(pack, question);
      for (const auto* other : families) {
        if (!other->suspect || other->binding <= question.family.binding) continue;
        EXPECT_GE(classify(pack, of_family(question, *other)).outcome, here.outcome)
            << told(question) << " against " << other->id;
      }
      auto weaker = question.family;
      while (weaker.binding != catalogue::Binding::kFriable) {
        weaker.binding = static_cast<catalogue::Binding>(static_cast<int>(weaker.binding) + 1);
        EXPECT_GE(classify(pack, of_family(question, weaker)).outcome, here.outcome)
            << told(question) << " made " << catalogue::word(weaker.binding);
      }
    });
  });
}

TEST(PropertyWorkClass, AHouseholderIsNeverAnsweredMoreMildlyThanATrade) {
  every_pack([](const RulePack& pack) {
    every_question(pack, [&](const WorkQuestion& question) {
      if (question.by != Who::kHouseholder) return;
      auto trade = question;
      trade.by = Who::kTrade;
      auto remover = question;
      remover.by = Who::kLicensedRemover;
      const auto own = classify(pack, question);
      EXPECT_GE(own.may, classify(pack, trade).may) << told(question);
      EXPECT_GE(classify(pack, trade).may, classify(pack, remover).may) << told(question);
      EXPECT_EQ(own.outcome, classify(pack, trade).outcome) << told(question);
    });
  });
}

TEST(PropertyWorkClass, NoHouseholderIsOfferedLicensedNotifiableFriableOrDamagedWork) {
  every_pack([](const RulePack& pack) {
    every_question(pack, [&](const WorkQuestion& question) {
      if (question.by != Who::kHouseholder || question.released || !question.family.suspect) return;
      const auto answer = classify(pack, question);
      EXPECT_NE(answer.may, May::kYes) << told(question);
      const auto kind = question.family.legal_kind;
      const bool sample = question.task.kind == catalogue::TaskKind::kSampling;
      const bool friable = question.family.binding == catalogue::Binding::kFriable;
      const bool never = answer.outcome >= Outcome::kNotifiable || question.damage >= Damage::kMedium ||
                         (friable && !sample) || kind == catalogue::LegalKind::kInsulation ||
                         kind == catalogue::LegalKind::kCoating;
      if (never) {
        EXPECT_EQ(answer.may, May::kNo) << told(question);
      }
      // Great Britain leaves the rest to the householder; others may be stricter, by region for instance.
      if (!never && pack.id == "gb") {
        EXPECT_EQ(answer.may, May::kWithPrecautions) << told(question);
      }
    });
  });
}

TEST(PropertyWorkClass, NothingButAReleasingStandingOrAPlainFamilyIsOutside) {
  every_pack([](const RulePack& pack) {
    every_question(pack, [&](const WorkQuestion& question) {
      EXPECT_EQ(classify(pack, question).outcome == Outcome::kOutside, question.released || !question.family.suspect)
          << told(question);
    });
  });
}

TEST(PublishedWorkClass, WhatAustralianLawAndGuidanceSays) {
  const auto& au = *find_pack("au");
  for (const auto& row : testing::read_csv("tests/published/au_work_class.csv")) {
    WorkQuestion question{family(row.at("family")),
                          task(row.at("task")),
                          *book::from_word<Damage>(row.at("damage")),
                          {},
                          std::stod(row.at("minutes")),
                          std::stod(row.at("minutes")),
                          *book::from_word<Who>(row.at("by")),
                          {},
                          false};
    if (!row.at("area").empty()) question.area_m2 = std::stod(row.at("area"));
    question.region = row.at("region");
    const auto answer = classify(au, question);
    EXPECT_EQ(word(answer.outcome), row.at("class")) << row.at("what");
    EXPECT_EQ(word(answer.may), row.at("may")) << row.at("what");
    if (!row.at("called").empty()) {
      EXPECT_EQ(answer.called, row.at("called")) << row.at("what");
    }
    EXPECT_NE(shipped().find_source(row.at("source")), nullptr) << row.at("source");
  }
}

TEST(WorkClass, WhatIsReleasedIsOutsideAndOpenToAnybodyInEveryCountry) {
  every_pack([](const RulePack& pack) {
    for (const auto who : kWhos) {
      const auto answer =
          classify(pack, {family("pipe-lagging"), task("strip"), Damage::kHigh, {}, 600, 600, who, {}, true});
      EXPECT_EQ(answer.outcome, Outcome::kOutside);
      EXPECT_EQ(answer.may, May::kYes);
      EXPECT_EQ(answer.rule->id, "released") << "and by that, not for want of another rule";
    }
  });
}

TEST(WorkClass, ARegionNotSaidIsToldWhereItMatters) {
  const auto& au = *find_pack("au");
  const WorkQuestion question{
      family("cement-flat-sheet"), task("lift-whole"), Damage::kNone, {}, 30, 30, Who::kHouseholder, {}, false, 4.0};
  const auto answer = classify(au, question);
  EXPECT_EQ(answer.may, May::kNo);
  EXPECT_THAT(answer.reasons.back().text, HasSubstr("state or territory"));
  auto friable = question;
  friable.region = "nsw";
  EXPECT_EQ(classify(au, friable).may, May::kWithPrecautions);
  EXPECT_THAT(classify(au, friable).reasons.back().text, ::testing::Not(HasSubstr("strictest")));
  const WorkQuestion lagging{
      family("pipe-lagging"), task("strip"), Damage::kNone, {}, 30, 30, Who::kHouseholder, {}, false, 4.0};
  EXPECT_THAT(classify(au, lagging).reasons.back().text, ::testing::Not(HasSubstr("strictest")))
      << "it is the same everywhere";
}

TEST(WorkClass, TimeIsNeverReadAsLessForAllThanForOne) {
  const WorkQuestion question{
      family("insulating-board"), task("unscrew"), Damage::kNone, {}, 61, 0, Who::kTrade, {}, false};
  EXPECT_EQ(classify(gb(), question).outcome, Outcome::kLicensed);
}

TEST(WorkClass, DutiesAreThoseOfTheClass) {
  const auto duty = [](const WorkClass& answer, const char* id) -> const Duty* {
    const auto found =
        std::find_if(answer.duties.begin(), answer.duties.end(), [&](const Duty& one) { return one.id == id; });
    return found == answer.duties.end() ? nullptr : &*found;
  };
  const auto licensed = classify(
      gb(), {family("sprayed-coating"), task("strip"), Damage::kNone, {}, 30, 30, Who::kLicensedRemover, {}, false});
  ASSERT_NE(duty(licensed, "notice"), nullptr);
  EXPECT_EQ(duty(licensed, "notice")->days_before, 14);
  EXPECT_EQ(duty(licensed, "medical")->every_years, 2);
  EXPECT_EQ(duty(licensed, "health-record")->keep_years, 40);
  const auto notifiable = classify(
      gb(), {family("insulating-board"), task("lift-whole"), Damage::kNone, {}, 30, 30, Who::kTrade, {}, false});
  EXPECT_EQ(duty(notifiable, "notice")->days_before, 0);
  EXPECT_EQ(duty(notifiable, "medical")->every_years, 3);
  const auto plain = classify(
      gb(), {family("cement-profiled-sheet"), task("lift-whole"), Damage::kNone, {}, 30, 30, Who::kTrade, {}, false});
  EXPECT_EQ(duty(plain, "notice"), nullptr);
  EXPECT_EQ(duty(plain, "mask")->minimum_protection, 20);
}

template <class Row>
std::vector<std::string> ids_of(const std::vector<Row>& rows) {
  std::vector<std::string> ids;
  for (const auto& one : rows) ids.push_back(one.id);
  return ids;
}

TEST(PublishedWorkClass, WhatAustralianLawAsksOfAWorkClass) {
  const auto& au = *find_pack("au");
  const auto ask = [&](const char* what, const char* how, Who who, double area) {
    WorkQuestion question{family(what), task(how), Damage::kNone, {}, 60, 60, who, {}, false};
    question.area_m2 = area;
    question.region = "nsw";
    return classify(au, question);
  };
  const auto duty = [](const WorkClass& answer, const char* id) -> const Duty& {
    return *std::find_if(answer.duties.begin(), answer.duties.end(), [&](const Duty& one) { return one.id == id; });
  };
  const auto licensed = ask("sprayed-coating", "strip", Who::kLicensedRemover, 4);
  ASSERT_THAT(ids_of(licensed.duties), ElementsAre("licence", "notice", "neighbours", "plan", "training", "medical",
                                                   "health-record", "area", "air", "clearance", "waste"));
  EXPECT_EQ(duty(licensed, "notice").days_before, 5) << "Northern Territory, regulation 466";
  EXPECT_EQ(duty(licensed, "health-record").keep_years, 40) << "from memory";
  EXPECT_THAT(duty(licensed, "air").text, HasSubstr("before and while")) << "Commonwealth, regulation 475(3)";
  const auto plain = ask("cement-flat-sheet", "lift-whole", Who::kTrade, 4);
  ASSERT_THAT(ids_of(plain.duties), ElementsAre("training", "tools", "medical", "mask", "waste"));
  EXPECT_EQ(duty(plain, "mask").minimum_protection, 10) << "a P2 mask, from memory";
}

TEST(PublishedWorkClass, WhatAustraliaTellsAnOwnerToDoInOrder) {
  // The Northern Territory's page on taking a sample, Commonwealth regulation 446 on tools, and practice.
  const auto& au = *find_pack("au");
  const auto steps = [&](const char* what, const char* how) {
    WorkQuestion question{family(what), task(how), Damage::kNone, {}, 20, 20, Who::kHouseholder, {}, false};
    question.area_m2 = 1;
    question.region = "nsw";
    const auto answer = classify(au, question);
    EXPECT_EQ(answer.may, May::kWithPrecautions) << what << " " << how;
    EXPECT_EQ(answer.permission->id,
              question.task.kind == catalogue::TaskKind::kSampling ? "householder-sample" : "householder-bonded");
    return ids_of(answer.precautions);
  };
  EXPECT_THAT(steps("cement-flat-sheet", "drill"),
              ElementsAre("book-site", "people-out", "still-air", "power-off", "sheet", "mask-on", "overalls", "wet",
                          "no-power", "paste", "height", "stop", "wrap", "wipe", "undress", "wash", "note"));
  EXPECT_THAT(steps("textured-coating", "fix-through"),
              ElementsAre("book-site", "people-out", "still-air", "power-off", "sheet", "mask-on", "overalls", "wet",
                          "no-power", "paste", "stop", "wrap", "wipe", "undress", "wash", "note"));
  for (const char* how : {"lift-whole", "unscrew"}) {
    EXPECT_THAT(steps("cement-flat-sheet", how),
                ElementsAre("book-site", "people-out", "still-air", "power-off", "sheet", "mask-on", "overalls", "wet",
                            "no-power", "free-first", "height", "stop", "wrap", "wipe", "undress", "wash", "note"));
  }
  EXPECT_THAT(steps("cement-flat-sheet", "sample"),
              ElementsAre("people-out", "still-air", "power-off", "sheet", "mask-on", "overalls", "wet", "sample-lab",
                          "height", "stop", "wrap", "wipe", "undress", "wash", "note"));
  EXPECT_THAT(steps("cement-flat-sheet", "paint"),
              ElementsAre("people-out", "still-air", "sheet", "mask-on", "overalls", "no-rub-down", "height", "stop",
                          "wrap", "wipe", "undress", "wash", "note"));
  EXPECT_THAT(steps("cement-flat-sheet", "clean"),
              ElementsAre("book-site", "people-out", "still-air", "power-off", "sheet", "mask-on", "overalls", "wet",
                          "height", "stop", "wrap", "wipe", "undress", "wash", "note"));
}

TEST(WorkClass, PrecautionsComeInTheOrderOneDoesThem) {
  const auto answer = classify(
      gb(),
      {family("cement-profiled-sheet"), task("lift-whole"), Damage::kNone, {}, 60, 60, Who::kHouseholder, {}, false});
  ASSERT_EQ(answer.may, May::kWithPrecautions);
  const auto at = [&](const char* id) {
    return std::find_if(answer.precautions.begin(), answer.precautions.end(),
                        [&](const Precaution& one) { return one.id == id; }) -
           answer.precautions.begin();
  };
  EXPECT_LT(at("mask-on"), at("wet"));
  EXPECT_LT(at("wet"), at("free-first"));
  EXPECT_LT(at("free-first"), at("wrap"));
  EXPECT_LT(at("wipe"), at("undress"));
  EXPECT_LT(at("undress"), static_cast<long>(answer.precautions.size()));
  EXPECT_EQ(at("paste"), static_cast<long>(answer.precautions.size())) << "nothing is drilled";
}

}  // namespace
}  // namespace lathbook::law
