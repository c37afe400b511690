#include "press/press.h"

#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include <fstream>
#include <iterator>
#include <sstream>

namespace lathbook::press {
namespace {

namespace fs = std::filesystem;
using testing::ElementsAre;
using testing::HasSubstr;
using testing::IsEmpty;

class Folder : public testing::Test {
 protected:
  void SetUp() override {
    folder_ = fs::path(testing::TempDir()) /
              ("press-" + std::string(testing::UnitTest::GetInstance()->current_test_info()->name()));
    fs::remove_all(folder_);
    fs::create_directories(folder_);
  }
  void TearDown() override { fs::remove_all(folder_); }

  static std::string read(const fs::path& path) {
    std::ifstream in(path, std::ios::binary);
    return {std::istreambuf_iterator<char>(in), {}};
  }

  fs::path folder_;
};

TEST(ReadOrder, TakesEverything) {
  const auto order = read_order({"--book", "a.lathbook", "--to", "out", "--today", "2026-11-25", "--paper", "letter",
                                 "--without", "health,people", "--force", "register", "J3"});
  ASSERT_TRUE(order.ok());
  EXPECT_EQ(order->size, papers::Size::kLetter);
  EXPECT_TRUE(order->force);
  EXPECT_THAT(order->which, ElementsAre("register", "J3"));
  EXPECT_THAT(order->without, ElementsAre(papers::Section::kHealth, papers::Section::kPeople));
}

TEST(FaultReadOrder, NamesAllFaults) {
  const auto order = read_order({"--paper", "a3", "--without", "dust", "--today", "tomorrow", "--loud", "x"});
  ASSERT_FALSE(order.ok());
  std::string all;
  for (const auto& fault : order.faults()) all += fault.text() + "\n";
  for (const auto* part : {"a3", "dust", "tomorrow", "--loud", "--book", "--to"}) EXPECT_THAT(all, HasSubstr(part));
}

using Put = Folder;

TEST_F(Put, MakesFoldersAndWritesWhole) {
  const auto written = put({{"a.pdf", "one"}, {"tables/b.csv", "two"}}, folder_ / "new", false);
  ASSERT_TRUE(written.ok());
  EXPECT_EQ(read(folder_ / "new" / "a.pdf"), "one");
  EXPECT_EQ(read(folder_ / "new" / "tables" / "b.csv"), "two");
  EXPECT_EQ(std::distance(fs::recursive_directory_iterator(folder_ / "new"), {}), 3);
}

TEST_F(Put, WritesNothingWhenOneIsThere) {
  std::ofstream(folder_ / "b.pdf") << "old";
  const auto written = put({{"a.pdf", "one"}, {"b.pdf", "two"}}, folder_, false);
  ASSERT_FALSE(written.ok());
  EXPECT_EQ(written.faults().front().kind, reason::FaultKind::kConflict);
  EXPECT_FALSE(fs::exists(folder_ / "a.pdf"));
  EXPECT_EQ(read(folder_ / "b.pdf"), "old");
  ASSERT_TRUE(put({{"b.pdf", "two"}}, folder_, true).ok());
  EXPECT_EQ(read(folder_ / "b.pdf"), "two");
}

TEST_F(Put, AFileInTheWayOfAFolderIsAFault) {
  std::ofstream(folder_ / "tables") << "a file";
  const auto written = put({{"tables/b.csv", "two"}}, folder_, false);
  ASSERT_FALSE(written.ok());
  EXPECT_THAT(written.faults().front().text(), HasSubstr("cannot be written"));
}

TEST_F(Put, AMissingBookIsAFaultAndNothingIsWritten) {
  std::ostringstream progress;
  const auto order = read_order(
      {"--book", (folder_ / "none.lathbook").string(), "--to", (folder_ / "out").string(), "--today", "2026-11-25"});
  ASSERT_TRUE(order.ok());
  EXPECT_FALSE(print(*order, progress).ok());
  EXPECT_THAT(progress.str(), IsEmpty());
  EXPECT_FALSE(fs::exists(folder_ / "out"));
}

}  // namespace
}  // namespace lathbook::press
