#include "phone/certificate.h"

#include <gmock/gmock.h>
#include <gtest/gtest.h>
#include <openssl/bio.h>
#include <openssl/pem.h>
#include <openssl/x509.h>
#include <openssl/x509v3.h>
#include <sys/stat.h>
#include <unistd.h>

#include <fstream>

#include "phone/folder.h"

namespace lathbook::phone {
namespace {

using ::testing::HasSubstr;
using ::testing::MatchesRegex;

constexpr std::int64_t kNow = 1'795'600'000;  // in November 2026
constexpr std::int64_t kDay = 86400;

X509* first_of(const std::string& pem) {
  BIO* bio = BIO_new_mem_buf(pem.data(), static_cast<int>(pem.size()));
  X509* one = PEM_read_bio_X509(bio, nullptr, nullptr, nullptr);
  BIO_free(bio);
  return one;
}

/// What OpenSSL's own verification says of the first certificate of a chain, the authority being trusted.
int verified(const Identity& identity, const std::string& leaf_pem, const std::string& address) {
  const auto* der = reinterpret_cast<const unsigned char*>(identity.authority_der.data());
  X509* authority = d2i_X509(nullptr, &der, static_cast<long>(identity.authority_der.size()));
  X509* leaf = first_of(leaf_pem);
  X509_STORE* store = X509_STORE_new();
  X509_STORE_add_cert(store, authority);
  X509_STORE_CTX* context = X509_STORE_CTX_new();
  X509_STORE_CTX_init(context, store, leaf, nullptr);
  X509_VERIFY_PARAM* wanted = X509_STORE_CTX_get0_param(context);
  X509_VERIFY_PARAM_set1_ip_asc(wanted, address.c_str());
  X509_VERIFY_PARAM_set_time(wanted, kNow);
  X509_STORE_CTX_set_purpose(context, X509_PURPOSE_SSL_SERVER);
  X509_verify_cert(context);
  const int error = X509_STORE_CTX_get_error(context);
  X509_STORE_CTX_free(context);
  X509_STORE_free(store);
  X509_free(leaf);
  X509_free(authority);
  return error;
}

class CertificateTest : public ::testing::Test {
 protected:
  CertificateTest() {
    folder_ = std::filesystem::temp_directory_path() / ("lathbook-certificate-" + std::to_string(::getpid()));
    std::filesystem::remove_all(folder_);
  }
  ~CertificateTest() override { std::filesystem::remove_all(folder_); }
  [[nodiscard]] Identity made(const std::vector<std::string>& addresses, std::int64_t now = kNow) const {
    auto identity = identity_for(folder_, addresses, now);
    if (!identity.ok()) throw std::runtime_error(identity.faults().front().text());
    return std::move(identity).value();
  }
  std::filesystem::path folder_;
};

TEST_F(CertificateTest, HoldsForItsAddressesUnderItsAuthority) {
  const auto identity = made({"192.168.1.5", "fd00::2"});
  EXPECT_EQ(verified(identity, identity.chain_pem, "192.168.1.5"), X509_V_OK);
  EXPECT_EQ(verified(identity, identity.chain_pem, "fd00::2"), X509_V_OK);
  EXPECT_EQ(verified(identity, identity.chain_pem, "192.168.1.6"), X509_V_ERR_IP_ADDRESS_MISMATCH);
  EXPECT_THAT(identity.fingerprint, MatchesRegex("([0-9A-F][0-9A-F]:){31}[0-9A-F][0-9A-F]"));
}

// The authority's key stolen, it still cannot stand for anything on the internet.
TEST_F(CertificateTest, TheAuthorityCannotVouchForAPublicAddress) {
  const auto identity = made({"8.8.8.8"});
  EXPECT_EQ(verified(identity, identity.chain_pem, "8.8.8.8"), X509_V_ERR_PERMITTED_VIOLATION);
}

TEST_F(CertificateTest, IsMadeOnceAndKeptForItsOwnerAlone) {
  const auto first = made({"192.168.1.5"});
  const auto again = made({"192.168.1.5"}, kNow + 300 * kDay);
  EXPECT_EQ(again.fingerprint, first.fingerprint);
  EXPECT_EQ(again.key_pem, first.key_pem);
  for (const auto& file : std::filesystem::directory_iterator(folder_)) {
    struct stat about {};
    ASSERT_EQ(::stat(file.path().c_str(), &about), 0);
    EXPECT_EQ(about.st_mode & 0777U, 0600U) << file.path();
  }
}

TEST_F(CertificateTest, IsMadeAnewUnderTheSameAuthorityAndKeyWhenItMust) {
  const auto first = made({"192.168.1.5"});
  const auto moved = made({"10.0.0.9"});
  EXPECT_NE(moved.fingerprint, first.fingerprint);
  EXPECT_EQ(moved.authority_fingerprint, first.authority_fingerprint);
  EXPECT_EQ(moved.key_pem, first.key_pem);
  EXPECT_EQ(verified(moved, moved.chain_pem, "10.0.0.9"), X509_V_OK);
  const auto old = made({"10.0.0.9"}, kNow + 370 * kDay);  // 27 days before its end
  EXPECT_NE(old.fingerprint, moved.fingerprint);
  EXPECT_EQ(old.authority_fingerprint, first.authority_fingerprint);
}

TEST_F(CertificateTest, AKeyThatOthersMayReadOrThatIsNoneIsRefused) {
  (void)made({"192.168.1.5"});
  ::chmod((folder_ / "machine.key").c_str(), 0640);
  EXPECT_THAT(identity_for(folder_, {"192.168.1.5"}, kNow).faults().front().problem, HasSubstr("by others"));
  ASSERT_TRUE(write_private(folder_ / "machine.key", "no key").ok());
  EXPECT_THAT(identity_for(folder_, {"192.168.1.5"}, kNow).faults().front().problem,
              HasSubstr("not what it should be"));
  std::ifstream in(folder_ / "machine.key");
  EXPECT_EQ(std::string(std::istreambuf_iterator<char>(in), {}), "no key");
}

}  // namespace
}  // namespace lathbook::phone
