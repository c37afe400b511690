#include "phone/devices.h"

#include <gmock/gmock.h>
#include <gtest/gtest.h>
#include <sys/stat.h>
#include <unistd.h>

#include <fstream>

#include "phone/folder.h"

namespace lathbook::phone {
namespace {

using ::testing::HasSubstr;
using ::testing::Not;

class DevicesTest : public ::testing::Test {
 protected:
  DevicesTest() {
    folder_ = std::filesystem::temp_directory_path() / ("lathbook-phone-" + std::to_string(::getpid()));
    std::filesystem::remove_all(folder_);
  }
  ~DevicesTest() override { std::filesystem::remove_all(folder_); }
  [[nodiscard]] std::string text() const {
    std::ifstream in(folder_ / "phones.json");
    return {std::istreambuf_iterator<char>(in), {}};
  }
  std::filesystem::path folder_;
};

TEST_F(DevicesTest, APhoneIsKnownByItsTokenUntilItIsRevoked) {
  Devices devices(folder_);
  EXPECT_TRUE(devices.all()->empty());
  const auto first = devices.add("Loft phone", "2026-11-25");
  const auto second = devices.add("", "2026-11-25");
  ASSERT_TRUE(first.ok() && second.ok());
  EXPECT_EQ(first->device.id, "P1");
  EXPECT_EQ(second->device.name, "A phone");
  EXPECT_EQ(first->token.size(), 64U);
  EXPECT_NE(first->token, second->token);
  EXPECT_EQ((*devices.by_token(first->token))->name, "Loft phone");
  EXPECT_FALSE(devices.by_token("").value());
  EXPECT_FALSE(devices.by_token(first->device.digest).value());  // the digest is no key

  // By another program; the same token again is nobody's.
  ASSERT_TRUE(Devices(folder_).revoke("P1").ok());
  EXPECT_FALSE(devices.by_token(first->token).value());
  EXPECT_TRUE(devices.by_token(second->token).value());
  EXPECT_EQ(devices.revoke("P1").faults().front().kind, reason::FaultKind::kMissing);
  EXPECT_EQ(devices.add("Again", "2026-11-26")->device.id, "P3");  // no id comes to mean another phone
}

TEST_F(DevicesTest, TheListHoldsNoTokenAndIsForItsOwnerAlone) {
  Devices devices(folder_);
  const auto added = devices.add("Phone", "2026-11-25");
  EXPECT_THAT(text(), Not(HasSubstr(added->token)));
  struct stat about {};
  ASSERT_EQ(::stat((folder_ / "phones.json").c_str(), &about), 0);
  EXPECT_EQ(about.st_mode & 0777U, 0600U);
  ASSERT_EQ(::stat(folder_.c_str(), &about), 0);
  EXPECT_EQ(about.st_mode & 0777U, 0700U);
  ::chmod((folder_ / "phones.json").c_str(), 0644);
  EXPECT_THAT(devices.all().faults().front().problem, HasSubstr("by others"));
}

TEST_F(DevicesTest, NamesArePlainAndShort) {
  Devices devices(folder_);
  EXPECT_EQ(devices.add("a\nb\x1b[31m", "2026-11-25")->device.name, "ab[31m");
  std::string many;
  for (int i = 0; i < 40; ++i) many += "é";
  const auto name = devices.add(many, "2026-11-25")->device.name;
  EXPECT_EQ(name, many.substr(0, 60));
  EXPECT_TRUE(devices.all().ok());
}

TEST_F(DevicesTest, AListThatIsNotOneIsToldAndNotReplaced) {
  Devices devices(folder_);
  ASSERT_TRUE(devices.add("Phone", "2026-11-25").ok());
  ASSERT_TRUE(write_private(folder_ / "phones.json", "{\"phones\": 3}").ok());
  EXPECT_FALSE(devices.all().ok());
  EXPECT_FALSE(devices.add("Phone", "2026-11-25").ok());
  EXPECT_FALSE(devices.by_token("x").ok());
  EXPECT_EQ(text(), "{\"phones\": 3}");
}

}  // namespace
}  // namespace lathbook::phone
