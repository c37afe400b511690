#include "service/event_answers.h"

#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include <nlohmann/json.hpp>

#include "assets/assets.h"
#include "book/json.h"
#include "catalogue/air_data.h"
#include "event/from_book.h"
#include "schema/schema.h"

namespace lathbook::service {
namespace {

using ::testing::HasSubstr;

book::Book demo() {
  const auto json = schema::parse_json(assets::get("data/demo.json"));
  if (!json.ok()) throw std::runtime_error(json.faults().front().text());
  auto book = book::book_from_json(*json);
  if (!book.ok()) throw std::runtime_error(book.faults().front().text());
  return std::move(*book);
}

event::Settings few() {
  event::Settings settings;
  settings.draws = 512;
  return settings;
}

std::string refused(const book::Book& book, std::string_view id) {
  const auto answer = event_json(book, id, few());
  std::string text;
  if (!answer.ok()) {
    for (const auto& fault : answer.faults()) text += fault.text() + "\n";
  }
  return text;
}

TEST(EventAnswer, TheDemosAccidentComesWithEverythingAsked) {
  const auto book = demo();
  const auto answer = event_json(book, "E1", few());
  ASSERT_TRUE(answer.ok()) << answer.faults().front().text();
  const Json& e = *answer;
  EXPECT_EQ(e["event"], "E1");
  EXPECT_EQ(e["fibre"], "amosite");
  const auto times = e["times_min"].size();
  EXPECT_GT(times, 50U);
  std::vector<std::string> names;
  for (const auto& room : e["rooms"]) {
    names.push_back(room["name"]);
    EXPECT_EQ(room["f_per_ml"].size(), times);
    EXPECT_GT(room["load_f_per_cm2"]["high"].get<double>(), 0);
    EXPECT_GT(room["week_adds_f_per_ml_h"]["high"].get<double>(), 0);
  }
  // The detached garage and the void no opening leads to are not reached.
  EXPECT_THAT(names, ::testing::Not(::testing::Contains("Garage")));
  EXPECT_THAT(names, ::testing::Contains("Kitchen extension"));
  ASSERT_EQ(e["people"].size(), 3U);
  for (const auto& person : e["people"]) {
    EXPECT_EQ(person["risk"]["models"].size(), 5U);
    EXPECT_GT(person["risk"]["low_per_million"].get<double>(), 0);
    EXPECT_LT(person["risk"]["low_per_million"].get<double>(), person["risk"]["high_per_million"].get<double>());
    EXPECT_THAT(person["risk"]["in_words"].get<std::string>(), ::testing::StartsWith("between "));
  }
  EXPECT_EQ(e["people"][0]["risk"]["age"], 42);
  EXPECT_EQ(e["people"][2]["risk"]["age"], 7);
  EXPECT_FALSE(e["matters"].empty());
  EXPECT_FALSE(e["changes"].empty());
  EXPECT_GE(e["disagree"].size(), 3U);
  const auto text = e.dump();
  EXPECT_THAT(text, HasSubstr("anything from never to always"));
  EXPECT_THAT(text, HasSubstr("not medical advice"));
  EXPECT_EQ(text.find("safe"), std::string::npos);
}

TEST(EventAnswer, TheSameSeedGivesTheSameText) {
  const auto book = demo();
  auto settings = few();
  settings.changes = false;
  const auto once = event_json(book, "E1", settings)->dump();
  settings.workers = 2;
  EXPECT_EQ(event_json(book, "E1", settings)->dump(), once);
}

TEST(EventAnswer, RoomsHaveTheVolumesDrawn) {
  const auto book = demo();
  const auto taken = event::from_book(book, book.events.front(), catalogue::shipped_air_data(), catalogue::shipped());
  ASSERT_TRUE(taken.ok());
  for (const auto& room : taken->scene.rooms) {
    if (room.id != "R5") continue;
    EXPECT_NEAR(room.floor_m2, 3.6 * 2.8, 1e-9);
    EXPECT_NEAR(room.volume_m3, 3.6 * 2.8 * 2.3, 1e-9);
  }
  ASSERT_EQ(taken->scene.work.size(), 1U);
  EXPECT_EQ(taken->scene.work[0].task, "saw");
  EXPECT_EQ(taken->scene.work[0].to_min, 12);
  EXPECT_FALSE(taken->scene.people.front().masks.front().share_worn.has_value());
}

TEST(FaultEventAnswer, WhatTheEventLacksIsNamed) {
  auto book = demo();
  EXPECT_THAT(refused(book, "E9"), HasSubstr("is not an event of this book"));
  book.events[0].cuts.clear();
  book.events[0].materials.clear();
  const auto text = refused(book, "E1");
  EXPECT_THAT(text, HasSubstr("E1 cuts: says nothing was cut"));
  EXPECT_THAT(text, HasSubstr("E1 materials: names no suspect material"));
  book = demo();
  book.events[0].stays.push_back(book.events[0].stays.front());
  EXPECT_THAT(refused(book, "E1"), HasSubstr("a person in two places"));
}

TEST(FirstResponseAnswer, NeedsNoBookAndKnowsFamiliesByName) {
  const auto unknown = first_response_json("", catalogue::Amount::kSmall);
  ASSERT_TRUE(unknown.ok());
  EXPECT_EQ((*unknown)["steps"][0]["id"], "stop");
  EXPECT_TRUE((*unknown)["family"].is_null());
  EXPECT_EQ((*first_response_json("AIB", catalogue::Amount::kLarge))["family"], "insulating-board");
  const auto wrong = first_response_json("insulating-bord", catalogue::Amount::kSmall);
  ASSERT_FALSE(wrong.ok());
  EXPECT_THAT(wrong.faults().front().text(), HasSubstr("insulating-board"));
}

}  // namespace
}  // namespace lathbook::service
