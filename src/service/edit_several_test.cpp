// Several edits made at one go.
#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include "service/edit.h"
#include "store/testing.h"

namespace lathbook::service {
namespace {

using ::testing::HasSubstr;

constexpr const char* kAt = "2026-11-25T12:00:00Z";

class SeveralEdits : public ::testing::Test {
 protected:
  SeveralEdits()
      : book_(OpenBook::create(folder_ / "new.lathbook",
                               {{"format", "lathbook-book"},
                                {"version", 1},
                                {"about", {{"title", "House"}, {"rules", "gb"}, {"currency", "GBP"}}}},
                               "new book", kAt)
                  .value()) {}
  static Json outline(double x, double width) { return {{x, 0.0}, {x + width, 0.0}, {x + width, 3.0}, {x, 3.0}}; }
  static std::vector<Part> house() {
    return {{true, "phase", "@built", {{"name", "House built"}, {"years", {{"from", 1931}, {"to", 1933}}}}},
            {true, "storey", "@ground", {{"name", "Ground floor"}, {"floor_m", 0}}},
            {true,
             "room",
             "@hall",
             {{"name", "Hall"}, {"storey", "@ground"}, {"phase", "@built"}, {"outline", outline(0, 2)}}},
            {true, "room", "", {{"name", "Kitchen"}, {"storey", "@ground"}, {"outline", outline(2, 4)}}},
            {true, "opening", "", {{"kind", "door"}, {"from", "@hall"}, {"at", {0.0, 1.0}}}}};
  }

  store::testing::Folder folder_;
  OpenBook book_;
};

TEST_F(SeveralEdits, NamesStandForTheIdsTheyGet) {
  const auto done = several(book_, "draw the ground floor", house(), kAt);
  ASSERT_TRUE(done.ok()) << done.faults().front().text();
  EXPECT_EQ(done->label, "draw the ground floor");
  ASSERT_EQ(book_.book().rooms.size(), 2);
  EXPECT_EQ(book_.book().rooms[0].storey, book_.book().storeys[0].id);
  EXPECT_EQ(book_.book().rooms[0].phase, book_.book().phases[0].id);
  EXPECT_NE(book_.book().rooms[0].id, book_.book().rooms[1].id);
  EXPECT_EQ(book_.book().openings[0].from, book_.book().rooms[0].id);
}

TEST_F(SeveralEdits, AreOneStepToTakeBack) {
  ASSERT_TRUE(several(book_, "draw", house(), kAt).ok());
  ASSERT_TRUE(book_.undo(kAt).ok());
  EXPECT_TRUE(book_.book().rooms.empty());
  EXPECT_TRUE(book_.book().storeys.empty());
  EXPECT_FALSE(book_.undo(kAt).ok());
  ASSERT_TRUE(book_.redo(kAt).ok());
  EXPECT_EQ(book_.book().rooms.size(), 2);
}

TEST_F(SeveralEdits, AreAllOrNothingWithEveryFaultFound) {
  auto parts = house();
  parts[2].fields.erase("name");
  parts[3].fields["outline"] = "square";
  const auto refused = several(book_, "draw", parts, kAt);
  ASSERT_FALSE(refused.ok());
  EXPECT_GE(refused.faults().size(), 2);
  EXPECT_TRUE(book_.book().storeys.empty());
  parts = house();
  parts[3].fields["outline"] = outline(1, 4);  // over the hall
  const auto overlap = several(book_, "draw", parts, kAt);
  ASSERT_FALSE(overlap.ok());
  EXPECT_THAT(overlap.faults().front().problem, HasSubstr("overlaps"));
  EXPECT_TRUE(book_.book().rooms.empty());
}

TEST_F(SeveralEdits, ChangeWhatIsThereAndWhatTheyAddedThemselves) {
  ASSERT_TRUE(several(book_, "draw", house(), kAt).ok());
  const auto kitchen = book_.book().rooms[1].id;
  const auto done = several(book_, "move",
                            std::vector<Part>{{false, kitchen.text, "", {{"use", "kitchen"}}},
                                              {false, kitchen.text, "", {{"outline", outline(2, 3)}}},
                                              {false, "about", "", {{"title", "Hill house"}}}},
                            kAt);
  ASSERT_TRUE(done.ok()) << done.faults().front().text();
  EXPECT_EQ(book_.book().rooms[1].use, "kitchen");
  EXPECT_DOUBLE_EQ(book_.book().rooms[1].outline[1].x_m, 5);
  EXPECT_EQ(book_.book().about.title, "Hill house");
}

TEST_F(SeveralEdits, RefuseWhatIsNotThere) {
  for (const Part& part : std::vector<Part>{{true, "sofa", "", Json::object()},
                                            {false, "R9", "", Json::object()},
                                            {false, "J1/cuts/1", "", Json::object()}}) {
    EXPECT_FALSE(several(book_, "x", std::vector<Part>{part}, kAt).ok()) << part.what;
  }
}

TEST_F(SeveralEdits, ListsOfAboutGrowAndShrinkLikeAnyOther) {
  const auto add = [&](const char* from, const char* to) {
    return service::add(book_, "about/away", {{}, Json{{"from", from}, {"to", to}}}, kAt);
  };
  ASSERT_TRUE(add("2026-12-20", "2027-01-04").ok());
  ASSERT_TRUE(add("2027-02-13", "2027-02-21").ok());
  EXPECT_FALSE(add("2027-03-02", "2027-03-01").ok());  // ends before it begins
  ASSERT_EQ(book_.book().about.away.size(), 2U);
  ASSERT_TRUE(service::remove(book_, "about/away/1", false, kAt).ok());
  EXPECT_EQ(book_.book().about.away[0].from.text(), "2027-02-13");
  EXPECT_EQ(book_.book().about.title, "House");
  EXPECT_FALSE(service::remove(book_, "about", false, kAt).ok());
}

}  // namespace
}  // namespace lathbook::service
