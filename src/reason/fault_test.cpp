#include "reason/fault.h"

#include <gtest/gtest.h>

namespace lathbook::reason {
namespace {

TEST(Fault, TextNamesPlaceValueProblemAndWhatIsAllowed) {
  const Fault fault{"/product", "7", "is too large", "a whole number from 1 to 3"};
  EXPECT_EQ(fault.text(), "/product: 7 is too large; allowed: a whole number from 1 to 3");
}

TEST(Fault, TextLeavesOutWhatIsNotThere) {
  EXPECT_EQ((Fault{"", "", "is empty", ""}).text(), "is empty");
  EXPECT_EQ((Fault{"/a", "", "is missing", ""}).text(), "/a: is missing");
}

TEST(Fault, WithinPutsThePrefixBeforeEveryPlace) {
  const auto faults = within("/rooms/0", {{"/name", "", "is missing", ""}, {"", "3", "is not an object", ""}});
  EXPECT_EQ(faults[0].where, "/rooms/0/name");
  EXPECT_EQ(faults[1].where, "/rooms/0");
}

TEST(Result, HoldsAValueOrFaultsButNeverLetsTheWrongSideBeRead) {
  const Result<int> good = 5;
  EXPECT_TRUE(good.ok());
  EXPECT_EQ(*good, 5);
  EXPECT_THROW((void)good.faults(), std::logic_error);
  const Result<int> bad = Fault{"", "", "no", ""};
  EXPECT_FALSE(bad.ok());
  EXPECT_EQ(bad.faults().size(), 1U);
  EXPECT_THROW((void)bad.value(), std::logic_error);
  EXPECT_THROW(Result<int>(Faults{}), std::logic_error);
}

}  // namespace
}  // namespace lathbook::reason
