// Copies: their names and which of them go; locked ones open with their passphrase as they were, and in no other case.
#include "store/copies.h"

#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include <algorithm>
#include <random>

#include "store/testing.h"
#include "testing/long.h"

namespace lathbook::store {
namespace {

using reason::FaultKind;
using ::testing::AnyOf;
using ::testing::ElementsAre;
using ::testing::HasSubstr;
using ::testing::IsEmpty;
using ::testing::Not;
using ::testing::SizeIs;
using namespace testing;

/// As little as the function allows: how long a try takes is not what is tested.
constexpr Effort kQuick{1, 8192};
const std::string kWords = "slate over the old scullery";

TEST(Copies, AreNamedAfterTheBookAndTheMoment) {
  EXPECT_EQ(copy_name("house", "2026-11-25T14:05:01Z", false), "house-20261125-140501.lathbook");
  EXPECT_EQ(copy_name("house", "2026-11-25T14:05:01Z", true), "house-20261125-140501.lathbook.locked");
}

TEST(Copies, TheNewestAndTheNewestOfEachMonthStay) {
  const std::vector<std::string> names = {"house-20260803-090000.lathbook",    "house-20260830-090000.lathbook.locked",
                                          "house-20260901-090000.lathbook",    "house-20261101-090000.lathbook",
                                          "house-20261120-090000.lathbook",    "house-20261125-090000.lathbook",
                                          "house-20261125-090000.txt",         "house.lathbook",
                                          "house-2026112-5090000.lathbook",    "house-annexe-20200101-090000.lathbook",
                                          "my-house-20200101-090000.lathbook", "house-20261125-090000.lathbook.part"};
  EXPECT_THAT(outdated(names, "house", 1), ElementsAre(names[0], names[3], names[4]));
  EXPECT_THAT(outdated(names, "house", 2), ElementsAre(names[0], names[3]));
  EXPECT_THAT(outdated(names, "house", 0), ElementsAre(names[0], names[3], names[4]));
  EXPECT_THAT(outdated(names, "house", 9), IsEmpty());
  EXPECT_THAT(outdated(names, "", 1), IsEmpty());
}

TEST(PropertyCopies, ForgettingNeverTakesTheNewestOrAMonthsLast) {
  std::mt19937_64 random(5);
  for (int round = 0; round < 200; ++round) {
    std::vector<std::string> names;
    const auto count = 1 + random() % 60;
    for (std::size_t i = 0; i < count; ++i) {
      char moment[32];
      std::snprintf(moment, sizeof moment, "%04d-%02d-%02dT%02d:00:00Z", static_cast<int>(2024 + random() % 3),
                    static_cast<int>(1 + random() % 12), static_cast<int>(1 + random() % 28),
                    static_cast<int>(random() % 24));
      names.push_back(copy_name("house", moment, random() % 2 == 0));
    }
    std::ranges::sort(names);
    names.erase(std::unique(names.begin(), names.end()), names.end());
    const auto keep = 1 + random() % 8;
    const auto gone = outdated(names, "house", keep);
    std::vector<std::string> left;
    for (const auto& name : names) {
      if (!std::ranges::binary_search(gone, name)) left.push_back(name);
    }
    // What goes has a later one of its month that stays, and at least `keep` later ones.
    constexpr std::size_t kMoment = std::string_view("house-20260101-000000").size();
    for (const auto& name : gone) {
      const auto moment = name.substr(0, kMoment);
      ASSERT_TRUE(std::ranges::any_of(left, [&](const std::string& other) {
        return other.substr(0, 12) == name.substr(0, 12) && other.substr(0, kMoment) >= moment;
      })) << name;
      ASSERT_GE(
          std::ranges::count_if(
              names, [&](const std::string& other) { return other != name && other.substr(0, kMoment) >= moment; }),
          static_cast<std::ptrdiff_t>(keep));
    }
    // Doing it again takes nothing more.
    ASSERT_THAT(outdated(left, "house", keep), IsEmpty());
  }
}

class LockedCopy : public ::testing::Test {
 protected:
  LockedCopy() {
    auto store = got(Store::create(book_));
    got(store.put_blob(std::string(150'000, 'p'), "image/jpeg"));
    got(store.apply("add", kNow, std::vector{put("M1", 1)}));
    bodies_ = bodies(store);
    got(copy_book(store, copy_, kWords, false, kQuick));
    bytes_ = bytes_of(copy_);
  }
  /// What opening the copy says when its bytes are these; empty = it opened as it was.
  std::string opening(const std::string& bytes, const std::string& words = kWords) {
    write_bytes(folder_ / "changed", bytes);
    const auto target = folder_ / "new.lathbook";
    const auto restored = restore(folder_ / "changed", target, words);
    if (!restored.ok()) {
      EXPECT_FALSE(std::filesystem::exists(target));
      EXPECT_THAT(folder_.names(), ElementsAre("changed", "copy.locked", "house.lathbook"));
      return said(restored);
    }
    EXPECT_EQ(bodies(got(Store::open(target, Mode::kReadOnly))), bodies_);
    std::filesystem::remove(target);
    return "";
  }

  Folder folder_;
  std::filesystem::path book_ = folder_ / "house.lathbook";
  std::filesystem::path copy_ = folder_ / "copy.locked";
  Bodies bodies_;
  std::string bytes_;
};

TEST_F(LockedCopy, OpensWithItsPassphraseAsItWas) {
  EXPECT_TRUE(is_locked(copy_));
  EXPECT_FALSE(is_locked(book_));
  EXPECT_FALSE(is_locked(folder_ / "nothing"));
  EXPECT_EQ(opening(bytes_), "");
  got(restore(copy_, folder_ / "new.lathbook", kWords));
  const auto store = got(Store::open(folder_ / "new.lathbook", Mode::kReadWrite));
  EXPECT_THAT(got(store.blobs()), SizeIs(1));
  EXPECT_EQ(got(store.history(9)).front().label, "add");
}

TEST_F(LockedCopy, ShowsNothingOfWhatItHolds) {
  EXPECT_GT(bytes_.size(), 150'000U);
  for (const char* word : {"SQLite", "Board no", "insulating", "pppp", "records"})
    EXPECT_THAT(bytes_, Not(HasSubstr(word)));
  // The same book under the same words is another file each time.
  got(copy_book(got(Store::open(book_, Mode::kReadOnly)), folder_ / "again", kWords, false, kQuick));
  EXPECT_NE(bytes_of(folder_ / "again").substr(32), bytes_.substr(32));
}

TEST_F(LockedCopy, WithAnotherPassphraseNothingOpens) {
  for (const std::string words :
       {"", "slate over the old sculler", "slate over the old scullery ", "Slate over the old scullery"})
    EXPECT_THAT(opening(bytes_, words), HasSubstr("the passphrase is not the one")) << words;
  EXPECT_EQ(restore(copy_, folder_ / "new.lathbook", std::nullopt).faults().front().problem, "is a locked copy");
}

TEST_F(LockedCopy, EveryAlteredByteIsTold) {
  std::mt19937_64 random(6);
  std::vector<std::size_t> places;
  for (std::size_t at = 0; at < 80; ++at) places.push_back(at);
  for (int i = 0; i < lathbook::testing::times(100, 2000); ++i) places.push_back(random() % bytes_.size());
  for (const auto at : places) {
    auto bytes = bytes_;
    bytes[at] = static_cast<char>(bytes[at] ^ (1 << random() % 8));
    // What a try costs lies in the header: a change there must not be let loose on the machine.
    const auto words = opening(bytes);
    ASSERT_NE(words, "") << at;
  }
}

TEST_F(LockedCopy, CutLengthenedAndReorderedFilesAreTold) {
  std::mt19937_64 random(7);
  constexpr std::size_t kHeader = 72;
  constexpr std::size_t kPart = (64U << 10U) + 17;
  std::vector<std::size_t> lengths = {
      0, 15, 16, 71, kHeader, kHeader + 1, kHeader + 16, kHeader + kPart, kHeader + 2 * kPart, bytes_.size() - 1};
  for (int i = 0; i < 30; ++i) lengths.push_back(random() % bytes_.size());
  for (const auto length : lengths) ASSERT_NE(opening(bytes_.substr(0, length)), "") << length;
  EXPECT_THAT(opening(bytes_ + "x"), AnyOf(HasSubstr("more in it"), HasSubstr("is not as it was written")));
  EXPECT_NE(opening(bytes_ + bytes_.substr(kHeader)), "");
  const auto swapped = bytes_.substr(0, kHeader) + bytes_.substr(kHeader + kPart, kPart) +
                       bytes_.substr(kHeader, kPart) + bytes_.substr(kHeader + 2 * kPart);
  ASSERT_EQ(swapped.size(), bytes_.size());
  EXPECT_NE(opening(swapped), "");
}

TEST_F(LockedCopy, RefusesWeakWordsAndFilesThatAreThere) {
  std::optional<Store> open = got(Store::open(book_, Mode::kReadOnly));
  const Store& store = *open;
  EXPECT_THAT(said(copy_book(store, folder_ / "weak", "seven77", false, kQuick)), HasSubstr("too short"));
  EXPECT_EQ(copy_book(store, copy_, kWords, false, kQuick).faults().front().kind, FaultKind::kConflict);
  EXPECT_FALSE(copy_book(store, book_, kWords, true, kQuick).ok());
  EXPECT_EQ(restore(copy_, book_, kWords).faults().front().kind, FaultKind::kConflict);
  EXPECT_EQ(copy_book(store, folder_ / "no/where", kWords, false, kQuick).faults().front().kind, FaultKind::kMissing);
  got(copy_book(store, copy_, kWords, true, kQuick));
  open.reset();
  EXPECT_THAT(folder_.names(), ElementsAre("copy.locked", "house.lathbook"));
}

TEST(Copies, APlainCopyComesBackToo) {
  const Folder folder;
  auto store = got(Store::create(folder / "house.lathbook"));
  got(store.apply("add", kNow, std::vector{put("M1", 1)}));
  got(copy_book(store, folder / "copy", std::nullopt, false));
  got(restore(folder / "copy", folder / "new.lathbook", std::nullopt));
  EXPECT_EQ(bodies(got(Store::open(folder / "new.lathbook", Mode::kReadOnly))), bodies(store));
  write_bytes(folder / "cut", bytes_of(folder / "copy").substr(0, 9000));
  EXPECT_THAT(said(restore(folder / "cut", folder / "newer.lathbook", std::nullopt)), HasSubstr("is cut short"));
  EXPECT_FALSE(std::filesystem::exists(folder / "newer.lathbook"));
}

}  // namespace
}  // namespace lathbook::store
