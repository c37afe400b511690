#include "store/look.h"

#include <fmt/core.h>
#include <sys/stat.h>
#include <unistd.h>

#include <algorithm>
#include <array>
#include <cerrno>
#include <chrono>
#include <cstdint>
#include <optional>
#include <string>
#include <string_view>
#include <thread>

#include "store/failure.h"
#include "store/migrate.h"
#include "store/raw_file.h"

namespace lathbook::store {
namespace {

using reason::Done;
using reason::Result;
using namespace std::string_view_literals;

// https://www.sqlite.org/fileformat2.html, section 1.3: integers are big-endian.
constexpr std::size_t kHeaderBytes = 100;
constexpr std::string_view kMagic = "SQLite format 3\0"sv;

std::uint32_t big_endian(std::string_view header, std::size_t at, std::size_t bytes) {
  std::uint32_t value = 0;
  for (std::size_t i = 0; i < bytes; ++i) value = value << 8 | static_cast<unsigned char>(header[at + i]);
  return value;
}

/// What a file is that is no SQLite file, as far as its first bytes tell.
std::string_view kind_of_bytes(std::string_view bytes) {
  struct Known {
    std::string_view head;
    std::string_view name;
  };
  static constexpr std::array<Known, 9> kKnown = {
      {{"\x89PNG"sv, "a PNG picture"},
       {"\xff\xd8\xff"sv, "a JPEG picture"},
       {"GIF8"sv, "a GIF picture"},
       {"%PDF"sv, "a PDF document"},
       {"PK\x03\x04"sv, "a ZIP archive or office document"},
       {"\x1f\x8b"sv, "a gzip archive"},
       {"\x7f"
        "ELF"sv,
        "a program"},
       {"{"sv, "JSON text (a book in the open form is taken in with `lathbook import`)"},
       {"<"sv, "a web page or XML document"}}};
  for (const auto& known : kKnown) {
    if (bytes.starts_with(known.head)) return known.name;
  }
  if (std::ranges::all_of(bytes, [](char c) { return c == '\0'; })) return "blank: nothing but zero bytes";
  const auto printable = [](char c) {
    return static_cast<unsigned char>(c) >= 0x20 || c == '\n' || c == '\r' || c == '\t';
  };
  return std::ranges::all_of(bytes, printable) ? "text" : "of a kind not known here";
}

}  // namespace

bool has_pending(const std::filesystem::path& path) {
  struct stat about {};
  return ::stat((path.string() + "-wal").c_str(), &about) == 0 && about.st_size > 0;
}

reason::Fault newer_fault(const std::filesystem::path& path, int version, int newest_version) {
  return file_fault(
      path, fmt::format("was written by a newer Lathbook (schema {}, this program knows up to {}); update the program",
                        version, newest_version));
}

Result<Done> look_at(const std::filesystem::path& path, int newest_version) {
  struct stat about {};
  if (::stat(path.c_str(), &about) != 0) return system_fault(path, "cannot be opened", errno);
  if (S_ISDIR(about.st_mode)) return file_fault(path, "is a folder, not a book");
  if (!S_ISREG(about.st_mode)) return file_fault(path, "is not an ordinary file, so not a book");
  RawFile file(path);
  const auto unreadable = [&] { return file_fault(path, "cannot be read: the disk reports an error"); };
  if (!file.opened())
    return ::access(path.c_str(), R_OK) == 0 ? unreadable() : system_fault(path, "cannot be opened", errno);
  auto size = file.size();
  if (!size) return unreadable();
  const auto head = file.read(0, std::min(static_cast<std::size_t>(*size), kHeaderBytes));
  if (!head) return unreadable();
  const std::string_view header(*head);
  if (header.empty()) return file_fault(path, "is empty, so not a book");
  if (!header.starts_with(kMagic)) {
    if (kMagic.starts_with(header))
      return file_fault(path, fmt::format("is cut short: {} bytes are left of it", header.size()));
    return file_fault(path, fmt::format("is not a book: it is {}", kind_of_bytes(header)));
  }
  if (header.size() < kHeaderBytes)
    return file_fault(path, fmt::format("is cut short: {} bytes are left of it", header.size()));

  const auto page_bytes = big_endian(header, 16, 2) == 1 ? 65536U : big_endian(header, 16, 2);
  const auto application = big_endian(header, 68, 4);
  if (application != static_cast<std::uint32_t>(kApplicationId)) {
    return file_fault(
        path, fmt::format("is an SQLite file, but not a book: it says it is of application {:#x}, a book says {:#x}",
                          application, kApplicationId));
  }
  if (page_bytes < 512 || (page_bytes & (page_bytes - 1)) != 0)
    return file_fault(path, "is damaged: its header makes no sense");
  if (const auto version = static_cast<int>(big_endian(header, 60, 4)); version > newest_version) {
    return newer_fault(path, version, newest_version);
  }
  const auto pages = big_endian(header, 28, 4);
  // While another program brings its changes home the file may be short for a moment; a file cut short stays so.
  for (int patience = 3; !has_pending(path); --patience) {
    const auto whole = static_cast<std::int64_t>(pages) * page_bytes;
    if (*size >= whole) break;
    if (patience == 0) return file_fault(path, fmt::format("is cut short: it holds {} of {} bytes", *size, whole));
    std::this_thread::sleep_for(std::chrono::milliseconds(2));
    size = file.size();
    if (!size) return unreadable();
  }
  return Done{};
}

}  // namespace lathbook::store
