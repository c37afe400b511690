#include "store/locked.h"

#include <fmt/core.h>
#include <sodium.h>

#include <array>
#include <cerrno>
#include <cstdio>
#include <memory>
#include <optional>
#include <string>

#include "store/failure.h"
#include "store/files.h"

namespace lathbook::store {
namespace {

using reason::Done;
using reason::Fault;
using reason::FaultKind;
using reason::Result;

constexpr std::string_view kMagic{"LATHBOOK LOCKED\1", 16};
constexpr std::size_t kSaltAt = kMagic.size() + 16;
constexpr std::size_t kStreamAt = kSaltAt + crypto_pwhash_argon2id_SALTBYTES;
constexpr std::size_t kHeaderBytes = kStreamAt + crypto_secretstream_xchacha20poly1305_HEADERBYTES;
constexpr std::size_t kPartBytes = 64U << 10U;
constexpr std::size_t kSealBytes = crypto_secretstream_xchacha20poly1305_ABYTES;
// A file made to deceive must not be able to take the machine's memory, or an hour.
constexpr std::uint64_t kMostMemoryBytes = 2ULL << 30U;
constexpr std::uint64_t kMostPasses = 64;

struct Close {
  void operator()(std::FILE* file) const { std::fclose(file); }
};
using File = std::unique_ptr<std::FILE, Close>;

File opened(const std::filesystem::path& path, const char* mode) { return File(std::fopen(path.c_str(), mode)); }

void put_number(std::string& to, std::uint64_t value) {
  for (int i = 0; i < 8; ++i) to += static_cast<char>(value >> (8 * i) & 0xffU);
}

std::uint64_t number_at(std::string_view bytes, std::size_t at) {
  std::uint64_t value = 0;
  for (std::size_t i = 8; i > 0; --i) value = value << 8U | static_cast<unsigned char>(bytes[at + i - 1]);
  return value;
}

const unsigned char* raw(std::string_view bytes) { return reinterpret_cast<const unsigned char*>(bytes.data()); }
unsigned char* raw(std::string& bytes) { return reinterpret_cast<unsigned char*>(bytes.data()); }

/// Up to `most` bytes; fewer only at the end of the file. Nothing = the disk reports an error.
std::optional<std::string> next(std::FILE* file, std::size_t most) {
  std::string bytes(most, '\0');
  bytes.resize(std::fread(bytes.data(), 1, most, file));
  if (std::ferror(file) != 0) return std::nullopt;
  return bytes;
}

bool at_end(std::FILE* file) {
  const int one = std::fgetc(file);
  if (one != EOF) std::ungetc(one, file);
  return one == EOF;
}

bool put(std::FILE* file, std::string_view bytes) {
  return std::fwrite(bytes.data(), 1, bytes.size(), file) == bytes.size();
}

/// A key, gone from memory when it is no longer needed.
class Key {
 public:
  Key() = default;
  Key(const Key&) = delete;
  Key& operator=(const Key&) = delete;
  ~Key() { sodium_memzero(bytes_.data(), bytes_.size()); }
  /// False when memory ran out.
  [[nodiscard]] bool make(std::string_view passphrase, std::string_view header) {
    return crypto_pwhash_argon2id(bytes_.data(), bytes_.size(), passphrase.data(), passphrase.size(),
                                  raw(header.substr(kSaltAt)), number_at(header, kMagic.size()),
                                  number_at(header, kMagic.size() + 8), crypto_pwhash_argon2id_ALG_ARGON2ID13) == 0;
  }
  [[nodiscard]] const unsigned char* data() const { return bytes_.data(); }

