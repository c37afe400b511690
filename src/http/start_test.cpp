#include "http/start.h"

#include <gmock/gmock.h>
#include <gtest/gtest.h>

namespace lathbook::http {
namespace {

using ::testing::HasSubstr;
using ::testing::SizeIs;

TEST(Start, ReadsEveryWord) {
  const auto read = read_start({"--book", "my house.lathbook", "--port", "8080", "--day", "2026-11-25", "--no-open"});
  ASSERT_TRUE(read.ok());
  EXPECT_EQ(read->book, "my house.lathbook");
  EXPECT_EQ(read->port, 8080);
  EXPECT_EQ(read->day, "2026-11-25");
  EXPECT_FALSE(read->open_browser);
}

TEST(Start, TakesAnyPortAndTheClockWhenNothingIsSaid) {
  const auto read = read_start({"--book", "a"});
  ASSERT_TRUE(read.ok());
  EXPECT_EQ(read->port, 0);
  EXPECT_FALSE(read->day.has_value());
  EXPECT_TRUE(read->open_browser);
}

TEST(Start, NamesEveryWordThatDoesNotFit) {
  const auto read = read_start({"--port", "80", "--day", "2026-02-30", "--fast"});
  ASSERT_FALSE(read.ok());
  ASSERT_THAT(read.faults(), SizeIs(4));
  EXPECT_THAT(read.faults()[0].text(), HasSubstr("is not a port"));
  EXPECT_THAT(read.faults()[1].text(), HasSubstr("2026-02-30"));
  EXPECT_THAT(read.faults()[2].text(), HasSubstr("--fast"));
  EXPECT_THAT(read.faults()[3].text(), HasSubstr("--book"));
}

class Ports : public ::testing::TestWithParam<const char*> {};
TEST_P(Ports, AreWholeNumbersFrom1024To65535) { EXPECT_FALSE(read_start({"--book", "a", "--port", GetParam()}).ok()); }
INSTANTIATE_TEST_SUITE_P(, Ports,
                         ::testing::Values("", "-1", "1023", "65536", "80x", "8080.5", "99999999999999999999"));

TEST(Start, NeedsAValueBehindAWord) { EXPECT_FALSE(read_start({"--book", "a", "--port"}).ok()); }

TEST(Start, ABookKeepsItsPortWhateverTheWayItIsNamed) {
  const auto port = usual_port("/somewhere/house.lathbook");
  EXPECT_EQ(usual_port("/somewhere/else/../house.lathbook"), port);
  EXPECT_GE(port, 20000);
  EXPECT_LE(port, 29999);
  EXPECT_NE(usual_port("/somewhere/other.lathbook"), port);
}

}  // namespace
}  // namespace lathbook::http
