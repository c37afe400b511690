#include "law/pack.h"

#include <gmock/gmock.h>

#include <thread>
#include <vector>

#include "assets/assets.h"
#include "law/classify.h"
#include "schema/schema.h"

namespace lathbook::law {
namespace {

using ::testing::Contains;
using ::testing::Each;
using ::testing::HasSubstr;
using ::testing::SizeIs;

std::string gb_with(const std::string& from, const std::string& to) {
  std::string text(assets::get("data/law/gb.json"));
  const auto at = text.find(from);
  EXPECT_NE(at, std::string::npos) << from;
  return text.replace(at, from.size(), to);
}

std::vector<std::string> faults_of(const std::string& text) {
  const auto parsed = parse_pack(text, catalogue::shipped(), "pack");
  std::vector<std::string> lines;
  if (parsed.ok()) return lines;
  for (const auto& fault : parsed.faults()) lines.push_back(fault.text());
  return lines;
}

TEST(RulePack, TheShippedPackFitsItsSchema) {
  const auto form = schema::parse_json(assets::get("data/schemas/rule-pack.schema.json"));
  ASSERT_TRUE(form.ok());
  for (const auto& id : pack_ids()) {
    const auto document = schema::parse_json(assets::get("data/law/" + id + ".json"));
    ASSERT_TRUE(document.ok()) << id;
    for (const auto& fault : schema::Schema(*form).check(*document, id)) ADD_FAILURE() << fault.text();
    EXPECT_NE(find_pack(id), nullptr) << id;
  }
  EXPECT_EQ(pack_ids(), (std::vector<std::string>{"au", "gb"}));
  EXPECT_EQ(find_pack("atlantis"), nullptr);
}

TEST(RulePack, IsReadOnceWhenManyThreadsAskForItFirst) {
  std::vector<const RulePack*> found(8);
  {
    std::vector<std::jthread> askers;
    for (auto& one : found) askers.emplace_back([&one] { one = find_pack("gb"); });
  }
  EXPECT_THAT(found, Each(found.front()));
  EXPECT_EQ(found.front()->id, "gb");
}

TEST(RulePack, FinalBan) { EXPECT_EQ(find_pack("gb")->final_ban().text(), "1999-11-24"); }

// A second, invented country whose law turns on what no British rule reads: the fibre, whether the piece stays whole,
// who does it, a yearly limit, and ceilings on damage and disturbance.
constexpr std::string_view kSecondCountry = R"({
  "format": "rule-pack", "version": 2, "id": "xx", "name": "Elsewhere", "note": "Invented for a test.",
  "as_of": "2026-01-01", "currency": "EUR",
  "words": {"remover": "a guild master", "trained": "a guild", "sampler": "a guild", "authority": "the guild", "waste_paper": "the slip", "region": "canton", "mask": "M3", "date": "month day year"},
  "regions": [],
  "class_names": [{"class": "licensed", "name": "guild work", "done_by": "A guild.", "hands": "a guild"}, {"class": "notifiable non-licensed", "name": "told work", "done_by": "Anybody, told.", "hands": "anybody"}, {"class": "non-licensed", "name": "free work", "done_by": "Anybody.", "hands": "anybody"}],
  "limits": [{"id": "year", "minutes_longest_person": 480, "minutes_all_people": 960, "window_days": 365, "text": "A working day a year.", "source": "judgement", "sure": "judgement"}],
  "rules": [
    {"id": "brown-or-blue", "when": {"any_fibre": ["amosite", "crocidolite"]}, "class": "licensed", "reason": "Amphibole, or not known.", "source": "judgement", "sure": "judgement"},
    {"id": "self", "when": {"by": ["householder"], "kept_whole": true, "disturbance_at_most": 1, "damage_at_most": "low", "within": "year"}, "class": "non-licensed", "reason": "Own home.", "source": "judgement", "sure": "judgement"},
    {"id": "whole", "when": {"kept_whole": true}, "class": "notifiable non-licensed", "reason": "Kept whole.", "source": "judgement", "sure": "judgement"}
  ],
  "permissions": [{"id": "light", "when": {"classes": ["non-licensed"]}, "may": "with precautions", "reason": "Light work.", "source": "judgement", "sure": "judgement"}],
  "duties": [{"class": "licensed", "duties": []}, {"class": "notifiable non-licensed", "duties": []}, {"class": "non-licensed", "duties": []}],
  "precautions": [{"id": "wet", "text": "Wet it.", "when": {}, "source": "judgement", "sure": "judgement"}],
  "bans": [{"date": "2005-01-01", "what": "all", "fibres": ["chrysotile"], "final": true, "source": "judgement", "sure": "judgement"}],
  "label": {"heading": "MIND", "lines": ["FIBRE"], "source": "judgement", "sure": "judgement"},
  "air_limits": [{"id": "day", "name": "a day", "f_per_ml": 0.05, "minutes": 480, "source": "judgement", "sure": "judgement"}],
  "clearance": [], "cautions": [], "exposure": [],
  "emergency": [], "facts": []
})";

