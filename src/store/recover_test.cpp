// What is saved of a damaged book: over random damage, each time nothing that was not in the book, and everything whose
// pages are sound. What lies on which page is found here by other means than in the code: SQLite's own table of pages,
// and the bytes themselves.
#include "store/recover.h"

#include <gmock/gmock.h>
#include <gtest/gtest.h>
#include <sqlite3.h>

#include <functional>
#include <set>

#include "store/testing.h"
#include "testing/long.h"

namespace lathbook::store {
namespace {

using reason::FaultKind;
using ::testing::AnyOf;
using ::testing::Contains;
using ::testing::ElementsAre;
using ::testing::Field;
using ::testing::HasSubstr;
using ::testing::IsEmpty;
using ::testing::Not;
using ::testing::SizeIs;
using namespace testing;

constexpr std::size_t kPage = 4096;

/// Every answer of a query as text, one row a vector.
std::vector<std::vector<std::string>> asked(const std::filesystem::path& path, const std::string& sql) {
  sqlite3* database = nullptr;
  sqlite3_open(path.c_str(), &database);
  std::vector<std::vector<std::string>> rows;
  char* error = nullptr;
  const auto add = [](void* to, int count, char** values, char**) {
    std::vector<std::string> row;
    for (int i = 0; i < count; ++i) row.emplace_back(values[i] == nullptr ? "" : values[i]);
    static_cast<std::vector<std::vector<std::string>>*>(to)->push_back(std::move(row));
    return 0;
  };
  EXPECT_EQ(sqlite3_exec(database, sql.c_str(), add, &rows, &error), SQLITE_OK) << (error == nullptr ? "" : error);
  sqlite3_free(error);
  sqlite3_close(database);
  return rows;
}

std::string random_text(std::mt19937_64& random, std::size_t length) {
  std::string text;
  while (text.size() < length) text += static_cast<char>('a' + random() % 26);
  return text;
}

/// A book with a past: several pages a table, long items, photos, removals (so that there are pages that hold nothing),
/// an undo. The text of an item is found nowhere else but in its rows.
void make_large(const std::filesystem::path& path, std::uint64_t seed) {
  std::mt19937_64 random(seed);
  auto store = got(Store::create(path));
  const auto item = [&](int i) {
    const auto id = "M" + std::to_string(i);
    Json body = {
        {"id", id}, {"name", "Board " + std::to_string(i)}, {"notes", random_text(random, 40 + random() % 400)}};
    if (random() % 20 == 0) body["notes"] = random_text(random, 9000);
    return Edit{"material", id, std::move(body)};
  };
  std::vector<Edit> first;
  for (int i = 1; i <= 220; ++i) first.push_back(item(i));
  for (int i = 1; i <= 6; ++i) {
    const auto photo = got(store.put_blob(random_text(random, 3000 * static_cast<std::size_t>(i)), "image/jpeg"));
    const auto id = "D" + std::to_string(i);
    first.push_back({"document", id, Json{{"id", id}, {"sha256", photo}, {"media_type", "image/jpeg"}}});
  }
  got(store.apply("import", kNow, first));
  for (int i = 0; i < 60; ++i) got(store.apply("set", kNow, std::vector{item(1 + static_cast<int>(random() % 220))}));
  std::vector<Edit> gone;
  for (int i = 30; i <= 130; ++i) gone.push_back({"material", "M" + std::to_string(i), std::nullopt});
  got(store.apply("remove", kNow, gone));
  got(store.apply("set", kNow, std::vector{item(5)}));
  got(store.undo(kNow));
}

/// What a book holds: its items, its papers, its log.
struct Holding {
  Bodies items;
  std::map<std::string, std::string> papers;
  std::vector<std::string> log;

  static Holding of(const std::filesystem::path& path) {
    const auto store = got(Store::open(path, Mode::kReadOnly));
    Holding out{bodies(store), {}, {}};
    for (const auto& blob : got(store.blobs())) {
      const auto paper = got(store.get_blob(blob.sha256));
      out.papers[blob.sha256] = paper.media_type + paper.bytes;
    }
    auto entries = got(store.history(10000));
    std::ranges::reverse(entries);
    for (const auto& entry : entries) {
      out.log.push_back(entry.at + entry.label + std::to_string(static_cast<int>(entry.verb)) +
                        std::to_string(entry.changes));
    }
    return out;
  }
};

/// Which pages of the sound book each item's own row and each paper's bytes lie on.
class Places {
 public:
  Places(const std::filesystem::path& path, const Holding& truth) {
    const auto bytes = bytes_of(path);
    for (const auto& row : asked(path, "SELECT pageno, name FROM dbstat")) tables_[std::stoul(row[0])] = row[1];
    for (const auto& [key, body] : truth.items) items[key] = pages_with(bytes, body, "records");
    for (const auto& [sha256, paper] : truth.papers) papers[sha256] = pages_with(bytes, paper.substr(10), "blobs");
    pages = bytes.size() / kPage;
    for (std::size_t number = 1; number <= pages; ++number) {
      if (!tables_.contains(number)) free.insert(number);
    }
  }
  [[nodiscard]] std::string table(std::size_t page) const {
    const auto found = tables_.find(page);
    return found == tables_.end() ? "" : found->second;
  }

