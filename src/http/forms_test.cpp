#include "http/forms.h"

#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include <nlohmann/json.hpp>

#include "book/json.h"
#include "http/testing.h"
#include "testing/generate.h"

namespace lathbook::http {
namespace {

using service::Json;
using ::testing::IsEmpty;
using ::testing::SizeIs;
using ::testing::UnorderedElementsAreArray;

TEST(FormsTest, EveryQuestionHasOneUnlessItsAnswerIsAPicture) {
  auto questions = Site::questions();
  for (const char* picture : {"GET photo", "GET preview"}) EXPECT_EQ(std::erase(questions, picture), 1) << picture;
  EXPECT_THAT(questions_with_forms(), UnorderedElementsAreArray(questions));
}

TEST(FormsTest, ARequestIsReadOrRefusedFieldByField) {
  const auto read =
      read_request("POST look", R"({"revision":3,"room":"R1","families":["paper"],"answer":"none seen"})");
  ASSERT_TRUE(read.ok());
  EXPECT_EQ((*read)["revision"], 3);
  const auto refused =
      read_request("POST look", R"({"revision":-1,"room":"R1","families":["paper"],"answer":"no","by":1})");
  ASSERT_FALSE(refused.ok());
  EXPECT_THAT(refused.faults(), SizeIs(3));
  EXPECT_FALSE(read_request("POST look", "{").ok());
}

TEST(FormsTest, AnAnswerIsHeldToItsFormBothWays) {
  Json answer = {{"label", "add R1"}, {"revision", 2}, {"changed", {"R1"}}};
  EXPECT_THAT(check_answer("POST add", answer), IsEmpty());
  auto more = answer;
  more["why"] = "because";
  EXPECT_THAT(check_answer("POST add", more), SizeIs(1));
  answer.erase("label");
  EXPECT_THAT(check_answer("POST add", answer), SizeIs(1));
  EXPECT_THROW((void)check_answer("GET sofa", answer), std::exception);
}

class FaultForms : public testing::DemoSite {};

// Belief could not be worked out of such a group: the book would not have opened again.
TEST_F(FaultForms, AGroupThatIsAlikeToNothingIsRefused) {
  const Json fields = {{"name", "Boards"}, {"alike", "same look"}};
  EXPECT_EQ(post("/api/add", {{"revision", revision()}, {"what", "group"}, {"fields", fields}}).first, 422);
}

class PropertyForms : public testing::DemoSite {
 protected:
  /// Asks everything there is to ask of the book as it stands; DemoSite::ask holds each answer to its form.
  void ask_everything() {
    const auto book = get("/api/book")["book"];
    for (const char* one : {"schema", "testing", "timeline", "waste", "now", "walks"})
      ask(*site_, "GET", std::string("/api/") + one);
    const auto each = [&](const char* list, const std::string& word) {
      for (const auto& item : book.value(list, Json::array()))
        ask(*site_, "GET", "/api/" + word + "/" + item["id"].get<std::string>());
    };
    each("rooms", "walk");
    each("rooms", "backs");
    each("materials", "material");
    each("certificates", "certificate");
    each("jobs", "check");
    for (const auto& job : book.value("jobs", Json::array())) post("/api/try", {{"job", job}});
  }
};

TEST_F(PropertyForms, HoldOfTheDemo) {
  ask_everything();
  const service::Json book = get("/api/book")["book"];
  for (const auto& event : book["events"]) post("/api/rough", {{"event", event["id"]}});
}

TEST_F(PropertyForms, HoldWhateverIsWrittenIntoTheBook) {
  lathbook::testing::Generator draw(book::book_schema(), 20261125);
  const auto& forms = book::book_schema().document()["$defs"];
  int written = 0;
  for (int round = 0; round < 6; ++round) {
    for (int i = 0; i < 60; ++i) {
      const auto now = get("/api/book");
      const auto& kind = book::kinds()[draw.below(book::kinds().size())];
      const auto items = now["book"].value(std::string(kind.list), Json::array());
      auto fields = draw.value(forms[std::string(kind.name)]);
      fields.erase("id");
      // Most ids drawn are of nothing: an item is put where something is, or a few fields of one are changed.
      if (!items.empty() && draw.below(3) != 0) {
        while (fields.size() > 2) fields.erase(std::next(fields.begin(), static_cast<long>(draw.below(fields.size()))));
        const auto& item = items[draw.below(items.size())];
        written +=
            post("/api/set", {{"revision", now["revision"]}, {"what", item["id"]}, {"fields", fields}}).first == 200;
      } else {
        for (const char* where : {"room", "face", "shape", "material", "cuts"}) {
          if (!items.empty() && fields.contains(where)) fields.erase(where);
          if (!items.empty() && items[0].contains(where))
            fields[where] = items[draw.below(items.size())].value(where, items[0][where]);
        }
        written +=
            post("/api/add", {{"revision", now["revision"]}, {"what", kind.name}, {"fields", fields}}).first == 200;
      }
    }
    ask_everything();
  }
  EXPECT_GT(written, 60);
}

}  // namespace
}  // namespace lathbook::http
