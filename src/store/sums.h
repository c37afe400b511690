// Checksums of rows: SipHash-2-4 (64 bits) from libsodium over the row's columns, with a key that is public and fixed.
// They tell damage, not forgery. A change of any single row goes unseen with a chance of 2^-64.
//
// Form, also in docs/formats/book-file.md: each column in the order of the table, text and integers alike: text as its
// length in bytes (8 bytes, little-endian) and the bytes; an integer as 8 bytes, little-endian; an absent value as the
// length 2^64 - 1.
#pragma once

#include <concepts>
#include <cstdint>
#include <optional>
#include <string>
#include <string_view>

namespace lathbook::store {

class SumOf {
 public:
  SumOf& text(std::string_view value);
  SumOf& text(const std::optional<std::string>& value);
  SumOf& integer(std::int64_t value);
  SumOf& integer(std::optional<std::int64_t> value);
  /// The sum of what was put in, and empty again for the next row.
  [[nodiscard]] std::int64_t take();

 private:
  void length(std::uint64_t value);
  std::string bytes_;
};

/// a + b and a - b modulo 2^64.
[[nodiscard]] std::int64_t sum_plus(std::int64_t a, std::int64_t b);
[[nodiscard]] std::int64_t sum_minus(std::int64_t a, std::int64_t b);

}  // namespace lathbook::store