TEST(RulePack, ASecondCountryIsDataOnly) {
  const auto form = schema::parse_json(assets::get("data/schemas/rule-pack.schema.json"));
  for (const auto& fault : schema::Schema(*form).check(*schema::parse_json(kSecondCountry)))
    ADD_FAILURE() << fault.text();
  const auto pack = parse_pack(kSecondCountry, catalogue::shipped(), "xx");
  ASSERT_TRUE(pack.ok()) << pack.faults().front().text();
  using book::Damage;
  using book::Fibre;
  using book::Who;
  const auto& board = *catalogue::shipped().find_family("insulating-board");
  const auto& lift = *catalogue::shipped().find_task("lift-whole");
  const auto& drill = *catalogue::shipped().find_task("drill");
  const auto outcome = [&](const WorkQuestion& question) { return classify(*pack, question).outcome; };
  EXPECT_EQ(outcome({board, lift, Damage::kNone, {Fibre::kChrysotile}, 480, 960, Who::kHouseholder, {}, false}),
            Outcome::kNonLicensed);
  EXPECT_EQ(outcome({board, lift, Damage::kNone, {}, 480, 960, Who::kHouseholder, {}, false}), Outcome::kLicensed)
      << "a type not known may be any";
  EXPECT_EQ(
      outcome(
          {board, lift, Damage::kNone, {Fibre::kChrysotile, Fibre::kAmosite}, 10, 10, Who::kHouseholder, {}, false}),
      Outcome::kLicensed);
  EXPECT_EQ(outcome({board, lift, Damage::kNone, {Fibre::kChrysotile}, 481, 960, Who::kHouseholder, {}, false}),
            Outcome::kNotifiable);
  EXPECT_EQ(outcome({board, lift, Damage::kMedium, {Fibre::kChrysotile}, 10, 10, Who::kHouseholder, {}, false}),
            Outcome::kNotifiable);
  EXPECT_EQ(outcome({board, lift, Damage::kNone, {Fibre::kChrysotile}, 10, 10, Who::kTrade, {}, false}),
            Outcome::kNotifiable);
  EXPECT_EQ(outcome({board, drill, Damage::kNone, {Fibre::kChrysotile}, 10, 10, Who::kHouseholder, {}, false}),
            Outcome::kNotifiable);
  EXPECT_EQ(pack->final_ban().text(), "2005-01-01");
  EXPECT_EQ(classify(*pack, {board, lift, Damage::kNone, {}, 10, 10, Who::kTrade, {}, false}).called, "guild work");
}

TEST(RulePack, EachRowOfAustraliaSaysHowItIsKnown) {
  const auto& au = *find_pack("au");
  EXPECT_EQ(au.final_ban().text(), "2003-12-31");
  EXPECT_EQ(au.currency, "AUD");
  EXPECT_EQ(au.regions.size(), 8U);
  ASSERT_NE(au.find_limit("small-area"), nullptr);
  EXPECT_EQ(au.find_limit("small-area")->area_m2, 10);
  EXPECT_FALSE(au.find_limit("small-area")->window_days.has_value()) << "it counts over all that is to be done";
  EXPECT_EQ(au.widest_minutes_window(), 7);
  EXPECT_TRUE(au.limits_area());
  EXPECT_TRUE(au.minutes_of_all_kinds());
  EXPECT_EQ(find_pack("gb")->widest_minutes_window(), 7);
  EXPECT_FALSE(find_pack("gb")->limits_area());
  EXPECT_FALSE(find_pack("gb")->minutes_of_all_kinds());
  // What is called seen was read; nothing from memory may be called so.
  for (const auto& rule : au.rules) {
    const auto* source = catalogue::shipped().find_source(rule.backing.source);
    ASSERT_NE(source, nullptr) << rule.id;
    if (rule.backing.sure == catalogue::Sure::kSeen) {
      EXPECT_EQ(source->sure, catalogue::Sure::kSeen) << rule.id;
    }
  }
}

