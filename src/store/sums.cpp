#include "store/sums.h"

#include <sodium.h>

#include <bit>
#include <cstring>
#include <limits>

#include "store/store.h"

namespace lathbook::store {
namespace {

constexpr unsigned char kKey[crypto_shorthash_KEYBYTES + 1] = "lathbook row sum";
static_assert(crypto_shorthash_BYTES == sizeof(std::int64_t));
static_assert(std::endian::native == std::endian::little, "the form of the sums is little-endian");

constexpr std::uint64_t kAbsent = std::numeric_limits<std::uint64_t>::max();

}  // namespace

void SumOf::length(std::uint64_t value) {
  char raw[sizeof value];
  std::memcpy(raw, &value, sizeof value);
  bytes_.append(raw, sizeof raw);
}

SumOf& SumOf::text(std::string_view value) {
  length(value.size());
  bytes_ += value;
  return *this;
}

SumOf& SumOf::text(const std::optional<std::string>& value) {
  if (value) return text(std::string_view(*value));
  length(kAbsent);
  return *this;
}

SumOf& SumOf::integer(std::int64_t value) {
  length(static_cast<std::uint64_t>(value));
  return *this;
}

SumOf& SumOf::integer(std::optional<std::int64_t> value) {
  if (value) return integer(*value);
  length(kAbsent);
  return *this;
}

std::int64_t SumOf::take() {
  unsigned char raw[crypto_shorthash_BYTES];
  crypto_shorthash(raw, reinterpret_cast<const unsigned char*>(bytes_.data()), bytes_.size(), kKey);
  bytes_.clear();
  std::int64_t sum = 0;
  std::memcpy(&sum, raw, sizeof sum);
  return sum;
}

std::int64_t sum_plus(std::int64_t a, std::int64_t b) {
  return static_cast<std::int64_t>(static_cast<std::uint64_t>(a) + static_cast<std::uint64_t>(b));
}

std::int64_t sum_minus(std::int64_t a, std::int64_t b) {
  return static_cast<std::int64_t>(static_cast<std::uint64_t>(a) - static_cast<std::uint64_t>(b));
}

std::string sha256_hex(std::string_view bytes) {
  unsigned char digest[crypto_hash_sha256_BYTES];
  crypto_hash_sha256(digest, reinterpret_cast<const unsigned char*>(bytes.data()), bytes.size());
  char hex[2 * sizeof digest + 1];
  sodium_bin2hex(hex, sizeof hex, digest, sizeof digest);
  return hex;
}

}  // namespace lathbook::store
