#include "phone/folder.h"

#include <fcntl.h>
#include <fmt/format.h>
#include <sys/file.h>
#include <sys/stat.h>
#include <unistd.h>

#include <array>
#include <cerrno>
#include <cstdlib>
#include <cstring>
#include <system_error>

namespace lathbook::phone {
namespace {

using reason::Done;
using reason::Fault;
using reason::FaultKind;
using reason::Result;

Fault told(const std::filesystem::path& path, std::string_view what, int error) {
  return {path.string(), "", fmt::format("{}: {}", what, std::generic_category().message(error)), "", FaultKind::kFile};
}

/// Whether others than the owner may do anything with it.
bool is_open_to_others(const struct stat& about) { return (about.st_mode & 077U) != 0 || about.st_uid != geteuid(); }

Fault open_to_others(const std::filesystem::path& path) {
  return {path.string(), "", "may be read or changed by others", "your own, for nobody else (chmod go= on it)",
          FaultKind::kFile};
}

class File {
 public:
  explicit File(int number) : number_(number) {}
  ~File() {
    if (number_ >= 0) ::close(number_);
  }
  File(const File&) = delete;
  File& operator=(const File&) = delete;
  [[nodiscard]] int number() const { return number_; }

 private:
  int number_;
};

}  // namespace

Result<std::filesystem::path> usual_folder() {
  // NOLINTBEGIN(concurrency-mt-unsafe): nothing in this program sets a variable
  const char* config = std::getenv("XDG_CONFIG_HOME");
  if (config != nullptr && *config == '/') return std::filesystem::path(config) / "lathbook" / "phone";
  const char* home = std::getenv("HOME");
  // NOLINTEND(concurrency-mt-unsafe)
  if (home != nullptr && *home == '/') return std::filesystem::path(home) / ".config" / "lathbook" / "phone";
  return Fault{"HOME", "", "is not set, so there is no place for the key of this machine",
               "a home folder, or XDG_CONFIG_HOME", FaultKind::kFile};
}

Result<Done> make_private(const std::filesystem::path& folder) {
  std::error_code error;
  std::filesystem::create_directories(folder.parent_path(), error);
  if (::mkdir(folder.c_str(), 0700) != 0 && errno != EEXIST) return told(folder, "cannot be made", errno);
  struct stat about {};
  if (::stat(folder.c_str(), &about) != 0) return told(folder, "cannot be looked at", errno);
  if (is_open_to_others(about)) return open_to_others(folder);
  return Done{};
}

Result<std::optional<std::string>> read_private(const std::filesystem::path& path) {
  const File file(::open(path.c_str(), O_RDONLY | O_CLOEXEC | O_NOFOLLOW));
  if (file.number() < 0) {
    if (errno == ENOENT) return std::optional<std::string>();
    return told(path, "cannot be read", errno);
  }
  struct stat about {};
  if (::fstat(file.number(), &about) != 0) return told(path, "cannot be looked at", errno);
  if (is_open_to_others(about)) return open_to_others(path);
  std::string bytes;
  std::array<char, 4096> part{};
  for (;;) {
    const auto count = ::read(file.number(), part.data(), part.size());
    if (count < 0) return told(path, "cannot be read", errno);
    if (count == 0) return std::optional(std::move(bytes));
    bytes.append(part.data(), static_cast<std::size_t>(count));
  }
}

Result<Done> write_private(const std::filesystem::path& path, std::string_view bytes) {
  const auto draft = path.parent_path() / ("." + path.filename().string() + ".new");
  {
    const File file(::open(draft.c_str(), O_WRONLY | O_CREAT | O_TRUNC | O_CLOEXEC | O_NOFOLLOW, 0600));
    if (file.number() < 0) return told(path, "cannot be written", errno);
    if (::fchmod(file.number(), 0600) != 0) return told(path, "cannot be kept from others", errno);
    while (!bytes.empty()) {
      const auto count = ::write(file.number(), bytes.data(), bytes.size());
      if (count < 0) return told(path, "cannot be written", errno);
      bytes.remove_prefix(static_cast<std::size_t>(count));
    }
    if (::fsync(file.number()) != 0) return told(path, "cannot be written", errno);
  }
  if (::rename(draft.c_str(), path.c_str()) != 0) return told(path, "cannot be written", errno);
  return Done{};
}

Result<Locked> Locked::hold(const std::filesystem::path& folder) {
  const int file = ::open(folder.c_str(), O_RDONLY | O_DIRECTORY | O_CLOEXEC);
  if (file < 0) return told(folder, "cannot be opened", errno);
  if (::flock(file, LOCK_EX) != 0) {
    const int error = errno;
    ::close(file);
    return told(folder, "cannot be locked", error);
  }
  return Locked(file);
}

Locked::~Locked() {
  if (file_ >= 0) ::close(file_);
}

}  // namespace lathbook::phone