  std::map<Bodies::key_type, std::set<std::size_t>> items;
  std::map<std::string, std::set<std::size_t>> papers;
  std::set<std::size_t> free;
  std::size_t pages = 0;

 private:
  /// By stretches of 24 bytes of it: some lie across two pages, but their neighbours do not.
  [[nodiscard]] std::set<std::size_t> pages_with(const std::string& bytes, const std::string& text,
                                                 const std::string& table) const {
    std::set<std::size_t> found;
    for (const auto& [number, name] : tables_) {
      if (name != table) continue;
      const auto page = std::string_view(bytes).substr((number - 1) * kPage, kPage);
      for (std::size_t at = 0; at + 24 <= text.size() && !found.contains(number); at += 24) {
        if (page.find(std::string_view(text).substr(at, 24)) != std::string_view::npos) found.insert(number);
      }
    }
    return found;
  }
  std::map<std::size_t, std::string> tables_;
};

/// The pages of the list of empty pages: the first is named in the file's header, each names the next.
std::set<std::size_t> pages_that_list_the_free(const std::string& bytes) {
  const auto number = [&](std::size_t at) {
    std::size_t value = 0;
    for (std::size_t i = 0; i < 4; ++i) value = value << 8U | static_cast<unsigned char>(bytes[at + i]);
    return value;
  };
  std::set<std::size_t> found;
  for (auto page = number(32); page != 0; page = number((page - 1) * kPage)) found.insert(page);
  return found;
}

bool apart(const std::set<std::size_t>& a, const std::set<std::size_t>& b) {
  return std::ranges::none_of(a, [&](auto page) { return b.contains(page); });
}

/// Nothing invented, all the rest: what holds after any damage to `bad` pages. Answers how many items were saved.
std::size_t expect_saved(const std::filesystem::path& from, const std::filesystem::path& to, const Holding& truth,
                         const Places& places, const std::set<std::size_t>& bad, const std::string& what) {
  const auto recovered = recover(from, to, kNow);
  if (!recovered.ok()) {
    ADD_FAILURE() << what << ": " << said(recovered);
    return 0;
  }
  const auto saved = Holding::of(to);
  for (const auto& [key, body] : saved.items) {
    const auto found = truth.items.find(key);
    if (found == truth.items.end() || found->second != body) ADD_FAILURE() << what << ": invented " << key.second;
  }
  for (const auto& [sha256, paper] : saved.papers) {
    const auto found = truth.papers.find(sha256);
    if (found == truth.papers.end() || found->second != paper) ADD_FAILURE() << what << ": invented paper " << sha256;
  }
  // Where rows lie that no tree leads to, only the list of empty pages tells them from old ones.
  const bool free_known = !bad.contains(1) && apart(bad, places.free);
  for (const auto& [key, pages] : places.items) {
    if (free_known && apart(pages, bad) && !saved.items.contains(key)) ADD_FAILURE() << what << ": lost " << key.second;
  }
  for (const auto& [sha256, pages] : places.papers) {
    if (apart(pages, bad) && free_known && !saved.papers.contains(sha256)) ADD_FAILURE() << what << ": lost " << sha256;
  }
  // Every item and paper that is not there is told.
  if (saved.items != truth.items || saved.papers != truth.papers) {
    EXPECT_THAT(recovered->lost, Not(IsEmpty())) << what;
  }
  // The log is the beginning of the true one, and one step more if it is not whole.
  for (std::size_t i = 0; i < static_cast<std::size_t>(recovered->steps); ++i) EXPECT_EQ(saved.log[i], truth.log[i]);
  for (const auto& problem : got(got(Store::open(to, Mode::kReadOnly)).verify()))
    EXPECT_TRUE(problem.weight == Problem::Weight::kLoose || problem.problem.starts_with("has lost its paper"))
        << what << ": " << problem.where << " " << problem.problem;
  std::filesystem::remove(to);
  return saved.items.size();
}

class FaultRecover : public ::testing::Test {
 protected:
  FaultRecover() {
    make_large(whole_, 20261125);
    bytes_ = bytes_of(whole_);
    truth_ = Holding::of(whole_);
    places_.emplace(whole_, truth_);
  }
  void expect_saved_of(const std::string& bytes, const std::set<std::size_t>& bad, const std::string& what) {
    write_bytes(hurt_, bytes);
    saved_ = expect_saved(hurt_, folder_ / "new.lathbook", truth_, *places_, bad, what);
    EXPECT_EQ(bytes_of(hurt_), bytes) << what;
    EXPECT_THAT(folder_.names(), ElementsAre("hurt.lathbook", "whole.lathbook")) << what;
  }

