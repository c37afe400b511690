#include "store/store.h"

#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include <set>

#include "store/testing.h"

namespace lathbook::store {
namespace {

using reason::Fault;
using reason::FaultKind;
using ::testing::AllOf;
using ::testing::ElementsAre;
using ::testing::Field;
using ::testing::HasSubstr;
using ::testing::IsEmpty;
using ::testing::SizeIs;
using namespace testing;

auto fault(FaultKind kind, const std::string& part) {
  return AllOf(Field("kind", &Fault::kind, kind), Field("problem", &Fault::problem, HasSubstr(part)));
}

Applied apply(Store& store, std::string_view label, const std::vector<Edit>& edits) {
  return got(store.apply(label, kNow, edits));
}

TEST(Store, ANewBookIsOneEmptyFile) {
  const Folder folder;
  {
    const auto store = got(Store::create(folder / "house.lathbook"));
    EXPECT_EQ(got(store.revision()), 0);
    EXPECT_THAT(got(store.read_all()).records, IsEmpty());
    EXPECT_THAT(got(store.history(10)), IsEmpty());
    EXPECT_THAT(got(store.verify()), IsEmpty());
  }
  EXPECT_THAT(folder.names(), ElementsAre("house.lathbook"));
}

TEST(Store, CreatingNeverReplacesAndLeavesNothingWhenFillingFails) {
  const Folder folder;
  write_bytes(folder / "letter.lathbook", "dear");
  const auto refused = Store::create(folder / "letter.lathbook");
  ASSERT_FALSE(refused.ok());
  EXPECT_THAT(refused.faults(), ElementsAre(fault(FaultKind::kConflict, "already there")));
  EXPECT_EQ(bytes_of(folder / "letter.lathbook"), "dear");

  const auto broken = Store::create(folder / "house.lathbook", [](Store& store) -> Result<Done> {
    got(store.apply("import", kNow, std::vector{put("M1", 1)}));
    return Fault{"/rooms/3", "", "crosses itself", ""};
  });
  ASSERT_FALSE(broken.ok());
  EXPECT_EQ(broken.faults().front().where, "/rooms/3");
  EXPECT_THAT(folder.names(), ElementsAre("letter.lathbook"));

  const auto nowhere = Store::create(folder / "no/such/folder/house.lathbook");
  ASSERT_FALSE(nowhere.ok());
  EXPECT_THAT(nowhere.faults(), ElementsAre(fault(FaultKind::kMissing, "there is no folder")));
}

TEST(Store, AFilledBookAppearsWhole) {
  const Folder folder;
  const auto store = got(Store::create(folder / "house.lathbook", [&](Store& half) -> Result<Done> {
    got(half.apply("import", kNow, std::vector{put("M1", 1), put("M2", 2)}));
    got(half.put_blob("a photo", "image/jpeg"));
    EXPECT_FALSE(std::filesystem::exists(folder / "house.lathbook"));
    return Done{};
  }));
  EXPECT_EQ(got(store.revision()), 1);
  EXPECT_THAT(got(store.read_all()).records, SizeIs(2));
  EXPECT_THAT(got(store.blobs()), SizeIs(1));
}

TEST(Store, RecordsComeBackAsTheyWentInAndInOrderOfReading) {
  const Folder folder;
  auto store = got(Store::create(folder / "house.lathbook"));
  const Json about = {{"title", "The \"old\" house\n漢"}};
  apply(store, "begin",
        {{"about", "about", about},
         put("M10", 1),
         put("M9", 2),
         put("M100", 3),
         put("M11", 4),
         {"room", "R1", Json{{"id", "R1"}, {"x", 0.1}}}});
  std::vector<std::string> ids;
  for (const auto& record : got(store.read_all()).records) ids.push_back(record.id);
  EXPECT_THAT(ids, ElementsAre("about", "M9", "M10", "M11", "M100", "R1"));
  EXPECT_EQ(got(store.read("about", "about")).body, about);
  EXPECT_EQ(got(store.read("material", "M100")).body, material("M100", 3));
  const auto missing = store.read("material", "M7");
  ASSERT_FALSE(missing.ok());
  EXPECT_EQ(missing.faults().front().kind, FaultKind::kMissing);
}

TEST(Store, AStepAnswersWhatItChanged) {
  const Folder folder;
  auto store = got(Store::create(folder / "house.lathbook"));
  apply(store, "add", {put("M1", 1), put("M2", 2)});
  const auto applied =
      apply(store, "set M1, remove M2", {put("M1", 5), {"material", "M2", std::nullopt}, put("M3", 3)});
  EXPECT_EQ(applied.revision, 2);
  EXPECT_EQ(applied.label, "set M1, remove M2");
  const std::vector<Change> expected = {{"material", "M1", material("M1", 1), material("M1", 5)},
                                        {"material", "M2", material("M2", 2), std::nullopt},
                                        {"material", "M3", std::nullopt, material("M3", 3)}};
  EXPECT_EQ(applied.changes, expected);
  EXPECT_EQ(got(store.changes(2)), expected);
  EXPECT_EQ(got(store.read("material", "M1")).revision, 2);
}

TEST(Store, AStepThatChangesNothingIsNotLogged) {
  const Folder folder;
  auto store = got(Store::create(folder / "house.lathbook"));
  apply(store, "add", {put("M1", 1)});
  const auto applied = apply(store, "set", {put("M1", 1)});
  EXPECT_EQ(applied.revision, 1);
  EXPECT_THAT(applied.changes, IsEmpty());
  EXPECT_THAT(got(store.history(10)), SizeIs(1));
}

TEST(Store, AllFaultsOfAStepAreToldAndNothingIsWritten) {
  const Folder folder;
  auto store = got(Store::create(folder / "house.lathbook"));
  apply(store, "add", {put("M1", 1)});
  const auto before = bodies(store);
  const std::vector<Edit> edits = {put("M2", 2),
                                   {"material", "M3", Json{{"id", "M4"}}},
                                   {"material", "M5", Json::array()},
                                   {"material", "M6", Json{{"x", std::numeric_limits<double>::infinity()}}},
                                   {"material", "M7", Json{{"name", "\xff"}}},
                                   {"mate rial", "M8", Json::object()}};
  const auto refused = store.apply("add", "yesterday", edits);
  ASSERT_FALSE(refused.ok());
  EXPECT_THAT(refused.faults(),
              ElementsAre(fault(FaultKind::kValue, "is not a moment"), fault(FaultKind::kValue, "is not the id"),
                          fault(FaultKind::kValue, "not an object"), fault(FaultKind::kValue, "not finite"),
                          fault(FaultKind::kValue, "not UTF-8"), fault(FaultKind::kValue, "not a name")));
  const auto missing = store.apply(
      "remove", kNow, std::vector<Edit>{put("M2", 2), {"material", "M3", std::nullopt}, {"job", "J1", std::nullopt}});
  ASSERT_FALSE(missing.ok());
  EXPECT_THAT(missing.faults(), SizeIs(2));
  EXPECT_THAT(missing.faults(), Each(fault(FaultKind::kMissing, "is not in the book")));
  EXPECT_EQ(bodies(store), before);
  EXPECT_EQ(got(store.revision()), 1);
}

TEST(Store, WhoeverReadAnOlderRevisionIsTold) {
  const Folder folder;
  auto mine = got(Store::create(folder / "house.lathbook"));
  auto yours = got(Store::open(folder / "house.lathbook", Mode::kReadWrite));
  const auto read = got(yours.revision());
  apply(mine, "add", {put("M1", 1)});
  for (const auto& late :
       {yours.apply("add", kNow, std::vector{put("M2", 2)}, read), yours.undo(kNow, read), yours.redo(kNow, read)}) {
    ASSERT_FALSE(late.ok());
    EXPECT_THAT(late.faults(), ElementsAre(fault(FaultKind::kConflict, "changed by another program")));
  }
  EXPECT_THAT(bodies(mine), SizeIs(1));
  EXPECT_EQ(got(yours.apply("add", kNow, std::vector{put("M2", 2)}, got(yours.revision()))).revision, 2);
}

TEST(Store, AnEditMayHoldOnToTheRevisionOfItsRecord) {
  const Folder folder;
  auto store = got(Store::create(folder / "house.lathbook"));
  apply(store, "add", {put("M1", 1), put("M2", 2)});
  apply(store, "set", {put("M2", 3)});
  auto edit = put("M1", 4);
  edit.expected_revision = 1;
  EXPECT_TRUE(store.apply("set", kNow, std::vector{edit}).ok());
  edit = put("M2", 4);
  edit.expected_revision = 1;
  auto fresh = put("M1", 9);
  fresh.expected_revision = 0;
  const auto refused = store.apply("set", kNow, std::vector{edit, fresh, put("M3", 3)});
  ASSERT_FALSE(refused.ok());
  EXPECT_THAT(refused.faults(), SizeIs(2));
  EXPECT_THAT(refused.faults(), Each(fault(FaultKind::kConflict, "changed by another program")));
  EXPECT_FALSE(store.read("material", "M3").ok());
}

TEST(Store, UndoAndRedoWalkTheLogWhichOnlyGrows) {
  const Folder folder;
  auto store = got(Store::create(folder / "house.lathbook"));
  apply(store, "add M1", {put("M1", 1)});
  apply(store, "set M1", {put("M1", 2)});
  const auto undone = got(store.undo("2026-03-01T11:00:00Z"));
  EXPECT_EQ(undone.label, "set M1");
  EXPECT_EQ(undone.changes, (std::vector<Change>{{"material", "M1", material("M1", 2), material("M1", 1)}}));
  got(store.undo(kNow));
  EXPECT_THAT(bodies(store), IsEmpty());
  EXPECT_THAT(store.undo(kNow).faults(), ElementsAre(fault(FaultKind::kMissing, "nothing to undo")));
  EXPECT_EQ(got(store.redo(kNow)).label, "add M1");
  apply(store, "add M2", {put("M2", 2)});
  EXPECT_THAT(store.redo(kNow).faults(), ElementsAre(fault(FaultKind::kMissing, "nothing to redo")));

  const auto history = got(store.history(100));
  ASSERT_THAT(history, SizeIs(6));
  EXPECT_EQ(history[0].label, "add M2");
  EXPECT_EQ(history[0].state, StepState::kDone);
  EXPECT_EQ(history[1].verb, Verb::kRedo);
  EXPECT_EQ(history[1].of, 1);
  EXPECT_EQ(history[3].verb, Verb::kUndo);
  EXPECT_EQ(history[3].of, 2);
  EXPECT_EQ(history[3].at, "2026-03-01T11:00:00Z");
  EXPECT_EQ(history[4].state, StepState::kDropped);
  EXPECT_EQ(history[5].state, StepState::kDone);
  EXPECT_THAT(got(store.history(2)), SizeIs(2));
  EXPECT_THAT(got(store.verify()), IsEmpty());
}

// ---- once under one key ---------------------------------------------------------------------------------------------

TEST(Store, ARequestSentAgainIsAnsweredAsItWasAndWritesNothing) {
  const Folder folder;
  const auto path = folder / "house.lathbook";
  Applied first;
  {
    auto store = got(Store::create(path));
    apply(store, "import", {put("M1", 1), put("M2", 2)});
    first = got(store.apply("set M1", kNow, std::vector{put("M1", 5)}, 1, "k1"));
    EXPECT_FALSE(first.again);
    apply(store, "set M1 elsewhere", {put("M1", 9)});
  }
  auto store = got(Store::open(path, Mode::kReadWrite));
  const auto before = bodies(store);
  // What it was made on has moved on long since: it is known before that is looked at.
  const auto again = got(store.apply("set M1", kNow, std::vector{put("M1", 5)}, 1, "k1"));
  EXPECT_TRUE(again.again);
  EXPECT_EQ(again.revision, first.revision);
  EXPECT_EQ(again.label, first.label);
  EXPECT_EQ(again.changes, first.changes);
  EXPECT_EQ(bodies(store), before);
  EXPECT_EQ(got(store.revision()), 3);
  EXPECT_FALSE(got(store.done_under("k2")).has_value());
  EXPECT_FALSE(got(store.done_under("")).has_value());
  EXPECT_THAT(got(store.verify()), IsEmpty());
}

TEST(Store, UndoAndRedoAreDoneOnceToo) {
  const Folder folder;
  auto store = got(Store::create(folder / "house.lathbook"));
  apply(store, "import", {put("M1", 1)});
  apply(store, "first", {put("M1", 2)});
  apply(store, "second", {put("M1", 3), put("M2", 4)});
  const auto undone = got(store.undo(kNow, 3, "u"));
  const auto again = got(store.undo(kNow, 3, "u"));
  EXPECT_TRUE(again.again);
  EXPECT_EQ(again.label, "second");
  EXPECT_EQ(again.changes, undone.changes);
  EXPECT_EQ(got(store.revision()), 4);
  const auto redone = got(store.redo(kNow, 4, "r"));
  EXPECT_EQ(got(store.redo(kNow, 4, "r")).changes, redone.changes);
  EXPECT_EQ(got(store.revision()), 5);
  EXPECT_THAT(got(store.verify()), IsEmpty());
}

TEST(Store, WhatWasRefusedOrChangedNothingMayBeAskedAgainUnderItsKey) {
  const Folder folder;
  auto store = got(Store::create(folder / "house.lathbook"));
  apply(store, "import", {put("M1", 1)});
  EXPECT_FALSE(store.apply("set", kNow, std::vector{put("M1", 2)}, 7, "k").ok());
  EXPECT_TRUE(got(store.apply("set", kNow, std::vector{put("M1", 1)}, 1, "k")).changes.empty());
  EXPECT_FALSE(got(store.apply("set", kNow, std::vector{put("M1", 2)}, 1, "k")).again);
  EXPECT_EQ(got(store.revision()), 2);
  for (const auto& bad : {std::string("two words"), std::string("\x01"), std::string(129, 'k')})
    EXPECT_THAT(store.apply("set", kNow, std::vector{put("M1", 3)}, 2, bad).faults(),
                ElementsAre(fault(FaultKind::kValue, "not the key")));
}

TEST(Store, ABookIsKnownWithItsCopiesAndNoOther) {
  const Folder folder;
  auto store = got(Store::create(folder / "house.lathbook"));
  EXPECT_EQ(got(store.book_id()), "");
  apply(store, "import", {put("M1", 1)});
  const auto id = got(store.book_id());
  EXPECT_EQ(id.size(), 16U);
  EXPECT_EQ(id.find_first_not_of("0123456789abcdef"), std::string::npos);
  apply(store, "set", {put("M1", 2)});
  got(store.undo(kNow));
  got(store.undo(kNow));
  EXPECT_EQ(got(store.book_id()), id);
  got(store.backup_to(folder / "copy.lathbook"));
  EXPECT_EQ(got(got(Store::open(folder / "copy.lathbook", Mode::kReadOnly)).book_id()), id);
  auto other = got(Store::create(folder / "other.lathbook"));
  apply(other, "import", {put("M1", 3)});
  EXPECT_NE(got(other.book_id()), id);
}

TEST(Store, UndoSurvivesClosing) {
  const Folder folder;
  {
    auto store = got(Store::create(folder / "house.lathbook"));
    apply(store, "add", {put("M1", 1)});
    got(store.undo(kNow));
  }
  auto store = got(Store::open(folder / "house.lathbook", Mode::kReadWrite));
  EXPECT_EQ(got(store.redo(kNow)).label, "add");
  EXPECT_THAT(bodies(store), SizeIs(1));
}

TEST(Store, ReadOnlyWritesNothingAndLeavesNothingBehind) {
  const Folder folder;
  {
    auto store = got(Store::create(folder / "house.lathbook"));
    apply(store, "add", {put("M1", 1)});
  }
  const auto before = bytes_of(folder / "house.lathbook");
  {
    auto store = got(Store::open(folder / "house.lathbook", Mode::kReadOnly));
    EXPECT_THAT(bodies(store), SizeIs(1));
    EXPECT_THAT(store.apply("add", kNow, std::vector{put("M2", 2)}).faults(),
                ElementsAre(fault(FaultKind::kFile, "reading only")));
    EXPECT_FALSE(store.undo(kNow).ok());
    EXPECT_FALSE(store.put_blob("x", "text/plain").ok());
    EXPECT_FALSE(store.vacuum().ok());
  }
  EXPECT_EQ(bytes_of(folder / "house.lathbook"), before);
  EXPECT_THAT(folder.names(), ElementsAre("house.lathbook"));
}

TEST(Store, PapersLieUnderTheirDigest) {
  const Folder folder;
  auto store = got(Store::create(folder / "house.lathbook"));
  std::string photo(100'000, '\0');
  for (std::size_t i = 0; i < photo.size(); ++i) photo[i] = static_cast<char>(i * i >> 3);
  const auto name = got(store.put_blob(photo, "image/jpeg"));
  EXPECT_EQ(got(store.put_blob(photo, "image/png")), name);
  EXPECT_THAT(got(store.blobs()), SizeIs(1));
  const auto back = got(store.get_blob(name));
  EXPECT_EQ(back.bytes, photo);
  EXPECT_EQ(back.media_type, "image/jpeg");
  EXPECT_EQ(got(store.get_blob(got(store.put_blob("", "text/plain")))).bytes, "");
  EXPECT_EQ(store.get_blob(std::string(64, '0')).faults().front().kind, FaultKind::kMissing);
}

TEST(Store, AStepBringsItsPapersOrLeavesNone) {
  const Folder folder;
  auto store = got(Store::create(folder / "house.lathbook"));
  const std::string bytes = "a report";
  const NewBlob blob{bytes, "application/pdf"};
  const auto seen = got(store.revision());
  const Edit document{"document", "D1", Json{{"id", "D1"}, {"sha256", sha256_hex(bytes)}}};
  const Edit not_there{"material", "M9", std::nullopt};
  EXPECT_FALSE(store.apply("add", kNow, std::vector{document, not_there}, seen, "", {&blob, 1}).ok());
  EXPECT_FALSE(store.apply("add", kNow, std::vector{document}, seen + 1, "", {&blob, 1}).ok());
  EXPECT_TRUE(got(store.blobs()).empty());
  got(store.apply("add", kNow, std::vector{document}, seen, "request-1", {&blob, 1}));
  EXPECT_EQ(got(store.get_blob(sha256_hex(bytes))).bytes, bytes);
  EXPECT_EQ(got(store.get_blob(sha256_hex(bytes))).media_type, "application/pdf");
  // The same request again is answered and keeps nothing more.
  const NewBlob other{"another", "text/plain"};
  EXPECT_TRUE(got(store.apply("add", kNow, std::vector{document}, seen, "request-1", {&other, 1})).again);
  EXPECT_THAT(got(store.blobs()), SizeIs(1));
  EXPECT_TRUE(got(store.verify()).empty());
}

TEST(Store, VerifyKnowsLostAndLoosePapers) {
  const Folder folder;
  auto store = got(Store::create(folder / "house.lathbook"));
  const auto kept = got(store.put_blob("kept", "text/plain"));
  const auto once = got(store.put_blob("once", "text/plain"));
  const auto loose = got(store.put_blob("loose", "text/plain"));
  const auto paper = [](const std::string& id, const std::string& sha256) {
    return Edit{"document", id, Json{{"id", id}, {"sha256", sha256}}};
  };
  apply(store, "add", {paper("D1", kept), paper("D2", once), paper("D3", std::string(64, 'e'))});
  apply(store, "remove", {{"document", "D2", std::nullopt}});
  const std::vector<Problem> expected = {
      {Problem::Weight::kLoose, "paper " + loose, "is named by no document, now or in the log"},
      {Problem::Weight::kDamage, "document D3", "has lost its paper " + std::string(64, 'e')}};
  EXPECT_EQ(got(store.verify()), expected);

  // Vacuum drops only what not even undo could bring back.
  got(store.vacuum());
  EXPECT_TRUE(store.get_blob(kept).ok());
  EXPECT_TRUE(store.get_blob(once).ok());
  EXPECT_FALSE(store.get_blob(loose).ok());
  EXPECT_THAT(got(store.verify()), SizeIs(1));
}

TEST(Store, ABackupIsTheBookAndReplacesOnlyWhenTold) {
  const Folder folder;
  auto store = got(Store::create(folder / "house.lathbook"));
  apply(store, "add", {put("M1", 1)});
  got(store.put_blob("photo", "image/jpeg"));
  got(store.backup_to(folder / "copy.lathbook"));
  apply(store, "add", {put("M2", 2)});
  EXPECT_THAT(store.backup_to(folder / "copy.lathbook").faults(),
              ElementsAre(fault(FaultKind::kConflict, "already there")));
  {
    auto copy = got(Store::open(folder / "copy.lathbook", Mode::kReadWrite));
    EXPECT_EQ(bodies(copy).size(), 1U);
    EXPECT_EQ(got(copy.undo(kNow)).label, "add");
    EXPECT_THAT(got(copy.blobs()), SizeIs(1));
  }
  got(store.backup_to(folder / "copy.lathbook", true));
  EXPECT_EQ(bodies(got(Store::open(folder / "copy.lathbook", Mode::kReadOnly))), bodies(store));
  EXPECT_THAT(store.backup_to(folder / "house.lathbook", true).faults(),
              ElementsAre(fault(FaultKind::kFile, "the book itself")));
  EXPECT_THAT(store.backup_to(folder / "no/copy.lathbook").faults(),
              ElementsAre(fault(FaultKind::kMissing, "there is no folder")));
  EXPECT_THAT(store.backup_to(folder.path()).faults(), ElementsAre(fault(FaultKind::kFile, "is a folder")));
}

TEST(Store, AWholeBookGoesInAtOnce) {
  const Folder folder;
  std::vector<Edit> edits;
  for (int i = 1; i <= 3000; ++i) edits.push_back(put("M" + std::to_string(i), i));
  auto store = got(Store::create(folder / "house.lathbook"));
  EXPECT_EQ(apply(store, "import", edits).revision, 1);
  EXPECT_THAT(got(store.read_all()).records, SizeIs(3000));
  EXPECT_THAT(got(store.verify()), IsEmpty());
  got(store.undo(kNow));
  EXPECT_THAT(bodies(store), IsEmpty());
}

TEST(Store, NamesWithUriLettersAreNames) {
  const Folder folder;
  const auto path = folder / "50% ours? #1 & more.lathbook";
  got(Store::create(path));
  EXPECT_THAT(folder.names(), ElementsAre("50% ours? #1 & more.lathbook"));
  EXPECT_EQ(got(got(Store::open(path, Mode::kReadOnly)).revision()), 0);
}

}  // namespace
}  // namespace lathbook::store
