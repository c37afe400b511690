#include "store/failure.h"

#include <fmt/core.h>
#include <sqlite3.h>

#include <cerrno>
#include <system_error>

namespace lathbook::store {

using reason::Fault;
using reason::FaultKind;

Fault file_fault(const std::filesystem::path& path, std::string problem, FaultKind kind) {
  return {.where = path.string(), .value = "", .problem = std::move(problem), .allowed = "", .kind = kind};
}

Fault system_fault(const std::filesystem::path& path, std::string_view doing, int error_number) {
  switch (error_number) {
    case ENOENT:
      return file_fault(path, fmt::format("{}: there is no such file or folder", doing), FaultKind::kMissing);
    case EEXIST:
      return file_fault(path, fmt::format("{}: a file of that name is already there", doing), FaultKind::kConflict);
    case EACCES:
    case EPERM:
      return file_fault(path, fmt::format("{}: its owner or the folder does not allow it", doing));
    case EROFS:
      return file_fault(path, fmt::format("{}: it lies on a disk that can only be read", doing));
    case ENOSPC:
    case EDQUOT:
      return file_fault(path, fmt::format("{}: the disk is full", doing));
    default:
      return file_fault(path, fmt::format("{}: {}", doing, std::system_category().message(error_number)));
  }
}

Fault sqlite_fault(const std::filesystem::path& path, const SQLite::Exception& error) {
  switch (error.getErrorCode() & 0xff) {
    case SQLITE_BUSY:
    case SQLITE_LOCKED:
      return file_fault(path, "is being written by another program just now; nothing was written, try again",
                        FaultKind::kConflict);
    case SQLITE_FULL:
      return file_fault(path, "cannot be written: the disk is full; the book is as it was");
    case SQLITE_READONLY:
    case SQLITE_PERM:
      return file_fault(path, "cannot be written: the file or its folder is read-only");
    case SQLITE_CANTOPEN:
      return file_fault(path, "cannot be opened: the file or its folder does not allow it");
    case SQLITE_IOERR:
      if (error.getExtendedErrorCode() == SQLITE_IOERR_NOMEM) return file_fault(path, "cannot be read: memory ran out");
      return file_fault(path, fmt::format("cannot be read or written: the disk reports an error ({})", error.what()));
    case SQLITE_CORRUPT:
    case SQLITE_NOTADB:
      return file_fault(path, fmt::format("is damaged ({})", error.what()));
    default:
      return file_fault(path, fmt::format("cannot be used ({})", error.what()));
  }
}

}  // namespace lathbook::store
