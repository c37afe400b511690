// Copies of a book that open only with a passphrase: docs/formats/locked-copy.md.
//
// libsodium's secretstream (XChaCha20-Poly1305) under a key that Argon2id makes of the passphrase. Every part of the
// file is vouched for, its header too: a wrong passphrase, an altered, reordered or shortened file are told, and
// nothing of what it held is left behind. What it does not hide is the length of the book, to 64 KiB.
#pragma once

#include <cstdint>
#include <filesystem>
#include <string_view>

#include "reason/fault.h"

namespace lathbook::store {

/// What it costs to try one passphrase. Kept in the file, so that a later program may ask for more.
struct Effort {
  std::uint64_t passes = 3;
  std::uint64_t memory_bytes = 256U << 20U;
};

/// The fewest bytes of a passphrase.
inline constexpr std::size_t kShortestPassphrase = 8;

/// Whether the file says that it is a locked copy. Only reads.
[[nodiscard]] bool is_locked(const std::filesystem::path& path);

/// Writes the bytes of `plain` to `locked`, which takes its name when all is written, on the disk and read back.
[[nodiscard]] reason::Result<reason::Done> lock_file(const std::filesystem::path& plain,
                                                     const std::filesystem::path& locked, std::string_view passphrase,
                                                     bool replace, const Effort& effort = {});

/// The other way round, into a new file `plain`, to be given its name by the caller when all is well. Faults: the
/// passphrase is not the one, or the file is damaged (kValue, since the two cannot be told apart before the first part
/// has opened); damaged, cut short or more than it should be (kFile); no locked copy (kFile).
[[nodiscard]] reason::Result<reason::Done> unlock_file(const std::filesystem::path& locked,
                                                       const std::filesystem::path& plain, std::string_view passphrase);

}  // namespace lathbook::store