TEST(PublishedRulePack, WhatAustralianLawSaysOfAirAndClearance) {
  const auto& au = *find_pack("au");
  // Customs (Prohibited Imports) Amendment Regulations 2003 (No. 10): from 31 December 2003, every kind.
  ASSERT_EQ(au.bans.size(), 1U);
  EXPECT_EQ(au.bans.front().fibres.size(), 6U);
  // The exposure standard: from memory.
  ASSERT_EQ(au.air_limits.size(), 1U);
  EXPECT_EQ(au.air_limits.front().f_per_ml, 0.1);
  EXPECT_EQ(au.air_limits.front().minutes, 480);
  // South Australia, regulation 473: an assessor after Class A, a competent person after Class B; New South Wales,
  // clause 474: below 0.01 f/ml. That friable removal always asks for an air test is this program's judgement.
  ASSERT_EQ(au.clearance.size(), 2U);
  const auto& friable = au.clearance[0].rules;
  EXPECT_EQ(au.clearance[0].when.bindings, (std::vector{catalogue::Binding::kFriable, catalogue::Binding::kPartBound}));
  EXPECT_THAT(friable.by, HasSubstr("licensed asbestos assessor"));
  EXPECT_EQ(friable.stages.size(), 2U);
  const auto& bonded = au.clearance[1].rules;
  EXPECT_TRUE(au.clearance[1].when.bindings.empty()) << "all the rest";
  EXPECT_THAT(bonded.by, HasSubstr("competent person"));
  EXPECT_EQ(bonded.stages.size(), 1U);
  for (const auto* one : {&friable, &bonded}) {
    EXPECT_EQ(one->air.required, one == &friable);
    EXPECT_EQ(one->air.below_f_per_ml, 0.01);
    EXPECT_FALSE(one->air.more_for_area);
  }
  // A council in Queensland, on what a wrapped piece must say.
  EXPECT_FALSE(au.label.letter_a);
  EXPECT_EQ(au.label.heading, "CAUTION - ASBESTOS");
  // An hour in all in 7 days, Victoria, at second hand.
  const auto& hour = *au.find_limit("hour-in-week");
  EXPECT_EQ(hour.minutes_longest_person, 60);
  EXPECT_EQ(hour.minutes_all_people, 60);
  EXPECT_EQ(hour.window_days, 7);
  EXPECT_TRUE(hour.all_kinds);
  EXPECT_THAT(au.cautions, SizeIs(2));
  EXPECT_THAT(au.emergency, SizeIs(5));
  ASSERT_TRUE(au.years);
  EXPECT_EQ(au.years->from_year, 1985) << "judgement: until then the years of use are those carried on";
}

TEST(FaultRulePack, WasteCodesStandInTheWasteFileAlone) {
  std::string with_codes(kSecondCountry);
  with_codes.replace(with_codes.rfind("\"emergency\""), 0, R"("waste": [], )");
  const auto pack = parse_pack(with_codes, catalogue::shipped(), "xx");
  ASSERT_FALSE(pack.ok());
  EXPECT_THAT(pack.faults().front().text(), HasSubstr("waste"));
}

TEST(RulePack, WhatNoRuleCoversGetsTheStrictestAnswer) {
  const auto pack = parse_pack(kSecondCountry, catalogue::shipped(), "xx");
  ASSERT_TRUE(pack.ok());
  const WorkQuestion question{*catalogue::shipped().find_family("vinyl-tile"),
                              *catalogue::shipped().find_task("break"),
                              book::Damage::kNone,
                              {book::Fibre::kChrysotile},
                              10,
                              10,
                              book::Who::kTrade,
                              {},
                              false};
  const auto answer = classify(*pack, question);
  EXPECT_EQ(answer.rule, nullptr);
  EXPECT_EQ(answer.outcome, Outcome::kLicensed);
  EXPECT_EQ(answer.may, May::kNo);
  EXPECT_EQ(answer.reasons.size(), 2U);
}

