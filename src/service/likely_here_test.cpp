#include "service/likely_here.h"

#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include <algorithm>
#include <nlohmann/json.hpp>
#include <set>

#include "assets/assets.h"
#include "book/json.h"
#include "service/answers.h"

namespace lathbook::service {
namespace {

using ::testing::Contains;
using ::testing::IsEmpty;
using ::testing::Not;

constexpr int kBan = 1999;

const check::Knowledge& known() {
  static const auto kKnown = knowledge_for(book::book_from_json(Json::parse(assets::get("data/demo.json"))).value());
  return *kKnown;
}

book::Room room(const std::string& use, book::RoomKind kind = book::RoomKind::kRoom) {
  book::Room one;
  one.name = "Upstairs";
  one.use = use;
  one.kind = kind;
  return one;
}

LikelyHere asked(const book::Room& one, std::optional<book::YearRange> built) {
  return likely_here(one, built, kBan, known().catalogue, known().evidence);
}

std::vector<std::string> families(const LikelyHere& here) {
  std::vector<std::string> ids;
  for (const auto& question : here.questions) ids.push_back(question.family->id);
  return ids;
}

TEST(LikelyHere, AsksNothingOfARoomBuiltAfterTheBan) {
  EXPECT_THAT(asked(room("kitchen"), book::YearRange{kBan + 1, 2010}).questions, IsEmpty());
  // One that may have been built before it is asked about.
  EXPECT_THAT(asked(room("kitchen"), book::YearRange{kBan - 9, 2010}).questions, Not(IsEmpty()));
}

TEST(LikelyHere, AnExtensionOfNoUseIsAskedAsAKitchenAndARoomToLiveIn) {
  auto lean_to = room("");
  lean_to.name = "Extension";
  const auto here = asked(lean_to, book::YearRange{1964, 1966});
  EXPECT_TRUE(here.guessed);
  EXPECT_THAT(families(here), Contains("bitumen-felt"));  // its flat roof
  for (const auto& id : families(asked(room("kitchen"), book::YearRange{1964, 1966})))
    EXPECT_THAT(families(here), Contains(id));
}

TEST(LikelyHere, ALeanToIsAskedOfItsRoofWhateverItIsUsedFor) {
  auto lean_to = room("kitchen");
  lean_to.name = "Kitchen lean-to";
  const auto kitchen = families(asked(room("kitchen"), book::YearRange{1966, 1966}));
  const auto here = families(asked(lean_to, book::YearRange{1966, 1966}));
  EXPECT_THAT(kitchen, Not(Contains("cement-profiled-sheet")));
  EXPECT_THAT(here, Contains("cement-profiled-sheet"));
  for (const auto& id : kitchen) EXPECT_THAT(here, Contains(id));
}

TEST(LikelyHere, AsksByTheUseOfTheRoom) {
  const auto kitchen = families(asked(room("kitchen"), book::YearRange{1954, 1954}));
  const auto bedroom = families(asked(room("bedroom"), book::YearRange{1954, 1954}));
  EXPECT_THAT(kitchen, Contains("sink-pad"));
  EXPECT_THAT(bedroom, Not(Contains("sink-pad")));
  EXPECT_THAT(kitchen, Contains("vinyl-tile"));
  const auto garage = asked(room("", book::RoomKind::kGarage), book::YearRange{1966, 1966});
  EXPECT_FALSE(garage.guessed);
  EXPECT_THAT(families(garage), Contains("cement-profiled-sheet"));
}

TEST(LikelyHere, AnUnknownAgeAsksAtLeastWhatAnyKnownAgeAsks) {
  const auto all = families(asked(room("kitchen"), std::nullopt));
  for (int year = 1900; year <= kBan; year += 7) {
    for (const auto& id : families(asked(room("kitchen"), book::YearRange{year, year}))) {
      // A narrow range may lift a rare family over the bound that the mean over a century leaves it under.
      const auto* curve = known().evidence.find(id);
      const auto& use = *known().catalogue.find_family(id)->use;
      const auto whole = evidence::prior_of(*curve, {std::max(1900, use.first), std::min(kBan, use.old_stock_until)},
                                            known().evidence.fibre_floor);
      if (whole.middle < kLikely) continue;
      EXPECT_THAT(all, Contains(id)) << year;
    }
  }
}

TEST(LikelyHere, EveryQuestionHasAPlaceAndAChanceAndIsAskedOnce) {
  std::size_t count = 0;
  for (const char* use : {"kitchen", "bathroom", "hall", "bedroom", "living room", "meter cupboard", "anything"}) {
    const auto here = asked(room(use), book::YearRange{1930, 1985});
    EXPECT_EQ(here.guessed, std::string(use) == "anything");
    std::set<std::string> seen;
    EXPECT_TRUE(std::is_sorted(here.questions.begin(), here.questions.end(), [](const LookFor& a, const LookFor& b) {
      return a.prior.middle * a.family->product_score > b.prior.middle * b.family->product_score;
    }));
    for (const auto& question : here.questions) {
      EXPECT_TRUE(question.family->suspect);
      EXPECT_FALSE(question.places.empty());
      EXPECT_GE(question.prior.middle, kLikely);
      EXPECT_LE(question.years.from, question.years.to);
      for (const auto* place : question.places) {
        for (const auto face : place->faces) EXPECT_THAT(question.faces, Contains(face));
      }
      EXPECT_TRUE(seen.insert(question.family->id).second);
      ++count;
    }
  }
  EXPECT_GT(count, 30);
}

TEST(LikelyHere, ALookIsReadAgainFromTheNotes) {
  const auto& board = *known().catalogue.find_family("insulating-board");
  const auto& lagging = *known().catalogue.find_family("pipe-lagging");
  const auto on = *reason::Date::parse("2026-11-25");
  std::string notes = "The boiler was here.\nLooked for something of my own: not yet";
  for (const auto answer : kLookAnswers) {
    notes = with_look(notes, board, {std::string(answer), on});
    const auto read = looked_of(notes, board);
    ASSERT_TRUE(read);
    EXPECT_EQ(read->answer, answer);
    EXPECT_EQ(read->on, on);
    EXPECT_FALSE(looked_of(notes, lagging));
  }
  EXPECT_EQ(notes,
            "The boiler was here.\nLooked for something of my own: not yet\n"
            "Looked for insulating board: not accessible, 2026-11-25.");
  EXPECT_EQ(with_look("", lagging, {"none seen", on}), "Looked for pipe lagging: none seen, 2026-11-25.");
}

TEST(FaultLikelyHere, LinesThatSomebodyChangedAreNotTakenForAnswers) {
  const auto& board = *known().catalogue.find_family("insulating-board");
  for (const char* notes :
       {"Looked for insulating board: ", "Looked for insulating board: none", "Looked for insulating board: none seen",
        "Looked for insulating board: none seen, yesterday.", "I looked for insulating board: none seen, 2026-11-25."})
    EXPECT_FALSE(looked_of(notes, board)) << notes;
}

TEST(LikelyHere, TellsWhatIsWrittenDownAndAnsweredAlready) {
  auto book = book::book_from_json(Json::parse(assets::get("data/demo.json"))).value();
  auto& kitchen =
      *std::find_if(book.rooms.begin(), book.rooms.end(), [](const auto& one) { return one.id.text == "R4"; });
  kitchen.notes =
      with_look("", *known().catalogue.find_family("sink-pad"), {"none seen", *reason::Date::parse("2026-11-25")});
  const auto house = check::House::build(book, known());
  ASSERT_TRUE(house.ok());
  const auto walk = walk_json(*house, kitchen);
  EXPECT_FALSE(walk["later_than_ban"]);
  bool with_material = false;
  for (const auto& question : walk["questions"]) {
    with_material = with_material || !question["materials"].empty();
    EXPECT_EQ(question.contains("answer"), question["family"] == "sink-pad") << question;
  }
  EXPECT_TRUE(with_material);
}

}  // namespace
}  // namespace lathbook::service
