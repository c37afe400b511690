#include "phone/network.h"

#include <gtest/gtest.h>

namespace lathbook::phone {
namespace {

TEST(Network, PrivateIsWhatTheStandardsSaveFromTheInternet) {
  for (const char* one :
       {"10.0.0.1", "10.255.255.255", "172.16.0.1", "172.31.255.1", "192.168.0.7", "169.254.3.4", "fd00::2",
        "fc12:3456::1", "fe80::1%eth0", "fe80::fc:ff:fe00:1", "febf::1", "::ffff:192.168.1.5"})
    EXPECT_TRUE(is_private(one)) << one;
}

TEST(Network, EverythingElseIsNot) {
  for (const char* one : {"9.255.255.255",
                          "11.0.0.1",
                          "172.15.255.255",
                          "172.32.0.0",
                          "192.167.1.1",
                          "192.169.0.1",
                          "169.253.1.1",
                          "8.8.8.8",
                          "127.0.0.1",
                          "0.0.0.0",
                          "100.64.0.1",
                          "192.0.2.2",
                          "::1",
                          "::",
                          "2001:db8::1",
                          "fec0::1",
                          "fe00::1",
                          "ff02::1",
                          "::ffff:8.8.8.8",
                          "",
                          "house",
                          "10.0.0",
                          "10.0.0.1.2",
                          "010.0.0.1",
                          "192.168.1.5:8000"})
    EXPECT_FALSE(is_private(one)) << one;
}

TEST(Network, ThisMachinesAddressesArePrivateOnesABrowserCanOpen) {
  for (const auto& one : private_addresses()) {
    EXPECT_TRUE(is_private(one)) << one;
    EXPECT_FALSE(one.starts_with("fe8")) << one;
  }
  EXPECT_EQ(in_url("192.168.1.5"), "192.168.1.5");
  EXPECT_EQ(in_url("fd00::2"), "[fd00::2]");
}

}  // namespace
}  // namespace lathbook::phone