 private:
  std::array<unsigned char, crypto_secretstream_xchacha20poly1305_KEYBYTES> bytes_{};
};

Fault cannot_read(const std::filesystem::path& path, int error) { return system_fault(path, "cannot be read", error); }
Fault cannot_write(const std::filesystem::path& path, int error) {
  return system_fault(path, "cannot be written", error);
}
Fault no_memory(const std::filesystem::path& path, std::uint64_t bytes) {
  return file_fault(
      path, fmt::format("needs {} MiB of memory for a moment to try a passphrase, which there are not", bytes >> 20U));
}

Result<Done> write_locked(std::FILE* in, std::FILE* out, std::string_view passphrase, const Effort& effort,
                          const std::filesystem::path& plain, const std::filesystem::path& locked) {
  std::string header(kMagic);
  put_number(header, effort.passes);
  put_number(header, effort.memory_bytes);
  header.resize(kHeaderBytes);
  randombytes_buf(raw(header) + kSaltAt, crypto_pwhash_argon2id_SALTBYTES);
  Key key;
  if (!key.make(passphrase, header)) return no_memory(locked, effort.memory_bytes);
  crypto_secretstream_xchacha20poly1305_state state;
  crypto_secretstream_xchacha20poly1305_init_push(&state, raw(header) + kStreamAt, key.data());
  if (!put(out, header)) return cannot_write(locked, errno);
  // The header is vouched for by every part, so that not even what it costs to try a passphrase can be changed.
  for (bool last = false; !last;) {
    const auto part = next(in, kPartBytes);
    if (!part) return cannot_read(plain, errno);
    last = at_end(in);
    std::string sealed(part->size() + kSealBytes, '\0');
    crypto_secretstream_xchacha20poly1305_push(
        &state, raw(sealed), nullptr, raw(*part), part->size(), raw(header), header.size(),
        last ? crypto_secretstream_xchacha20poly1305_TAG_FINAL : crypto_secretstream_xchacha20poly1305_TAG_MESSAGE);
    if (!put(out, sealed)) return cannot_write(locked, errno);
  }
  if (std::fflush(out) != 0) return cannot_write(locked, errno);
  return Done{};
}

/// Opens every part and hands it to `take`, which answers whether it could be taken.
template <class Take>
Result<Done> read_locked(const std::filesystem::path& locked, std::string_view passphrase, const Take& take) {
  const auto in = opened(locked, "rb");
  if (!in) return system_fault(locked, "cannot be opened", errno);
  const auto header = next(in.get(), kHeaderBytes);
  if (!header) return cannot_read(locked, errno);
  if (!std::string_view(*header).starts_with(kMagic)) return file_fault(locked, "is not a locked copy of a book");
  if (header->size() < kHeaderBytes) return file_fault(locked, "is cut short");
  const auto passes = number_at(*header, kMagic.size());
  const auto memory = number_at(*header, kMagic.size() + 8);
  if (passes < crypto_pwhash_argon2id_OPSLIMIT_MIN || passes > kMostPasses ||
      memory < crypto_pwhash_argon2id_MEMLIMIT_MIN || memory > kMostMemoryBytes)
    return file_fault(locked, "is damaged: what its passphrase costs to try makes no sense");
  Key key;
  if (!key.make(passphrase, *header)) return no_memory(locked, memory);
  crypto_secretstream_xchacha20poly1305_state state;
  if (crypto_secretstream_xchacha20poly1305_init_pull(&state, raw(*header) + kStreamAt, key.data()) != 0)
    return file_fault(locked, "is damaged: its beginning makes no sense");
  for (bool first = true;; first = false) {
    const auto sealed = next(in.get(), kPartBytes + kSealBytes);
    if (!sealed) return cannot_read(locked, errno);
    if (sealed->size() < kSealBytes) return file_fault(locked, "is cut short");
    std::string part(sealed->size() - kSealBytes, '\0');
    unsigned char tag = 0;
    if (crypto_secretstream_xchacha20poly1305_pull(&state, raw(part), nullptr, &tag, raw(*sealed), sealed->size(),
                                                   raw(*header), header->size()) != 0) {
      if (first) {
        return Fault{locked.string(), "", "does not open: the passphrase is not the one, or the file is damaged",
                     "the passphrase it was made with"};
      }
      return file_fault(locked, "is damaged or cut short: a part of it is not as it was written");
    }
    if (auto taken = take(part); !taken.ok()) return taken;
    const bool last = tag == crypto_secretstream_xchacha20poly1305_TAG_FINAL;
    if (last != at_end(in.get())) {
      return file_fault(locked, last ? "is damaged: there is more in it than was written" : "is cut short");
    }
    if (last) return Done{};
  }
}

/// The copy opens again and is the same, byte for byte.
Result<Done> compare(const std::filesystem::path& locked, const std::filesystem::path& plain,
                     std::string_view passphrase) {
  const auto in = opened(plain, "rb");
  if (!in) return cannot_read(plain, errno);
  const auto differs = [&] { return file_fault(locked, "does not read back as it was written"); };
  auto read = read_locked(locked, passphrase, [&](const std::string& part) -> Result<Done> {
    const auto same = next(in.get(), part.size());
    if (!same || *same != part) return differs();
    return Done{};
  });
  if (read.ok() && !at_end(in.get())) return differs();
  return read;
}

}  // namespace

bool is_locked(const std::filesystem::path& path) {
  const auto in = opened(path, "rb");
  const auto head = in ? next(in.get(), kMagic.size()) : std::nullopt;
  return head && *head == kMagic;
}

Result<Done> lock_file(const std::filesystem::path& plain, const std::filesystem::path& locked,
                       std::string_view passphrase, bool replace, const Effort& effort) {
  if (sodium_init() < 0) return file_fault(locked, "cannot be made: the operating system gives no random numbers");
  if (passphrase.size() < kShortestPassphrase) {
    return Fault{"passphrase", "", "is too short",
                 fmt::format("at least {} characters; several words are better", kShortestPassphrase)};
  }
  auto draft = Draft::beside(locked, replace);
  if (!draft.ok()) return draft.faults();
  {
    const auto in = opened(plain, "rb");
    if (!in) return cannot_read(plain, errno);
    const auto out = opened(draft->path(), "wbx");
    if (!out) return cannot_write(locked, errno);
    if (auto written = write_locked(in.get(), out.get(), passphrase, effort, plain, locked); !written.ok())
      return written;
  }
  if (auto same = compare(draft->path(), plain, passphrase); !same.ok()) {
    return file_fault(locked,
                      fmt::format("was not made, because it does not read back: {}", same.faults().front().problem));
  }
  return draft->place();
}

Result<Done> unlock_file(const std::filesystem::path& locked, const std::filesystem::path& plain,
                         std::string_view passphrase) {
  if (sodium_init() < 0) return file_fault(locked, "cannot be opened: the operating system gives no random numbers");
  auto out = opened(plain, "wbx");
  if (!out) return cannot_write(plain, errno);
  auto read = read_locked(locked, passphrase, [&](const std::string& part) -> Result<Done> {
    if (!put(out.get(), part)) return cannot_write(plain, errno);
    return Done{};
  });
  if (read.ok() && std::fflush(out.get()) != 0) read = cannot_write(plain, errno);
  if (!read.ok()) {
    out.reset();
    std::error_code ignored;
    std::filesystem::remove(plain, ignored);
  }
  return read;
}

}  // namespace lathbook::store
