#include "store/files.h"

#include <fcntl.h>
#include <fmt/core.h>
#include <sodium.h>
#include <stdio.h>
#include <unistd.h>

#include <cerrno>
#include <system_error>
#include <utility>

#include "store/failure.h"

namespace lathbook::store {
namespace {

using reason::Done;
using reason::FaultKind;
using reason::Result;

std::filesystem::path folder_of(const std::filesystem::path& path) {
  const auto folder = path.parent_path();
  return folder.empty() ? std::filesystem::path(".") : folder;
}

/// Has the disk keep the bytes of a file, or the names in a folder (a name is data of the folder).
int keep(const std::filesystem::path& path) {
  const int handle = ::open(path.c_str(), O_RDONLY | O_CLOEXEC);
  if (handle < 0) return errno;
  const int error = ::fsync(handle) == 0 ? 0 : errno;
  ::close(handle);
  return error;
}

/// rename() that fails with EEXIST instead of replacing. File systems without it get a plain look first.
int rename_new(const std::filesystem::path& from, const std::filesystem::path& to) {
  if (::renameat2(AT_FDCWD, from.c_str(), AT_FDCWD, to.c_str(), RENAME_NOREPLACE) == 0) return 0;
  if (errno != EINVAL && errno != ENOSYS) return errno;
  if (::access(to.c_str(), F_OK) == 0) return EEXIST;
  return ::rename(from.c_str(), to.c_str()) == 0 ? 0 : errno;
}

/// SQLite removes them itself when it closes a file, unless the disk fails just then. By then they hold nothing.
void remove_side_files(const std::filesystem::path& path) {
  std::error_code ignored;
  for (const char* tail : {"-wal", "-shm", "-journal"}) std::filesystem::remove(path.string() + tail, ignored);
}

}  // namespace

Draft::Draft(std::filesystem::path path, std::filesystem::path target, bool replace)
    : path_(std::move(path)), target_(std::move(target)), replace_(replace) {}

Draft::Draft(Draft&& other) noexcept
    : path_(std::exchange(other.path_, {})), target_(std::move(other.target_)), replace_(other.replace_) {}

Draft::~Draft() {
  if (path_.empty()) return;
  std::error_code ignored;  // a file that was never made, or a disk that is gone: nothing more to do here
  std::filesystem::remove(path_, ignored);
  remove_side_files(path_);
}

Result<Draft> Draft::beside(const std::filesystem::path& target, bool replace) {
  std::error_code error;
  const auto folder = folder_of(target);
  if (target.filename().empty() || std::filesystem::is_directory(target, error)) {
    return file_fault(target, "is a folder, not the name of a file");
  }
  if (!std::filesystem::is_directory(folder, error)) {
    return file_fault(target, fmt::format("cannot be made: there is no folder {}", folder.string()),
                      FaultKind::kMissing);
  }
  if (!replace && std::filesystem::exists(std::filesystem::symlink_status(target, error))) {
    return system_fault(target, "cannot be made", EEXIST);
  }
  const auto name = fmt::format(".{}.{:08x}.new", target.filename().string(), randombytes_random());
  return Draft(folder / name, target, replace);
}

Result<Done> Draft::place() {
  if (const int error = keep(path_); error != 0) return system_fault(target_, "cannot be made", error);
  const int error = replace_ ? (::rename(path_.c_str(), target_.c_str()) == 0 ? 0 : errno) : rename_new(path_, target_);
  if (error != 0) return system_fault(target_, "cannot be made", error);
  remove_side_files(path_);
  path_.clear();
  if (const int unsure = keep(folder_of(target_)); unsure != 0) {
    return system_fault(target_, "was made, but the disk does not confirm it", unsure);
  }
  return Done{};
}

}  // namespace lathbook::store
