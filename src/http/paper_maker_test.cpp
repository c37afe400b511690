#include "http/paper_maker.h"

#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include <filesystem>
#include <fstream>
#include <future>

#include "store/testing.h"

namespace lathbook::http {
namespace {

using ::testing::ElementsAre;
using ::testing::Field;
using ::testing::HasSubstr;

/// A stand-in for lathbook-papers, so that what it is asked and what becomes of its answers is seen.
class PaperMakerTest : public ::testing::Test {
 protected:
  std::filesystem::path program(const std::string& body) {
    const auto path = folder_ / "maker";
    std::ofstream(path) << "#!/bin/sh\n" << body;
    std::filesystem::permissions(path, std::filesystem::perms::owner_all);
    return path;
  }
  [[nodiscard]] std::filesystem::path folder() const { return folder_ / ""; }

  store::testing::Folder folder_;
  const PaperMoment moment_{7, "2026-11-25"};
};

// --book B --to T --today D …: $4 is the folder the papers go to.
constexpr const char* kMakesTwo =
    "mkdir -p $4/tables; echo \"$@\" > $4/tables/a.csv; echo x >> \"$2\"; printf p > $4/r.pdf\n";

TEST_F(PaperMakerTest, ReadsWhatTheHelperMadeAndLeavesNothingBehind) {
  PaperMaker maker(program("echo $4 > " + (folder_ / "where").string() + "\n" + kMakesTwo), folder_ / "book");
  const auto files = maker.files("handover,health,people", moment_);
  ASSERT_TRUE(files.ok());
  EXPECT_THAT(**files, ElementsAre(Field(&PaperFile::name, "r.pdf"), Field(&PaperFile::name, "tables/a.csv")));
  EXPECT_THAT((**files)[1].bytes, HasSubstr("--today 2026-11-25 --without health,people handover"));
  EXPECT_EQ((**files)[1].media_type, "text/csv; charset=utf-8");
  std::string where;
  std::ifstream(folder_ / "where") >> where;
  EXPECT_FALSE(std::filesystem::exists(where));
  EXPECT_FALSE(std::filesystem::exists(std::filesystem::path(where).parent_path()));
}

TEST_F(PaperMakerTest, MakesAPaperOnceForEachStateOfTheBook) {
  PaperMaker maker(program(kMakesTwo), folder_ / "book");
  ASSERT_TRUE(maker.files("register", moment_).ok());
  ASSERT_TRUE(maker.files("register", moment_).ok());
  EXPECT_EQ(std::filesystem::file_size(folder_ / "book"), 2);  // the stand-in adds a line each time
  ASSERT_TRUE(maker.files("register", {8, "2026-11-25"}).ok());
  EXPECT_EQ(std::filesystem::file_size(folder_ / "book"), 4);
}

TEST_F(PaperMakerTest, KnowsItsPapersAndNothingElse) {
  PaperMaker maker(program(kMakesTwo), folder_ / "book");
  for (const char* order : {"", "nothing", "--force", "../register", "J", "Jx", "register,health", "handover,secrets"})
    EXPECT_FALSE(maker.files(order, moment_).ok()) << order;
  EXPECT_FALSE(std::filesystem::exists(folder_ / "book"));  // never even asked
  EXPECT_TRUE(maker.files("J12", moment_).ok());
  EXPECT_TRUE(maker.files("PE1", moment_).ok());
  for (const auto& kind : paper_kinds()) EXPECT_TRUE(maker.files(std::string(kind.name), moment_).ok()) << kind.name;
}

TEST_F(PaperMakerTest, TurnsAwayWhatWouldHoldEveryThread) {
  PaperMaker maker(program("sleep 0.3\n" + std::string(kMakesTwo)), folder_ / "book");
  std::vector<std::future<bool>> asked;
  for (int i = 0; i < 2 * PaperMaker::kMostWaiting; ++i)
    asked.push_back(std::async(std::launch::async, [&] { return maker.files("register", moment_).ok(); }));
  int made = 0;
  for (auto& one : asked) made += one.get() ? 1 : 0;
  EXPECT_GE(made, 1);
  EXPECT_LE(made, PaperMaker::kMostWaiting);
  EXPECT_TRUE(maker.files("register", moment_).ok());
}

TEST_F(PaperMakerTest, PassesOnWhatTheHelperSays) {
  PaperMaker maker(program("echo 'register' >&2; echo 'lathbook: J9 is not a job of this book' >&2; exit 2\n"),
                   folder_ / "book");
  const auto files = maker.files("J9", moment_);
  ASSERT_FALSE(files.ok());
  EXPECT_EQ(files.faults().front().problem, "J9 is not a job of this book");
  PaperMaker none(folder_ / "not there", folder_ / "book");
  EXPECT_THAT(none.files("register", moment_).faults().front().problem, HasSubstr("cannot be made"));
}

TEST_F(PaperMakerTest, DrawsNoPageOfWhatIsNoPdf) {
  PaperMaker maker(program(kMakesTwo), folder_ / "book");
  EXPECT_FALSE(maker.preview("tables", "tables/a.csv", 1, moment_).ok());
  EXPECT_FALSE(maker.preview("register", "r.pdf", 1, moment_).ok());  // one letter is no PDF
  EXPECT_FALSE(maker.preview("register", "../r.pdf", 1, moment_).ok());
}

}  // namespace
}  // namespace lathbook::http
