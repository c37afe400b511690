#include "law/classify.h"

#include <gmock/gmock.h>

#include <algorithm>
#include <map>
#include <set>
#include <sstream>

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

/// Every point of the grid of the conditions, families and tasks as shipped.
template <class Visit>
void every_question(Visit visit) {
  for (const auto& f : shipped().families) {
    for (const auto& t : shipped().tasks) {
      for (const auto damage : kDamages) {
        for (const auto& time : kTimes) {
          for (const auto who : kWhos) {
            for (const bool released : {false, true})
              visit(WorkQuestion{f, t, damage, {}, time.longest, time.all, who, {}, released});
          }
        }
      }
    }
  }
}

std::string told(const WorkQuestion& q) {
  std::ostringstream out;
  out << q.family.id << ", " << q.task.id << ", damage " << book::word(q.damage) << ", " << q.minutes_longest_person
      << "/" << q.minutes_all_people << " min, by " << book::word(q.by);
  return out.str();
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
  std::set<const Rule*> rules;
  std::set<const Permission*> permissions;
  std::set<Outcome> outcomes;
  std::set<const Precaution*> unused;
  std::set<std::string> precautions;
  int points = 0;
  every_question([&](const WorkQuestion& question) {
    const auto answer = classify(gb(), question);
    ASSERT_NE(answer.rule, nullptr) << told(question);
    ASSERT_NE(answer.permission, nullptr) << told(question);
    rules.insert(answer.rule);
    permissions.insert(answer.permission);
    outcomes.insert(answer.outcome);
    for (const auto& one : answer.precautions) precautions.insert(one.id);
    EXPECT_EQ(answer.matches.front(), answer.rule);
    EXPECT_GE(answer.reasons.size(), 2U);
    EXPECT_EQ(answer.precautions.empty(), answer.may != May::kWithPrecautions) << told(question);
    ++points;
  });
  EXPECT_EQ(points, 33 * 21 * 4 * 7 * 3 * 2);
  for (const auto& rule : gb().rules) EXPECT_TRUE(rules.contains(&rule)) << "rule " << rule.id << " decides nothing";
  for (const auto& one : gb().permissions)
    EXPECT_TRUE(permissions.contains(&one)) << "permission " << one.id << " decides nothing";
  for (const auto& one : gb().precautions)
    EXPECT_TRUE(precautions.contains(one.id)) << "precaution " << one.id << " is never given";
  EXPECT_EQ(outcomes.size(), 4U);
}

TEST(PropertyWorkClass, MoreDamageOrMoreTimeIsNeverJudgedMilder) {
  every_question([&](const WorkQuestion& question) {
    const auto here = classify(gb(), question);
    const auto not_milder = [&](const WorkQuestion& worse) {
      const auto there = classify(gb(), worse);
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
  });
}

TEST(PropertyWorkClass, WorkOfOneKindThatDisturbsMoreIsNeverJudgedMilder) {
  every_question([&](const WorkQuestion& question) {
    const auto here = classify(gb(), question);
    for (const auto& other : shipped().tasks) {
      if (other.kind != question.task.kind || other.disturbance <= question.task.disturbance) continue;
      const WorkQuestion worse{
          question.family, other, question.damage,  {}, question.minutes_longest_person, question.minutes_all_people,
          question.by,     {},    question.released};
      const auto there = classify(gb(), worse);
      EXPECT_GE(there.outcome, here.outcome) << told(question) << " against " << told(worse);
      EXPECT_GE(there.may, here.may) << told(question) << " against " << told(worse);
    }
  });
}

TEST(PropertyWorkClass, AMoreFriableFamilyIsNeverJudgedMilder) {
  // Across real families, and for one family whose binding is made weaker with all else the same.
  every_question([&](const WorkQuestion& question) {
    if (!question.family.suspect) return;
    const auto here = classify(gb(), question);
    for (const auto& other : shipped().families) {
      if (!other.suspect || other.binding <= question.family.binding) continue;
      const WorkQuestion worse{other,
                               question.task,
                               question.damage,
                               {},
                               question.minutes_longest_person,
                               question.minutes_all_people,
                               question.by,
                               {},
                               question.released};
      EXPECT_GE(classify(gb(), worse).outcome, here.outcome) << told(question) << " against " << told(worse);
    }
    auto weaker = question.family;
    while (weaker.binding != catalogue::Binding::kFriable) {
      weaker.binding = static_cast<catalogue::Binding>(static_cast<int>(weaker.binding) + 1);
      const WorkQuestion worse{weaker,
                               question.task,
                               question.damage,
                               {},
                               question.minutes_longest_person,
                               question.minutes_all_people,
                               question.by,
                               {},
                               question.released};
      EXPECT_GE(classify(gb(), worse).outcome, here.outcome)
          << told(question) << " made " << catalogue::word(weaker.binding);
    }
  });
}

TEST(PropertyWorkClass, AHouseholderIsNeverAnsweredMoreMildlyThanATrade) {
  every_question([&](const WorkQuestion& question) {
    if (question.by != Who::kHouseholder) return;
    auto trade = question;
    trade.by = Who::kTrade;
    auto remover = question;
    remover.by = Who::kLicensedRemover;
    const auto own = classify(gb(), question);
    EXPECT_GE(own.may, classify(gb(), trade).may) << told(question);
    EXPECT_GE(classify(gb(), trade).may, classify(gb(), remover).may) << told(question);
    EXPECT_EQ(own.outcome, classify(gb(), trade).outcome) << told(question);
  });
}

TEST(PropertyWorkClass, NoHouseholderIsOfferedLicensedNotifiableFriableOrDamagedWork) {
  every_question([&](const WorkQuestion& question) {
    if (question.by != Who::kHouseholder || question.released || !question.family.suspect) return;
    const auto answer = classify(gb(), question);
    EXPECT_NE(answer.may, May::kYes) << told(question);
    const auto kind = question.family.legal_kind;
    const bool sample = question.task.kind == catalogue::TaskKind::kSampling;
    const bool friable = question.family.binding == catalogue::Binding::kFriable;
    const bool never = answer.outcome >= Outcome::kNotifiable || question.damage >= Damage::kMedium ||
                       (friable && !sample) || kind == catalogue::LegalKind::kInsulation ||
                       kind == catalogue::LegalKind::kCoating;
    EXPECT_EQ(answer.may, never ? May::kNo : May::kWithPrecautions) << told(question);
  });
}

TEST(PropertyWorkClass, NothingButAReleasingStandingOrAPlainFamilyIsOutside) {
  every_question([&](const WorkQuestion& question) {
    EXPECT_EQ(classify(gb(), question).outcome == Outcome::kOutside, question.released || !question.family.suspect)
        << told(question);
  });
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
