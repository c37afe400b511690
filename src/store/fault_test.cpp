// What a file, a disk, the power or another program can do to a book. The promise each time: the error is told, the
// book is whole, every answered step is in it.
#include <gmock/gmock.h>
#include <grp.h>
#include <gtest/gtest.h>
#include <sqlite3.h>
#include <sys/wait.h>

#include <csignal>
#include <functional>

#include "store/disk.h"
#include "store/store.h"
#include "store/testing.h"
#include "testing/long.h"

namespace lathbook::store {
namespace {

using reason::FaultKind;
using ::testing::AnyOf;
using ::testing::ElementsAre;
using ::testing::HasSubstr;
using ::testing::IsEmpty;
using ::testing::SizeIs;
using namespace testing;

/// A small book with a bit of everything: three steps, one of them undone, two papers.
void make_book(const std::filesystem::path& path) {
  auto store = got(Store::create(path));
  std::vector<Edit> edits;
  for (int i = 1; i <= 30; ++i) edits.push_back(put("M" + std::to_string(i), i));
  const auto photo = got(store.put_blob(std::string(9000, 'p'), "image/jpeg"));
  edits.push_back({"document", "D1", Json{{"id", "D1"}, {"sha256", photo}}});
  got(store.apply("import", kNow, edits));
  got(store.apply("set M1", kNow, std::vector{put("M1", 77)}));
  got(store.apply("set M2", kNow, std::vector{put("M2", 78)}));
  got(store.undo(kNow, std::nullopt, "taken-back-by"));
}

/// Opens, reads and examines in every way; the first thing told, or nothing when all was well.
std::optional<std::string> trouble(const std::filesystem::path& path) {
  const auto store = Store::open(path, Mode::kReadOnly);
  if (!store.ok()) return said(store);
  const auto contents = store->read_all();
  if (!contents.ok()) return said(contents);
  const auto problems = store->verify();
  if (!problems.ok()) return said(problems);
  for (const auto& problem : *problems) {
    if (problem.weight == Problem::Weight::kDamage) return problem.where + ": " + problem.problem;
  }
  return std::nullopt;
}

/// Everything a book tells: what must not differ unless trouble was told.
std::string all_told(const Store& store) {
  std::string text;
  for (const auto& row : got(store.read_all_text()).records)
    text += row.kind + row.id + row.body + std::to_string(row.revision) + "\n";
  for (const auto& entry : got(store.history(1000))) {
    text += entry.at + entry.label + std::to_string(static_cast<int>(entry.verb)) +
            std::to_string(entry.of.value_or(0)) + "\n";
    if (entry.verb != Verb::kDo) continue;
    text += std::to_string(static_cast<int>(*entry.state)) + "\n";
    for (const auto& change : got(store.changes(entry.revision))) {
      text += change.id + (change.before ? change.before->dump() : "-") + (change.after ? change.after->dump() : "-") +
              "\n";
    }
  }
  for (const auto& blob : got(store.blobs()))
    text += blob.sha256 + blob.media_type + got(store.get_blob(blob.sha256)).bytes + "\n";
  return text;
}

void run_sql(const std::filesystem::path& path, const std::string& sql) {
  sqlite3* database = nullptr;
  ASSERT_EQ(sqlite3_open(path.c_str(), &database), SQLITE_OK);
  char* error = nullptr;
  EXPECT_EQ(sqlite3_exec(database, sql.c_str(), nullptr, nullptr, &error), SQLITE_OK)
      << (error == nullptr ? "" : error);
  sqlite3_free(error);
  sqlite3_close(database);
}

// ---- files that are no books ---------------------------------------------------------------------------------

TEST(FaultFile, EveryTruncationIsToldAndTouchesNothing) {
  const Folder folder;
  make_book(folder / "house.lathbook");
  const auto whole = bytes_of(folder / "house.lathbook");
  const auto cut = folder / "cut.lathbook";
  std::vector<std::size_t> lengths;
  for (std::size_t n = 0; n < 130; ++n) lengths.push_back(n);
  for (std::size_t n = 130; n < whole.size(); n += 509) lengths.push_back(n);
  for (std::size_t n = 4096; n < whole.size(); n += 4096) lengths.push_back(n);
  lengths.push_back(whole.size() - 1);
  for (const auto length : lengths) {
    write_bytes(cut, std::string_view(whole).substr(0, length));
    for (const auto mode : {Mode::kReadOnly, Mode::kReadWrite}) {
      const auto opened = Store::open(cut, mode);
      ASSERT_FALSE(opened.ok()) << length;
      ASSERT_EQ(opened.faults().front().where, cut.string());
      ASSERT_EQ(opened.faults().front().kind, FaultKind::kFile);
      ASSERT_THAT(opened.faults().front().problem, AnyOf(HasSubstr("is cut short"), HasSubstr("is empty"))) << length;
    }
    ASSERT_EQ(bytes_of(cut).size(), length);
  }
  EXPECT_THAT(folder.names(), ElementsAre("cut.lathbook", "house.lathbook"));
}

TEST(FaultFile, AForeignFileIsCalledWhatItIs) {
  const Folder folder;
  const auto path = folder / "house.lathbook";
  const std::vector<std::pair<std::string, std::string>> cases = {
      {"", "is empty"},
      {"Dear neighbour,\nthe garage roof …", "not a book: it is text"},
      {"{\"format\": \"lathbook-book\"}", "JSON text"},
      {std::string("\x89PNG\r\n\x1a\n") + std::string(200, '\x01'), "a PNG picture"},
      {"\xff\xd8\xff\xe0" + std::string(200, '\x02'), "a JPEG picture"},
      {"%PDF-1.7\n" + std::string(200, '\x03'), "a PDF document"},
      {std::string("PK\x03\x04") + std::string(200, '\x03'), "a ZIP archive"},
      {std::string(5000, '\0'), "nothing but zero bytes"},
      {"\x01\x02\x03 whatever", "of a kind not known here"},
      {"SQLite for", "is cut short"},
  };
  for (const auto& [bytes, words] : cases) {
    write_bytes(path, bytes);
    for (const auto mode : {Mode::kReadOnly, Mode::kReadWrite}) {
      const auto opened = Store::open(path, mode);
      ASSERT_FALSE(opened.ok()) << words;
      EXPECT_EQ(opened.faults().front().kind, FaultKind::kFile);
      EXPECT_THAT(opened.faults().front().problem, HasSubstr(words));
    }
    EXPECT_EQ(bytes_of(path), bytes);
  }
  EXPECT_THAT(folder.names(), ElementsAre("house.lathbook"));
}

TEST(FaultFile, AnotherProgramsDatabaseIsRefusedUnharmed) {
  const Folder folder;
  const auto path = folder / "house.lathbook";
  run_sql(path, "CREATE TABLE records (kind, id); PRAGMA application_id = 7");
  const auto before = bytes_of(path);
  for (const auto mode : {Mode::kReadOnly, Mode::kReadWrite}) {
    const auto opened = Store::open(path, mode);
    ASSERT_FALSE(opened.ok());
    EXPECT_THAT(opened.faults().front().problem, HasSubstr("is an SQLite file, but not a book"));
  }
  EXPECT_EQ(bytes_of(path), before);
  EXPECT_THAT(folder.names(), ElementsAre("house.lathbook"));
}

TEST(FaultFile, ANewerBookIsRefusedUnharmed) {
  const Folder folder;
  const auto path = folder / "house.lathbook";
  make_book(path);
  run_sql(path, "PRAGMA user_version = 99; CREATE TABLE of_the_future (x)");
  const auto before = bytes_of(path);
  for (const auto mode : {Mode::kReadOnly, Mode::kReadWrite}) {
    const auto opened = Store::open(path, mode);
    ASSERT_FALSE(opened.ok());
    EXPECT_EQ(opened.faults().front().kind, FaultKind::kFile);
    EXPECT_THAT(opened.faults().front().problem, HasSubstr("newer Lathbook (schema 99"));
  }
  EXPECT_EQ(bytes_of(path), before);
  EXPECT_THAT(folder.names(), ElementsAre("house.lathbook"));
}

TEST(FaultFile, WhatIsNotThereOrNoFileIsSaid) {
  const Folder folder;
  const auto problem = [](const std::filesystem::path& path) {
    return Store::open(path, Mode::kReadOnly).faults().front();
  };
  EXPECT_EQ(problem(folder / "house.lathbook").kind, FaultKind::kMissing);
  EXPECT_EQ(problem(folder / "no/house.lathbook").kind, FaultKind::kMissing);
  EXPECT_THAT(problem(folder.path()).problem, HasSubstr("is a folder"));
  EXPECT_THAT(problem("/dev/null").problem, HasSubstr("not an ordinary file"));
  EXPECT_THAT(folder.names(), IsEmpty());
  const auto made = Store::create("/proc/house.lathbook");
  ASSERT_FALSE(made.ok());
  EXPECT_EQ(made.faults().front().where, "/proc/house.lathbook");
  EXPECT_EQ(made.faults().front().kind, FaultKind::kFile);
}

TEST(FaultFile, ABookMadeToDeceiveRunsNothing) {
  const Folder folder;
  const auto path = folder / "house.lathbook";
  make_book(path);
  run_sql(path, "CREATE TRIGGER gone AFTER INSERT ON log BEGIN DELETE FROM changes; END");
  auto store = got(Store::open(path, Mode::kReadWrite));
  got(store.apply("set", kNow, std::vector{put("M3", 5)}));
  EXPECT_THAT(got(store.changes(5)), SizeIs(1));
  EXPECT_THAT(got(store.verify()),
              ElementsAre(Problem{Problem::Weight::kDamage, "schema", "trigger gone is not this program's"}));
}

// ---- other schemas ------------------------------------------------------------------------------------------

/// This program's schema and one more step.
std::vector<Migration> one_more(std::string_view sql) {
  static const std::vector<std::string> kTexts = {bytes_of("src/store/migrations/0001_first.sql"),
                                                  bytes_of("src/store/migrations/0002_asked.sql")};
  std::vector<Migration> steps;
  for (const auto& text : kTexts) steps.push_back({static_cast<int>(steps.size()) + 1, text});
  EXPECT_EQ(schema_version(), static_cast<int>(steps.size()));
  steps.push_back({schema_version() + 1, sql});
  return steps;
}

TEST(FaultSchema, AnOldBookIsBroughtUpToDateAndKeptBeside) {
  const Folder folder;
  const auto path = folder / "house.lathbook";
  const auto steps = one_more("CREATE VIEW v_all AS SELECT kind, id, body FROM records; UPDATE log SET sum = sum");
  make_book(path);
  const auto old = bytes_of(path);
  const auto told = all_told(got(Store::open(path, Mode::kReadOnly)));

  // For reading, in memory alone.
  EXPECT_EQ(all_told(got(Store::open(path, Mode::kReadOnly, {.migrations = steps}))), told);
  EXPECT_EQ(bytes_of(path), old);
  EXPECT_THAT(folder.names(), ElementsAre("house.lathbook"));

  {
    auto store = got(Store::open(path, Mode::kReadWrite, {.migrations = steps}));
    EXPECT_EQ(store.old_copy(), folder / "house.lathbook.schema-2");
    EXPECT_EQ(all_told(store), told);
    EXPECT_THAT(got(store.verify()), IsEmpty());
    EXPECT_EQ(got(store.redo(kNow)).label, "set M2");
  }
  EXPECT_THAT(folder.names(), ElementsAre("house.lathbook", "house.lathbook.schema-2"));
  EXPECT_EQ(all_told(got(Store::open(folder / "house.lathbook.schema-2", Mode::kReadOnly))), told);
  EXPECT_THAT(said(Store::open(path, Mode::kReadWrite)), HasSubstr("newer Lathbook (schema 3"));

  // Once up to date no further copy is made; an older book put in its place gets its own.
  EXPECT_EQ(got(Store::open(path, Mode::kReadWrite, {.migrations = steps})).old_copy(), std::nullopt);
  write_bytes(path, old);
  got(Store::open(path, Mode::kReadWrite, {.migrations = steps}));
  EXPECT_THAT(folder.names(), ElementsAre("house.lathbook", "house.lathbook.schema-2", "house.lathbook.schema-2-2"));
}

TEST(FaultSchema, BooksOfEveryReleasedSchemaOpen) {
  const Folder folder;
  for (int version = 1; version <= schema_version(); ++version) {
    const auto path = folder / ("schema-" + std::to_string(version) + ".lathbook");
    std::filesystem::copy_file("tests/fixtures/books/schema-" + std::to_string(version) + ".lathbook", path);
    auto store = got(Store::open(path, Mode::kReadWrite));
    EXPECT_THAT(got(store.verify()), IsEmpty());
    EXPECT_THAT(bodies(store), SizeIs(31));
    EXPECT_EQ(got(store.redo(kNow)).label, "set M2");
    EXPECT_EQ(got(store.read("material", "M2")).body, material("M2", 78));
    EXPECT_EQ(got(store.get_blob(got(store.read("document", "D1")).body["sha256"].get<std::string>())).bytes,
              std::string(9000, 'p'));
  }
}

TEST(FaultSchema, AStepThatFailsLeavesTheOldBook) {
  const Folder folder;
  const auto path = folder / "house.lathbook";
  const auto steps = one_more("CREATE TABLE half (x); DELETE FROM records; SELECT no_such_column FROM log");
  make_book(path);
  const auto told = all_told(got(Store::open(path, Mode::kReadOnly)));
  for (const auto mode : {Mode::kReadOnly, Mode::kReadWrite}) {
    const auto opened = Store::open(path, mode, {.migrations = steps});
    ASSERT_FALSE(opened.ok());
    EXPECT_THAT(said(opened), HasSubstr("no_such_column"));
  }
  EXPECT_EQ(trouble(path), std::nullopt);
  EXPECT_EQ(all_told(got(Store::open(path, Mode::kReadWrite))), told);
}

// ---- damage --------------------------------------------------------------------------------------------------

TEST(FaultDamage, AFlippedBitIsToldOrChangesNothing) {
  const Folder folder;
  make_book(folder / "house.lathbook");
  const auto whole = bytes_of(folder / "house.lathbook");
  const auto truth = all_told(got(Store::open(folder / "house.lathbook", Mode::kReadOnly)));
  std::mt19937_64 random(20260301);
  int told = 0;
  int harmless = 0;
  const auto path = folder / "flipped.lathbook";
  for (int i = 0; i < lathbook::testing::times(1000, 2000); ++i) {
    auto bytes = whole;
    const auto at = random() % bytes.size();
    bytes[at] = static_cast<char>(bytes[at] ^ (1 << random() % 8));
    write_bytes(path, bytes);
    if (trouble(path)) {
      ++told;
      continue;
    }
    ++harmless;
    ASSERT_EQ(all_told(got(Store::open(path, Mode::kReadOnly))), truth) << "byte " << at;
  }
  // Unused space of pages, and counters of the header that SQLite does not rely on, hold nothing of the book.
  RecordProperty("told", told);
  RecordProperty("harmless", harmless);
  EXPECT_GT(told, 400);
}

TEST(FaultDamage, AChangePastTheStoreIsFoundOnReading) {
  const Folder folder;
  const auto path = folder / "house.lathbook";
  const std::vector<std::string> edits = {
      "UPDATE records SET body = replace(body, 'insulating-board', 'cement-flat-sheet') WHERE id = 'M5'",
      "DELETE FROM records WHERE id = 'M5'",
      "UPDATE records SET id = 'M99' WHERE id = 'M5'",
      "UPDATE records SET revision = 9 WHERE id = 'M5'",
      "UPDATE meta SET revision = 3",
      "DELETE FROM meta",
  };
  for (const auto& sql : edits) {
    std::filesystem::remove(path);
    make_book(path);
    run_sql(path, sql);
    const auto store = Store::open(path, Mode::kReadOnly);
    if (!store.ok()) {
      EXPECT_THAT(said(store), HasSubstr("is damaged")) << sql;
      continue;
    }
    const auto contents = store->read_all();
    ASSERT_FALSE(contents.ok()) << sql;
    EXPECT_THAT(said(contents), HasSubstr("is damaged")) << sql;
    EXPECT_FALSE(got(store->verify()).empty()) << sql;
  }
}

TEST(FaultDamage, VerifyFindsWhatReadingDoesNotMeet) {
  const Folder folder;
  const auto path = folder / "house.lathbook";
  const std::vector<std::pair<std::string, std::string>> edits = {
      {"UPDATE changes SET after = replace(after, '77', '78') WHERE revision = 2", "does not fit its checksum"},
      {"DELETE FROM changes WHERE revision = 1 AND step = 3", "does not follow the change before it"},
      {"PRAGMA foreign_keys = OFF; DELETE FROM log WHERE revision = 2", "some are missing"},
      {"DELETE FROM log WHERE revision = 4", "ends at entry 3, the book is at 4"},
      {"UPDATE log SET label = 'set M9' WHERE revision = 2", "does not fit its checksum"},
      {"UPDATE log SET state = 'done' WHERE revision = 3", "its marks of what is undone do not follow"},
      {"UPDATE blobs SET data = zeroblob(9000)", "is not the bytes that were put in"},
      {"UPDATE blobs SET media_type = 'text/html'", "does not fit its checksum"},
      {"UPDATE asked SET revision = 2", "does not fit its checksum"},
      {"DELETE FROM blobs", "has lost its paper"},
      {"DROP VIEW v_room", "view v_room is missing or altered"},
      {"CREATE TABLE diary (x)", "table diary is not this program's"},
  };
  for (const auto& [sql, words] : edits) {
    std::filesystem::remove(path);
    make_book(path);
    ASSERT_EQ(trouble(path), std::nullopt);
    run_sql(path, sql);
    bool found = false;
    for (const auto& problem : got(got(Store::open(path, Mode::kReadOnly)).verify())) {
      found = found || problem.problem.find(words) != std::string::npos;
      EXPECT_EQ(problem.weight, Problem::Weight::kDamage);
    }
    EXPECT_TRUE(found) << sql;
  }
}

TEST(FaultDamage, ADamagedBookGivesNoBackup) {
  const Folder folder;
  make_book(folder / "house.lathbook");
  {
    const auto store = got(Store::open(folder / "house.lathbook", Mode::kReadOnly));
    got(store.backup_to(folder / "copy.lathbook"));
    const auto good = bytes_of(folder / "copy.lathbook");
    run_sql(folder / "house.lathbook", "DELETE FROM records WHERE id = 'M5'");
    const auto again = store.backup_to(folder / "copy.lathbook", true);
    ASSERT_FALSE(again.ok());
    EXPECT_THAT(said(again), HasSubstr("does not read back"));
    EXPECT_EQ(bytes_of(folder / "copy.lathbook"), good);
  }
  EXPECT_THAT(folder.names(), ElementsAre("copy.lathbook", "house.lathbook"));
}

// ---- places that cannot be written ---------------------------------------------------------------------------

/// Runs `check` in a child process that is nobody in particular even when the tests run as root, and answers whether it
/// found what it wanted.
bool as_somebody(const std::function<bool()>& check) {
  const pid_t child = ::fork();
  if (child == 0) {
    bool dropped = true;
    if (::geteuid() == 0) dropped = ::setgroups(0, nullptr) == 0 && ::setgid(65534) == 0 && ::setuid(65534) == 0;
    bool fine = false;
    try {
      fine = dropped && check();
    } catch (const std::exception& error) {
      fprintf(stderr, "%s\n", error.what());
    }
    ::_exit(fine ? 0 : 1);
  }
  int status = 0;
  ::waitpid(child, &status, 0);
  return WIFEXITED(status) && WEXITSTATUS(status) == 0;
}

TEST(FaultPlace, ABookInAReadOnlyFolderIsReadAndNotWritten) {
  const Folder folder;
  make_book(folder / "house.lathbook");
  const auto before = bytes_of(folder / "house.lathbook");
  std::filesystem::permissions(folder / "house.lathbook", std::filesystem::perms(0444));
  std::filesystem::permissions(folder.path(), std::filesystem::perms(0555));
  const bool fine = as_somebody([&] {
    const auto store = got(Store::open(folder / "house.lathbook", Mode::kReadOnly));
    const bool whole = got(store.read_all()).records.size() == 31 && got(store.verify()).empty();
    const auto writing = Store::open(folder / "house.lathbook", Mode::kReadWrite);
    const auto making = Store::create(folder / "new.lathbook");
    const auto copying = store.backup_to(folder / "copy.lathbook");
    const bool told =
        !writing.ok() &&
        said(writing).find("does not allow it") + said(writing).find("read-only") != 2 * std::string::npos &&
        !making.ok() && making.faults().front().where == (folder / "new.lathbook").string() && !copying.ok();
    if (!told) fprintf(stderr, "%s%s%s", said(writing).c_str(), said(making).c_str(), said(copying).c_str());
    return whole && told;
  });
  std::filesystem::permissions(folder.path(), std::filesystem::perms(0755));
  EXPECT_TRUE(fine);
  EXPECT_EQ(bytes_of(folder / "house.lathbook"), before);
  EXPECT_THAT(folder.names(), ElementsAre("house.lathbook"));
}

TEST(FaultPlace, ABookIsReadWhereNothingCanBeMadeBesideIt) {
  const Folder folder;
  make_book(folder / "house.lathbook");
  const Disk::Failure failures[] = {Disk::Failure::kFull, Disk::Failure::kError};
  for (const auto failure : failures) {
    Disk disk;
    disk.fail(0, failure, true);
    const auto store = got(Store::open(folder / "house.lathbook", Mode::kReadOnly));
    EXPECT_THAT(bodies(store), SizeIs(31));
    EXPECT_TRUE(disk.reached());
    const auto writing = Store::open(folder / "house.lathbook", Mode::kReadWrite);
    ASSERT_FALSE(writing.ok());
    EXPECT_EQ(writing.faults().front().kind, FaultKind::kFile);
  }
  EXPECT_THAT(folder.names(), ElementsAre("house.lathbook"));
}

TEST(FaultPlace, AFileThatMayNotBeReadIsSaid) {
  const Folder folder;
  make_book(folder / "house.lathbook");
  std::filesystem::permissions(folder / "house.lathbook", std::filesystem::perms(0000));
  EXPECT_TRUE(as_somebody([&] {
    const auto store = Store::open(folder / "house.lathbook", Mode::kReadOnly);
    return !store.ok() && store.faults().front().problem.find("does not allow it") != std::string::npos;
  }));
}

// ---- a disk that fails ---------------------------------------------------------------------------------------

/// A scripted session. Answers the bodies after each step that was answered, and whether every step was.
struct Session {
  std::vector<Bodies> answered;
  Bodies attempted;  ///< after the step that failed, had it been made
  bool all_answered = true;
  bool opened = true;
};

Session scripted(const std::filesystem::path& path, const std::vector<Bodies>& states) {
  Session session;
  session.answered.push_back(states.front());
  auto opened = Store::open(path, Mode::kReadWrite);
  if (!opened.ok()) {
    session.all_answered = session.opened = false;
    return session;
  }
  auto& store = *opened;
  const std::vector<std::function<bool()>> steps = {
      [&] {
        return store.apply("set", kNow, std::vector{put("M1", 500), put("M40", 40)}).ok();
      },
      [&] { return store.put_blob(std::string(20'000, 'b'), "image/png").ok(); },
      [&] { return store.undo(kNow).ok(); },
      [&] { return store.redo(kNow).ok(); },
      [&] {
        return store.apply("remove", kNow, std::vector<Edit>{{"material", "M7", std::nullopt}}).ok();
      },
  };
  for (std::size_t i = 0; i < steps.size(); ++i) {
    if (steps[i]()) {
      session.answered.push_back(states[i + 1]);
      continue;
    }
    // Later steps would build on one that is not there: a program stops at the first error told.
    session.all_answered = false;
    session.attempted = states[i + 1];
    break;
  }
  return session;
}

/// The bodies before and after each step of scripted(), from a run on a sound disk.
std::vector<Bodies> true_states(const Folder& folder) {
  const auto path = folder / "truth.lathbook";
  make_book(path);
  std::vector<Bodies> states;
  auto store = got(Store::open(path, Mode::kReadWrite));
  states.push_back(bodies(store));
  got(store.apply("set", kNow, std::vector{put("M1", 500), put("M40", 40)}));
  states.push_back(bodies(store));
  states.push_back(bodies(store));
  got(store.undo(kNow));
  states.push_back(bodies(store));
  got(store.redo(kNow));
  states.push_back(bodies(store));
  got(store.apply("remove", kNow, std::vector<Edit>{{"material", "M7", std::nullopt}}));
  states.push_back(bodies(store));
  return states;
}

struct DiskCase {
  const char* name;
  Disk::Failure failure;
  bool forever;
};

class FaultDisk : public ::testing::TestWithParam<DiskCase> {};

TEST_P(FaultDisk, WhicheverOperationFailsTheErrorIsToldAndTheBookIsWhole) {
  const Folder folder;
  const auto states = true_states(folder);
  make_book(folder / "start.lathbook");
  const auto path = folder / "house.lathbook";
  int told = 0;
  bool reached = true;
  int at = 0;
  for (; reached; ++at) {
    for (const char* tail : {"", "-wal", "-shm"}) std::filesystem::remove(path.string() + tail);
    std::filesystem::copy_file(folder / "start.lathbook", path);
    Session session;
    {
      Disk disk;
      disk.fail(at, GetParam().failure, GetParam().forever);
      session = scripted(path, states);
      reached = disk.reached();
      if (GetParam().failure == Disk::Failure::kPower) disk.settle(static_cast<std::uint64_t>(at));
    }
    told += session.all_answered ? 0 : 1;
    ASSERT_EQ(trouble(path), std::nullopt) << "operation " << at;
    const auto now = bodies(got(Store::open(path, Mode::kReadWrite)));
    // A step whose error was told may have reached the disk whole (its sync failed after its bytes had gone).
    const bool as_answered = now == session.answered.back();
    ASSERT_TRUE(as_answered || (!session.all_answered && session.opened && now == session.attempted))
        << "operation " << at;
    ASSERT_LT(at, 2000);
  }
  // The sweep went through the whole session, and most failures could not be kept quiet.
  EXPECT_GT(at, 30);
  EXPECT_GT(told, at / 2);
}

TEST_P(FaultDisk, ABookThatCannotBeMadeLeavesNothing) {
  const Folder folder;
  bool reached = true;
  int at = 0;
  int told = 0;
  for (; reached; ++at) {
    const auto path = folder / "house.lathbook";
    bool made = false;
    {
      Disk disk;
      disk.fail(at, GetParam().failure, GetParam().forever);
      const auto store = Store::create(path, [](Store& half) -> Result<Done> {
        auto applied = half.apply("import", kNow, std::vector{put("M1", 1)});
        if (!applied.ok()) return applied.faults();
        return Done{};
      });
      made = store.ok();
      reached = disk.reached();
    }
    told += made ? 0 : 1;
    // The failure may come when the finished book is opened again: then it is there, and whole.
    if (std::filesystem::exists(path)) {
      ASSERT_EQ(trouble(path), std::nullopt) << "operation " << at;
      ASSERT_THAT(bodies(got(Store::open(path, Mode::kReadWrite))), SizeIs(1)) << "operation " << at;
      ASSERT_THAT(folder.names(), ElementsAre("house.lathbook")) << "operation " << at;
      std::filesystem::remove(path);
    } else {
      ASSERT_FALSE(made);
      ASSERT_THAT(folder.names(), IsEmpty()) << "operation " << at;
    }
  }
  EXPECT_GT(at, 20);
  EXPECT_GT(told, at / 2);
}

INSTANTIATE_TEST_SUITE_P(Fault, FaultDisk,
                         ::testing::Values(DiskCase{"FullOnce", Disk::Failure::kFull, false},
                                           DiskCase{"FullForGood", Disk::Failure::kFull, true},
                                           DiskCase{"ErrorOnce", Disk::Failure::kError, false},
                                           DiskCase{"ErrorForGood", Disk::Failure::kError, true}),
                         [](const auto& one) { return one.param.name; });

TEST(FaultPower, EveryAnsweredStepSurvivesALossOfPower) {
  const Folder folder;
  const auto states = true_states(folder);
  make_book(folder / "start.lathbook");
  const auto path = folder / "house.lathbook";
  for (std::uint64_t seed = 0; seed < 6; ++seed) {
    bool reached = true;
    for (int at = 0; reached; ++at) {
      for (const char* tail : {"", "-wal", "-shm"}) std::filesystem::remove(path.string() + tail);
      std::filesystem::copy_file(folder / "start.lathbook", path);
      Session session;
      {
        Disk disk;
        disk.fail(at, Disk::Failure::kPower, true);
        session = scripted(path, states);
        reached = disk.reached();
        disk.settle(seed * 1000 + static_cast<std::uint64_t>(at));
      }
      std::filesystem::remove(path.string() + "-shm");  // memory does not outlive the power
      ASSERT_EQ(trouble(path), std::nullopt) << "operation " << at;
      const auto now = bodies(got(Store::open(path, Mode::kReadWrite)));
      ASSERT_TRUE(now == session.answered.back() ||
                  (!session.all_answered && session.opened && now == session.attempted))
          << "operation " << at;
    }
  }
}

// ---- other programs ------------------------------------------------------------------------------------------

TEST(FaultWriters, AWriterThatHoldsTheBookIsWaitedForAndThenTold) {
  const Folder folder;
  const auto path = folder / "house.lathbook";
  make_book(path);
  sqlite3* other = nullptr;
  ASSERT_EQ(sqlite3_open(path.c_str(), &other), SQLITE_OK);
  ASSERT_EQ(sqlite3_exec(other, "BEGIN IMMEDIATE", nullptr, nullptr, nullptr), SQLITE_OK);
  auto store = got(Store::open(path, Mode::kReadWrite, {.wait = std::chrono::milliseconds(50)}));
  EXPECT_THAT(bodies(store), SizeIs(31));  // reading goes on
  const auto refused = store.apply("set", kNow, std::vector{put("M1", 5)});
  ASSERT_FALSE(refused.ok());
  EXPECT_EQ(refused.faults().front().kind, FaultKind::kConflict);
  EXPECT_THAT(refused.faults().front().problem, HasSubstr("another program"));
  sqlite3_exec(other, "ROLLBACK", nullptr, nullptr, nullptr);
  EXPECT_TRUE(store.apply("set", kNow, std::vector{put("M1", 5)}).ok());
  sqlite3_close(other);
}

TEST(FaultWriters, LookingAgainInOneProgramDropsNoLock) {
  const Folder folder;
  const auto path = folder / "house.lathbook";
  make_book(path);
  // Forked before anything is open here, so that it shares nothing of SQLite's with this process.
  int start[2];
  ASSERT_EQ(::pipe(start), 0);
  const pid_t child = ::fork();
  if (child == 0) {
    char go = 0;
    const bool told = ::read(start[0], &go, 1) == 1;
    const bool opened = Store::open(path, Mode::kReadWrite).ok();  // and closed
    ::_exit(told && opened ? 0 : 1);
  }
  auto mine = got(Store::open(path, Mode::kReadWrite));
  got(mine.apply("set", kNow, std::vector{put("M1", 5)}));
  // A program that knows no schema yet looks at the file and refuses it: nothing of SQLite's comes after the look that
  // could take the lock again.
  const std::vector<Migration> none = {{0, ""}};
  EXPECT_THAT(said(Store::open(path, Mode::kReadOnly, {.migrations = none})), HasSubstr("newer Lathbook"));
  // Had that dropped the lock of `mine`, the other process would believe itself the last one out and remove the -wal.
  ASSERT_EQ(::write(start[1], "g", 1), 1);
  int status = 0;
  ::waitpid(child, &status, 0);
  ::close(start[0]);
  ::close(start[1]);
  ASSERT_EQ(status, 0);
  EXPECT_TRUE(std::filesystem::exists(path.string() + "-wal"));
}

/// A child process that adds one to a counter `times` times, reading again whenever it is told of a conflict.
pid_t counting_child(const std::filesystem::path& path, int times) {
  const pid_t child = ::fork();
  if (child != 0) return child;
  try {
    auto store = got(Store::open(path, Mode::kReadWrite, {.wait = std::chrono::seconds(30)}));
    for (int done = 0; done < times;) {
      const auto contents = got(store.read_all());
      Json body = contents.records.front().body;
      body["layer"] = body["layer"].get<int>() + 1;
      const auto applied = store.apply("count", kNow, std::vector<Edit>{{"material", "M1", body}}, contents.revision);
      if (applied.ok()) {
        ++done;
      } else if (applied.faults().front().kind != FaultKind::kConflict) {
        throw std::runtime_error(said(applied));
      }
    }
    store = got(Store::open(path, Mode::kReadOnly));
    ::_exit(0);
  } catch (const std::exception& error) {
    fprintf(stderr, "%s\n", error.what());
    ::_exit(1);
  }
}

TEST(FaultWriters, TwoProcessesLoseNoUpdate) {
  const Folder folder;
  const auto path = folder / "house.lathbook";
  got(got(Store::create(path)).apply("add", kNow, std::vector{put("M1", 0)}));
  constexpr int kTimes = 150;
  const std::vector<pid_t> children = {counting_child(path, kTimes), counting_child(path, kTimes)};
  for (const auto child : children) {
    int status = 0;
    ::waitpid(child, &status, 0);
    EXPECT_EQ(status, 0);
  }
  const auto store = got(Store::open(path, Mode::kReadOnly));
  EXPECT_EQ(got(store.read("material", "M1")).body["layer"], 2 * kTimes);
  EXPECT_EQ(got(store.revision()), 2 * kTimes + 1);
  EXPECT_THAT(got(store.verify()), IsEmpty());
}

TEST(FaultKill, EveryAnsweredStepSurvivesKill9) {
  const Folder folder;
  const auto path = folder / "house.lathbook";
  got(Store::create(path));
  std::mt19937_64 random(9);
  int answered = 0;
  for (int round = 0; round < 40; ++round) {
    int pipe[2];
    ASSERT_EQ(::pipe(pipe), 0);
    const pid_t child = ::fork();
    if (child == 0) {
      ::close(pipe[0]);
      auto store = Store::open(path, Mode::kReadWrite);
      for (int i = answered + 1; store.ok(); ++i) {
        std::vector<Edit> edits;
        for (int k = 0; k < 20; ++k) edits.push_back(put("M" + std::to_string(k), i));
        const bool done = store->apply("round", kNow, edits).ok() &&
                          (i % 5 != 0 || (store->undo(kNow).ok() && store->redo(kNow).ok()));
        if (!done || ::write(pipe[1], &i, sizeof i) != sizeof i) break;
      }
      ::_exit(1);
    }
    ::close(pipe[1]);
    // After a few answers, at any moment of the next steps.
    int last = 0;
    for (auto wanted = random() % 5; wanted > 0 && ::read(pipe[0], &last, sizeof last) == sizeof last; --wanted)
      answered = last;
    ::usleep(static_cast<useconds_t>(random() % 4000));
    ::kill(child, SIGKILL);
    while (::read(pipe[0], &last, sizeof last) == sizeof last) answered = last;
    ::close(pipe[0]);
    int status = 0;
    ::waitpid(child, &status, 0);
    ASSERT_TRUE(WIFSIGNALED(status)) << "the child stopped by itself";

    ASSERT_EQ(trouble(path), std::nullopt);
    const auto records = got(got(Store::open(path, Mode::kReadWrite)).read_all()).records;
    if (answered > 0) {
      ASSERT_THAT(records, SizeIs(20));
    }
    // All twenty belong to one and the same step: the last one answered, or the one after it.
    for (const auto& record : records) {
      ASSERT_EQ(record.body, material(record.id, std::stoi(record.body["name"].get<std::string>().substr(10))));
      ASSERT_EQ(record.body["name"], records.front().body["name"]);
    }
    if (!records.empty()) {
      const int there = std::stoi(records.front().body["name"].get<std::string>().substr(10));
      ASSERT_THAT(there, AnyOf(answered, answered + 1));
      answered = there;
    }
  }
  EXPECT_GT(answered, 40);
  EXPECT_THAT(folder.names(), ElementsAre("house.lathbook"));
}

}  // namespace
}  // namespace lathbook::store
