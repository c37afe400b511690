#include "http/reckon.h"

#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include <chrono>
#include <nlohmann/json.hpp>
#include <vector>

#include "assets/assets.h"
#include "book/json.h"
#include "service/event_answers.h"

namespace lathbook::http {
namespace {

using service::Json;
using State = Reckoner::State;

/// The event of the demo, in a house of two rooms so that draws are quick.
std::shared_ptr<const book::Book> small_house() {
  auto form = Json::parse(assets::get("data/demo.json"));
  form["openings"] = Json::array();
  auto& event = form["events"][0];
  event.erase("openings");
  event["stays"] = {{{"person", "PE1"}, {"room", "R5"}, {"from_min", 0}, {"to_min", 70}, {"at_the_work", true}}};
  auto book = book::book_from_json(form);
  if (!book.ok()) throw std::runtime_error(book.faults().front().text());
  return std::make_shared<const book::Book>(std::move(*book));
}

Reckoner::Look waited_for(const Reckoner& reckoner, std::int64_t run) {
  const auto until = std::chrono::steady_clock::now() + std::chrono::seconds(60);
  for (;;) {
    const auto look = reckoner.look(run);
    if (!look) throw std::runtime_error("no such run");
    if (look->state != State::kRunning) return *look;
    if (std::chrono::steady_clock::now() > until) throw std::runtime_error("still running");
    std::this_thread::sleep_for(std::chrono::milliseconds(2));
  }
}

TEST(Reckon, AnswersAsTheCommandDoes) {
  const auto book = small_house();
  Reckoner reckoner(2);
  const auto run = reckoner.start(book, "E1", "first");
  const auto look = waited_for(reckoner, run);
  ASSERT_EQ(look.state, State::kDone);
  const auto told = Json::parse(*look.answer);
  event::Settings settings;
  settings.workers = 1;
  const auto meant = service::event_json(*book, "E1", settings);
  EXPECT_EQ(told, *meant);
}

TEST(Reckon, AnswersTheSameQuestionFromWhatItKept) {
  Reckoner reckoner(1);
  const auto run = reckoner.start(small_house(), "E1", "first");
  EXPECT_EQ(waited_for(reckoner, run).state, State::kDone);
  EXPECT_EQ(reckoner.start(small_house(), "E1", "first"), run);
  EXPECT_NE(reckoner.start(small_house(), "E1", "second"), run);
}

TEST(Reckon, ANewQuestionTakesThePlaceOfTheOneBefore) {
  Reckoner reckoner(1);
  const auto book = small_house();
  std::vector<std::int64_t> runs;
  for (int i = 0; i < 20; ++i) runs.push_back(reckoner.start(book, "E1", "question " + std::to_string(i)));
  EXPECT_EQ(waited_for(reckoner, runs.back()).state, State::kDone);
  for (std::size_t i = 0; i + 1 < runs.size(); ++i) {
    const auto state = reckoner.look(runs[i])->state;
    EXPECT_TRUE(state == State::kReplaced || state == State::kStopped) << i;
  }
}

TEST(Reckon, IsStoppedWhenAsked) {
  Reckoner reckoner(2);
  const auto run = reckoner.start(small_house(), "E1", "first");
  EXPECT_TRUE(reckoner.stop(run));
  const auto look = waited_for(reckoner, run);
  EXPECT_EQ(look.state, State::kStopped);
  EXPECT_FALSE(reckoner.stop(run));
  EXPECT_FALSE(reckoner.stop(run + 1));
  // What was stopped is not taken for an answer.
  const auto again = reckoner.start(small_house(), "E1", "first");
  EXPECT_NE(again, run);
  EXPECT_EQ(waited_for(reckoner, again).state, State::kDone);
}

TEST(Reckon, EndsInTheMiddleOfARun) {
  for (int i = 0; i < 5; ++i) {
    Reckoner reckoner(2);
    EXPECT_GT(reckoner.start(small_house(), "E1", "first"), 0);
    EXPECT_GT(reckoner.start(small_house(), "E1", "second"), 0);
  }
}

TEST(Reckon, ManyMayAskAtOnce) {
  Reckoner reckoner(2);
  const auto book = small_house();
  std::vector<std::thread> askers;
  for (int a = 0; a < 4; ++a) {
    askers.emplace_back([&, a] {
      for (int i = 0; i < 10; ++i) {
        const auto run = reckoner.start(book, "E1", std::to_string(a) + " " + std::to_string(i));
        EXPECT_TRUE(reckoner.look(run).has_value());
        if (i % 3 == 0) reckoner.stop(run);
        EXPECT_TRUE(reckoner.rough(*book, "E1").ok());
      }
    });
  }
  for (auto& asker : askers) asker.join();
  EXPECT_EQ(waited_for(reckoner, reckoner.start(book, "E1", "last")).state, State::kDone);
}

TEST(FaultReckon, TellsWhatIsWrongWithTheEvent) {
  auto book = std::make_shared<book::Book>(*small_house());
  book->events[0].cuts.clear();
  Reckoner reckoner(1);
  const auto look = waited_for(reckoner, reckoner.start(book, "E1", "first"));
  EXPECT_EQ(look.state, State::kRefused);
  ASSERT_EQ(look.faults.size(), 1u);
  EXPECT_THAT(look.faults[0].where, ::testing::HasSubstr("cuts"));
  EXPECT_FALSE(reckoner.rough(*book, "E1").ok());
  EXPECT_FALSE(reckoner.look(0).has_value());
  EXPECT_FALSE(reckoner.look(99).has_value());
}

}  // namespace
}  // namespace lathbook::http