  Folder folder_;
  std::filesystem::path whole_ = folder_ / "whole.lathbook";
  std::filesystem::path hurt_ = folder_ / "hurt.lathbook";
  std::string bytes_;
  Holding truth_;
  std::optional<Places> places_;
  std::size_t saved_ = 0;
};

TEST_F(FaultRecover, TheBookOfTheTestHasWhatMakesItHard) {
  EXPECT_GT(places_->pages, 60U);
  EXPECT_GE(places_->free.size(), 1U);
  EXPECT_THAT(places_->items, Contains(::testing::Pair(::testing::_, SizeIs(::testing::Ge(3U)))));
  for (const auto& [key, pages] : places_->items) EXPECT_THAT(pages, Not(IsEmpty())) << key.second;
}

TEST_F(FaultRecover, ASoundBookComesOutAsItWas) {
  const auto recovered = got(recover(whole_, folder_ / "new.lathbook", kNow));
  EXPECT_THAT(recovered.lost, IsEmpty());
  EXPECT_EQ(recovered.bad_pages, "");
  const auto saved = Holding::of(folder_ / "new.lathbook");
  EXPECT_EQ(saved.items, truth_.items);
  EXPECT_EQ(saved.papers, truth_.papers);
  EXPECT_EQ(saved.log, truth_.log);
  auto store = got(Store::open(folder_ / "new.lathbook", Mode::kReadWrite));
  got(store.redo(kNow));
  EXPECT_THAT(got(store.verify()), IsEmpty());
}

TEST_F(FaultRecover, AfterAFlippedBitEverythingButThePhotoItHitIsSaved) {
  std::mt19937_64 random(1);
  for (int i = 0; i < lathbook::testing::times(60, 1200); ++i) {
    auto bytes = bytes_;
    const auto at = random() % bytes.size();
    bytes[at] = static_cast<char>(bytes[at] ^ (1 << random() % 8));
    const auto what = "bit at " + std::to_string(at) + " (" + places_->table(at / kPage + 1) + ")";
    expect_saved_of(bytes, {at / kPage + 1}, what);
    // The log is a second source of every item, and an item's row a second source of the log's end.
    EXPECT_EQ(saved_, truth_.items.size()) << what;
    if (HasFailure()) return;
  }
}

TEST_F(FaultRecover, AfterACutEverythingBeforeItIsSaved) {
  std::mt19937_64 random(2);
  std::vector<std::size_t> lengths = {kPage, 2 * kPage, bytes_.size() - kPage, bytes_.size() - 1};
  while (lengths.size() < static_cast<std::size_t>(lathbook::testing::times(30, 800)))
    lengths.push_back(3 * kPage + random() % (bytes_.size() - 3 * kPage));
  for (const auto length : lengths) {
    std::set<std::size_t> bad;
    for (std::size_t page = length / kPage + 1; page <= places_->pages; ++page) bad.insert(page);
    const auto cut = bytes_.substr(0, length);
    write_bytes(hurt_, cut);
    ASSERT_FALSE(Store::open(hurt_, Mode::kReadOnly).ok()) << length;
    if (length <= 2 * kPage) {
      // Not even a row is left: told, and nothing made.
      const auto refused = recover(hurt_, folder_ / "new.lathbook", kNow);
      if (!refused.ok()) {
        EXPECT_THAT(said(refused), HasSubstr("nothing of a book")) << length;
        EXPECT_THAT(folder_.names(), ElementsAre("hurt.lathbook", "whole.lathbook"));
        continue;
      }
      std::filesystem::remove(folder_ / "new.lathbook");
    }
    expect_saved_of(cut, bad, "cut at " + std::to_string(length));
    if (HasFailure()) return;
  }
}

TEST_F(FaultRecover, WithSeveralPagesOverwrittenTheOthersAreSaved) {
  std::mt19937_64 random(3);
  std::size_t fewest = truth_.items.size();
  for (int i = 0; i < lathbook::testing::times(40, 600); ++i) {
    auto bytes = bytes_;
    std::set<std::size_t> bad;
    for (auto count = 1 + random() % 12; count > 0; --count) {
      const auto page = 1 + random() % places_->pages;
      bad.insert(page);
      // Zeros, noise, or another page's content, as a disk that writes in the wrong place leaves it.
      const auto other = random() % places_->pages;
      for (std::size_t k = 0; k < kPage; ++k) {
        const auto at = (page - 1) * kPage + k;
        bytes[at] = i % 3 == 0 ? '\0' : i % 3 == 1 ? static_cast<char>(random()) : bytes_[other * kPage + k];
      }
    }
    expect_saved_of(bytes, bad, "overwritten, round " + std::to_string(i));
    fewest = std::min(fewest, saved_);
    if (HasFailure()) return;
  }
  EXPECT_LT(fewest, truth_.items.size()) << "the damage was never enough to lose anything";
}

// Pages that hold nothing may still hold what they once held: old states of items, with sums that fit.
TEST_F(FaultRecover, WhatIsLongGoneDoesNotComeBack) {
  const auto path = folder_ / "old.lathbook";
  std::filesystem::copy_file(whole_, path);
  auto then = bytes_;
  {
    auto store = got(Store::open(path, Mode::kReadWrite));
    std::vector<Edit> gone;
    for (int i = 131; i <= 219; ++i) gone.push_back({"material", "M" + std::to_string(i), std::nullopt});
    got(store.apply("remove", kNow, gone));
  }
  auto now = bytes_of(path);
  const auto truth = Holding::of(path);
  const Places places(path, truth);
  int old_rows = 0;
  const auto trunks = pages_that_list_the_free(now);
  for (const auto page : places.free) {
    if (page * kPage > then.size() || trunks.contains(page)) continue;
    now.replace((page - 1) * kPage, kPage, then, (page - 1) * kPage, kPage);
    const auto kind = then[(page - 1) * kPage];
    old_rows += kind == 10 || kind == 2 ? 1 : 0;
  }
  ASSERT_GE(old_rows, 3) << "no page with old rows to mislead";
  std::filesystem::remove(path);
  std::mt19937_64 random(4);
  for (int i = 0; i < lathbook::testing::times(40, 400); ++i) {
    auto bytes = now;
    std::set<std::size_t> bad;
    for (auto count = 1 + random() % 6; count > 0; --count) {
      const auto page = i % 4 == 0 && count == 1 ? 1 : 1 + random() % places.pages;
      bad.insert(page);
      for (std::size_t k = 0; k < kPage; ++k) bytes[(page - 1) * kPage + k] = static_cast<char>(random());
    }
    write_bytes(hurt_, bytes);
    expect_saved(hurt_, folder_ / "new.lathbook", truth, places, bad, "old pages, round " + std::to_string(i));
    if (HasFailure()) return;
  }
}

TEST(Recover, WhatIsLostIsToldWithHowItLastStood) {
  const Folder folder;
  const auto path = folder / "house.lathbook";
  {
    auto store = got(Store::create(path));
    got(store.apply("add M1", kNow, std::vector{put("M1", 1)}));
    got(store.apply("add M2", kNow, std::vector{put("M2", 2)}));
    got(store.apply("set M2", kNow, std::vector{put("M2", 3)}));
  }
  // M2's row and its last change, past the store.
  asked(path, "DELETE FROM records WHERE id = 'M2'; DELETE FROM changes WHERE revision = 3");
  const auto recovered = got(recover(path, folder / "new.lathbook", kNow));
  EXPECT_EQ(recovered.items, 1);
  EXPECT_EQ(recovered.steps, 2);
  ASSERT_THAT(recovered.lost, Contains(Field(&Loss::where, "material M2")));
  EXPECT_EQ(recovered.lost.front().last_known, material("M2", 2));
  EXPECT_EQ(recovered.lost.front().as_of, 2);
  EXPECT_THAT(recovered.lost, Contains(Field(&Loss::where, "log")));
  const auto store = got(Store::open(folder / "new.lathbook", Mode::kReadOnly));
  EXPECT_THAT(got(store.verify()), IsEmpty());
  EXPECT_EQ(got(store.history(1)).front().label, "recovered from house.lathbook");
  EXPECT_EQ(bodies(store).size(), 1U);
}

TEST(Recover, AnOldAnswerLaterTakenBackIsNotSavedAsTheAnswer) {
  const Folder folder;
  const auto path = folder / "house.lathbook";
  {
    auto store = got(Store::create(path));
    got(store.apply("result", kNow, std::vector<Edit>{{"result", "LR1", Json{{"id", "LR1"}, {"found", false}}}}));
    got(store.apply("remove", kNow, std::vector<Edit>{{"result", "LR1", std::nullopt}}));
    got(store.apply("add M1", kNow, std::vector{put("M1", 1)}));
  }
  asked(path, "DELETE FROM changes WHERE revision = 2; DELETE FROM records WHERE id = 'M1'");
  got(recover(path, folder / "new.lathbook", kNow));
  const auto saved = bodies(got(Store::open(folder / "new.lathbook", Mode::kReadOnly)));
  EXPECT_THAT(saved, ElementsAre(::testing::Pair(std::pair("material", "M1"), ::testing::_)));
}

TEST(Recover, ChangesStillBesideTheFileAreSavedAsFarAsTheyRead) {
  const Folder folder;
  const auto path = folder / "house.lathbook";
  const auto copy = folder / "copy.lathbook";
  auto store = got(Store::create(path));
  for (int i = 1; i <= 9; ++i) got(store.apply("add", kNow, std::vector{put("M" + std::to_string(i), i)}));
  // Taken while the program had it open, as a power cut leaves them.
  write_bytes(copy, bytes_of(path));
  auto wal = bytes_of(path.string() + "-wal");
  ASSERT_GT(wal.size(), 5 * kPage);
  write_bytes(copy.string() + "-wal", wal);
  EXPECT_EQ(got(recover(copy, folder / "one.lathbook", kNow)).items, 9);
  EXPECT_EQ(bodies(got(Store::open(folder / "one.lathbook", Mode::kReadOnly))), bodies(store));

  wal[wal.size() - kPage / 2] = static_cast<char>(wal[wal.size() - kPage / 2] ^ 1);
  write_bytes(copy.string() + "-wal", wal);
  const auto cut = got(recover(copy, folder / "two.lathbook", kNow));
  EXPECT_EQ(cut.items, 8);
  EXPECT_THAT(cut.lost, Contains(Field(&Loss::where, "-wal")));
}

TEST(Recover, RefusesWhatItCannotOrMustNotDo) {
  const Folder folder;
  const auto path = folder / "house.lathbook";
  const auto refused = [&](const std::filesystem::path& from, const std::string& to) {
    const auto answer = recover(from, folder / to, kNow);
    return answer.ok() ? reason::Fault{} : answer.faults().front();
  };
  EXPECT_EQ(refused(path, "new.lathbook").kind, FaultKind::kMissing);
  {
    auto store = got(Store::create(path));
    got(store.apply("add", kNow, std::vector{put("M1", 1)}));
    // From another process the lock is seen; from this one SQLite's own locks tell.
    EXPECT_EQ(refused(path, "new.lathbook").kind, FaultKind::kConflict);
  }
  write_bytes(folder / "taken.lathbook", "something");
  EXPECT_EQ(refused(path, "taken.lathbook").kind, FaultKind::kConflict);
  EXPECT_EQ(refused(path, "house.lathbook").kind, FaultKind::kConflict);
  for (const std::string& bytes : {std::string(), std::string("Dear neighbour"), std::string(100000, '\0'),
                                   "SQLite format 3" + std::string(50000, '\1')}) {
    write_bytes(folder / "other", bytes);
    EXPECT_THAT(refused(folder / "other", "new.lathbook").problem, HasSubstr("nothing of a book"));
  }
  EXPECT_EQ(refused(folder.path(), "new.lathbook").kind, FaultKind::kFile);
  EXPECT_THAT(folder.names(), ElementsAre("house.lathbook", "other", "taken.lathbook"));
}

TEST(Recover, BooksOfEveryReleasedSchemaAreRead) {
  const Folder folder;
  for (int version = 1; version <= schema_version(); ++version) {
    const auto path = folder / ("old-" + std::to_string(version));
    std::filesystem::copy_file("tests/fixtures/books/schema-" + std::to_string(version) + ".lathbook", path);
    const auto to = folder / ("new-" + std::to_string(version));
    EXPECT_THAT(got(recover(path, to, kNow)).lost, IsEmpty());
    EXPECT_EQ(Holding::of(to).items, Holding::of(path).items);
    EXPECT_EQ(Holding::of(to).log, Holding::of(path).log);
  }
}

}  // namespace
}  // namespace lathbook::store