TEST(FaultRulePack, AMisspeltConditionIsRefusedNotIgnored) {
  EXPECT_THAT(faults_of(gb_with("\"legal_kinds\": [\"coating\"]", "\"legal_kind\": [\"coating\"]")),
              Contains(HasSubstr("/rules/3/when/legal_kind")));
}

TEST(FaultRulePack, EveryReferenceMustBeThere) {
  EXPECT_THAT(faults_of(gb_with("\"families\": [\"loose-fill\"]", "\"families\": [\"lose-fill\"]")),
              Contains(HasSubstr("lose-fill")));
  EXPECT_THAT(faults_of(gb_with("\"beyond\": \"short\"", "\"beyond\": \"shortish\"")), Contains(HasSubstr("shortish")));
  EXPECT_THAT(faults_of(gb_with("\"source\": \"hse-licensable\"", "\"source\": \"hearsay\"")),
              Contains(HasSubstr("hearsay")));
  EXPECT_THAT(faults_of(gb_with("\"tasks\": [\"wet-scrape\"]", "\"tasks\": [\"blast\"]")),
              Contains(HasSubstr("blast")));
  EXPECT_THAT(faults_of(gb_with("\"class\": \"licensed\"", "\"class\": \"forbidden\"")),
              Contains(HasSubstr("forbidden")));
  EXPECT_THAT(faults_of(gb_with("\"damage_at_least\": \"high\"", "\"damage_at_least\": \"dreadful\"")),
              Contains(HasSubstr("dreadful")));
}

TEST(FaultRulePack, OddPacksAreRefused) {
  EXPECT_THAT(faults_of("[]"), Contains(HasSubstr("is not an object")));
  EXPECT_THAT(faults_of("{"), ::testing::Not(::testing::IsEmpty()));
  EXPECT_THAT(faults_of(gb_with("\"final\": true", "\"final\": false")), Contains(HasSubstr("final ban")));
  EXPECT_THAT(faults_of(gb_with("\"id\": \"loose-fill\"", "\"id\": \"coating\"")),
              Contains(HasSubstr("uses the id coating twice")));
  EXPECT_THAT(
      faults_of(gb_with("{\"class\": \"outside\", \"duties\": []}", "{\"class\": \"licensed\", \"duties\": []}")),
      Contains(HasSubstr("each class once")));
  EXPECT_THAT(faults_of(gb_with("{\"class\": \"outside\", \"name\": \"outside\", \"done_by\": \"Whoever you like.\", "
                                "\"hands\": \"anybody\"},",
                                "")),
              Contains(HasSubstr("leaves out outside")));
  EXPECT_THAT(faults_of(gb_with("\"when\": {\"legal_kinds\": [\"coating\"]}",
                                "\"when\": {\"legal_kinds\": [\"coating\"], \"regions\": [\"mercia\"]}")),
              Contains(HasSubstr("mercia")));
  EXPECT_THAT(faults_of(gb_with("\"minutes_longest_person\": 60, \"minutes_all_people\": 120, ", "")),
              Contains(HasSubstr("limits nothing")));
  EXPECT_THAT(faults_of(gb_with("\"version\": 2", "\"version\": 1")), Contains(HasSubstr("version")));
  EXPECT_THAT(faults_of(gb_with("\"as_of\": \"2026-", "\"as_of\": \"2026-13")), Contains(HasSubstr("as_of")));
  EXPECT_THAT(faults_of(gb_with("\"1999-11-24\"", "\"1999-11-31\"")), Contains(HasSubstr("1999-11-31")));
  EXPECT_THAT(faults_of(gb_with("\"minutes_all_people\": 120", "\"minutes_all_people\": 30")),
              Contains(HasSubstr("minutes_all_people")));
}

}  // namespace
}  // namespace lathbook::law
