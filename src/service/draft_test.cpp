#include "service/draft.h"

#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include "assets/assets.h"
#include "book/json.h"

namespace lathbook::service {
namespace {

using ::testing::HasSubstr;

book::Book demo() {
  auto book = book::book_from_json(Json::parse(assets::get("data/demo.json")));
  if (!book.ok()) throw std::runtime_error(book.faults().front().text());
  return std::move(*book);
}

Json item(std::string_view list, std::size_t at) { return Json::parse(assets::get("data/demo.json"))[list][at]; }

TEST(Draft, TakesThePlaceOfTheOneOfItsId) {
  const auto before = demo();
  auto job = item("jobs", 2);
  job["title"] = "Otherwise";
  const auto drafted = with_draft(before, "job", job);
  ASSERT_TRUE(drafted.ok()) << drafted.faults().front().text();
  EXPECT_EQ(drafted->id, "J3");
  ASSERT_EQ(drafted->book.jobs.size(), before.jobs.size());
  EXPECT_EQ(drafted->book.jobs[2].title, "Otherwise");
  EXPECT_EQ(drafted->book.jobs[3].id.text, "J4");
}

TEST(Draft, OfANewOneGetsTheNextId) {
  const auto before = demo();
  auto event = item("events", 0);
  event.erase("id");
  const auto drafted = with_draft(before, "event", event);
  ASSERT_TRUE(drafted.ok());
  EXPECT_EQ(drafted->id, "E2");
  EXPECT_EQ(drafted->book.events.size(), 2u);
  EXPECT_EQ(before.events.size(), 1u);
}

TEST(FaultDraft, TellsFormAndReferences) {
  auto job = item("jobs", 0);
  job["cuts"][0]["count"] = 0;
  job["cuts"][1]["face"] = "sky";
  const auto form = with_draft(demo(), "job", job);
  ASSERT_FALSE(form.ok());
  EXPECT_EQ(form.faults().size(), 2u);

  auto event = item("events", 0);
  event["stays"][0]["room"] = "R99";
  const auto lost = with_draft(demo(), "event", event);
  ASSERT_FALSE(lost.ok());
  EXPECT_THAT(lost.faults().front().text(), HasSubstr("R99"));

  EXPECT_FALSE(with_draft(demo(), "job", Json(7)).ok());
  EXPECT_FALSE(with_draft(demo(), "job", Json::array()).ok());
}

}  // namespace
}  // namespace lathbook::service
