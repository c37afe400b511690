#include "phone/certificate.h"

#include <fmt/format.h>
#include <openssl/bio.h>
#include <openssl/ec.h>
#include <openssl/evp.h>
#include <openssl/pem.h>
#include <openssl/rand.h>
#include <openssl/x509.h>
#include <openssl/x509v3.h>

#include <array>
#include <memory>
#include <stdexcept>

#include "phone/folder.h"

namespace lathbook::phone {
namespace {

using reason::Fault;
using reason::FaultKind;
using reason::Result;

template <auto free_it>
struct Free {
  template <class T>
  void operator()(T* one) const {
    free_it(one);
  }
};
using Key = std::unique_ptr<EVP_PKEY, Free<&EVP_PKEY_free>>;
using Certificate = std::unique_ptr<X509, Free<&X509_free>>;
using Bio = std::unique_ptr<BIO, Free<&BIO_free_all>>;

constexpr std::int64_t kDay = 86400;
constexpr std::int64_t kAuthorityDays = 3653;
constexpr std::int64_t kCertificateDays = 397;
constexpr std::int64_t kRenewBeforeDays = 30;

/// OpenSSL fails here only when there is no memory or no randomness.
void must(bool done, const char* what) {
  if (!done) throw std::runtime_error(std::string("OpenSSL cannot ") + what);
}

std::string text_of(const Bio& bio) {
  char* bytes = nullptr;
  const auto length = BIO_get_mem_data(bio.get(), &bytes);
  return {bytes, static_cast<std::size_t>(length)};
}

std::string pem_of(EVP_PKEY* key) {
  const Bio bio(BIO_new(BIO_s_mem()));
  must(PEM_write_bio_PrivateKey(bio.get(), key, nullptr, nullptr, 0, nullptr, nullptr) == 1, "write a key");
  return text_of(bio);
}

std::string pem_of(X509* certificate) {
  const Bio bio(BIO_new(BIO_s_mem()));
  must(PEM_write_bio_X509(bio.get(), certificate) == 1, "write a certificate");
  return text_of(bio);
}

Key key_of(const std::string& pem) {
  const Bio bio(BIO_new_mem_buf(pem.data(), static_cast<int>(pem.size())));
  return Key(PEM_read_bio_PrivateKey(bio.get(), nullptr, nullptr, nullptr));
}

Certificate certificate_of(const std::string& pem) {
  const Bio bio(BIO_new_mem_buf(pem.data(), static_cast<int>(pem.size())));
  return Certificate(PEM_read_bio_X509(bio.get(), nullptr, nullptr, nullptr));
}

std::string fingerprint_of(const X509* certificate) {
  std::array<unsigned char, EVP_MAX_MD_SIZE> digest{};
  unsigned length = 0;
  must(X509_digest(certificate, EVP_sha256(), digest.data(), &length) == 1, "digest a certificate");
  std::string text;
  for (unsigned i = 0; i < length; ++i) text += fmt::format("{}{:02X}", i == 0 ? "" : ":", digest[i]);
  return text;
}

std::string der_of(X509* certificate) {
  unsigned char* bytes = nullptr;
  const int length = i2d_X509(certificate, &bytes);
  must(length > 0, "write a certificate");
  std::string der(reinterpret_cast<const char*>(bytes), static_cast<std::size_t>(length));
  OPENSSL_free(bytes);
  return der;
}

void extend(X509* certificate, X509* by, int what, const std::string& value) {
  X509V3_CTX context;
  X509V3_set_ctx_nodb(&context);
  X509V3_set_ctx(&context, by, certificate, nullptr, nullptr, 0);
  X509_EXTENSION* extension = X509V3_EXT_conf_nid(nullptr, &context, what, value.c_str());
  must(extension != nullptr && X509_add_ext(certificate, extension, -1) == 1, "extend a certificate");
  X509_EXTENSION_free(extension);
}

Certificate blank(const char* name, EVP_PKEY* key, std::int64_t now_s, std::int64_t days) {
  Certificate certificate(X509_new());
  must(certificate != nullptr, "make a certificate");
  auto* raw = certificate.get();
  std::array<unsigned char, 16> serial{};
  must(RAND_bytes(serial.data(), static_cast<int>(serial.size())) == 1, "draw a number");
  serial[0] &= 0x7f;  // a serial number is positive
  const std::unique_ptr<BIGNUM, Free<&BN_free>> number(
      BN_bin2bn(serial.data(), static_cast<int>(serial.size()), nullptr));
  must(BN_to_ASN1_INTEGER(number.get(), X509_get_serialNumber(raw)) != nullptr, "number a certificate");
  X509_set_version(raw, 2);  // X.509 v3
  // A day of grace: the clocks of a phone and a laptop need not agree.
  ASN1_TIME_set(X509_getm_notBefore(raw), static_cast<time_t>(now_s - kDay));
  ASN1_TIME_set(X509_getm_notAfter(raw), static_cast<time_t>(now_s + days * kDay));
  X509_set_pubkey(raw, key);
  must(X509_NAME_add_entry_by_txt(X509_get_subject_name(raw), "CN", MBSTRING_UTF8,
                                  reinterpret_cast<const unsigned char*>(name), -1, -1, 0) == 1,
       "name a certificate");
  return certificate;
}

Certificate make_authority(EVP_PKEY* key, std::int64_t now_s) {
  auto made = blank("Lathbook on this machine (private addresses only)", key, now_s, kAuthorityDays);
  X509_set_issuer_name(made.get(), X509_get_subject_name(made.get()));
  extend(made.get(), made.get(), NID_basic_constraints, "critical,CA:TRUE,pathlen:0");
  extend(made.get(), made.get(), NID_key_usage, "critical,keyCertSign");
  extend(made.get(), made.get(), NID_subject_key_identifier, "hash");
  // Of names only those under one that RFC 2606 keeps from ever being given out: none, then.
  extend(made.get(), made.get(), NID_name_constraints,
         "critical,permitted;DNS:lathbook.invalid,permitted;IP:10.0.0.0/255.0.0.0,permitted;IP:172.16.0.0/255.240.0.0,"
         "permitted;IP:192.168.0.0/255.255.0.0,permitted;IP:169.254.0.0/255.255.0.0,"
         "permitted;IP:fc00:0:0:0:0:0:0:0/fe00:0:0:0:0:0:0:0");
  must(X509_sign(made.get(), key, EVP_sha256()) > 0, "sign a certificate");
  return made;
}

Certificate make_certificate(EVP_PKEY* key, X509* authority, EVP_PKEY* authority_key, const std::string& names,
                             std::int64_t now_s) {
  auto made = blank("Lathbook", key, now_s, kCertificateDays);
  X509_set_issuer_name(made.get(), X509_get_subject_name(authority));
  extend(made.get(), authority, NID_basic_constraints, "critical,CA:FALSE");
  extend(made.get(), authority, NID_key_usage, "critical,digitalSignature");
  extend(made.get(), authority, NID_ext_key_usage, "serverAuth");
  extend(made.get(), authority, NID_subject_key_identifier, "hash");
  extend(made.get(), authority, NID_authority_key_identifier, "keyid:always");
  extend(made.get(), authority, NID_subject_alt_name, names);
  must(X509_sign(made.get(), authority_key, EVP_sha256()) > 0, "sign a certificate");
  return made;
}

/// Still good for these addresses, under this authority and key, and not about to end.
bool serves(X509* certificate, X509* authority, EVP_PKEY* key, const std::vector<std::string>& addresses,
            std::int64_t now_s) {
  auto soon = static_cast<time_t>(now_s + kRenewBeforeDays * kDay);
  auto now = static_cast<time_t>(now_s);
  const std::unique_ptr<EVP_PKEY, Free<&EVP_PKEY_free>> authority_key(X509_get_pubkey(authority));
  if (X509_verify(certificate, authority_key.get()) != 1 || X509_check_private_key(certificate, key) != 1) return false;
  if (X509_cmp_time(X509_get0_notAfter(certificate), &soon) < 0) return false;
  if (X509_cmp_time(X509_get0_notBefore(certificate), &now) > 0) return false;
  for (const auto& address : addresses) {
    if (X509_check_ip_asc(certificate, address.c_str(), 0) != 1) return false;
  }
  return true;
}

Fault not_understood(const std::filesystem::path& file) {
  return {file.string(), "", "is not what it should be", "the file Lathbook wrote, or none: then it makes a new one",
          FaultKind::kFile};
}

/// A key of the folder, made when it is missing.
Result<Key> kept_key(const std::filesystem::path& file, bool& made) {
  const auto pem = read_private(file);
  if (!pem.ok()) return pem.faults();
  made = !*pem;
  if (*pem) {
    auto key = key_of(**pem);
    if (!key) return not_understood(file);
    return key;
  }
  Key key(EVP_EC_gen("P-256"));
  must(key != nullptr, "make a key");
  if (const auto written = write_private(file, pem_of(key.get())); !written.ok()) return written.faults();
  return key;
}

/// A certificate of the folder, as long as `fits`; a new one by `make` otherwise.
template <class Fits, class Make>
Result<Certificate> kept_certificate(const std::filesystem::path& file, const Fits& fits, const Make& make) {
  const auto pem = read_private(file);
  if (!pem.ok()) return pem.faults();
  if (*pem) {
    auto certificate = certificate_of(**pem);
    if (!certificate) return not_understood(file);
    if (fits(certificate.get())) return certificate;
  }
  auto certificate = make();
  if (const auto written = write_private(file, pem_of(certificate.get())); !written.ok()) return written.faults();
  return certificate;
}

}  // namespace

Result<Identity> identity_for(const std::filesystem::path& folder, const std::vector<std::string>& addresses,
                              std::int64_t now_s) {
  if (const auto made = make_private(folder); !made.ok()) return made.faults();
  const auto locked = Locked::hold(folder);
  if (!locked.ok()) return locked.faults();

  bool new_authority = false;
  bool new_key = false;
  const auto authority_key = kept_key(folder / "authority.key", new_authority);
  if (!authority_key.ok()) return authority_key.faults();
  auto now = static_cast<time_t>(now_s);
  const auto authority = kept_certificate(
      folder / "authority.crt",
      [&](X509* one) {
        return !new_authority && X509_check_private_key(one, authority_key->get()) == 1 &&
               X509_cmp_time(X509_get0_notAfter(one), &now) > 0;
      },
      [&] { return make_authority(authority_key->get(), now_s); });
  if (!authority.ok()) return authority.faults();

  const auto key = kept_key(folder / "machine.key", new_key);
  if (!key.ok()) return key.faults();
  std::string names;
  for (const auto& address : addresses) names += (names.empty() ? "IP:" : ",IP:") + address;
  const auto certificate = kept_certificate(
      folder / "machine.crt", [&](X509* one) { return serves(one, authority->get(), key->get(), addresses, now_s); },
      [&] { return make_certificate(key->get(), authority->get(), authority_key->get(), names, now_s); });
  if (!certificate.ok()) return certificate.faults();

  return Identity{pem_of(certificate->get()) + pem_of(authority->get()), pem_of(key->get()), der_of(authority->get()),
                  fingerprint_of(certificate->get()), fingerprint_of(authority->get())};
}

}  // namespace lathbook::phone
