#include "store/raw_file.h"

namespace lathbook::store {

RawFile::RawFile(const std::filesystem::path& path, Lock lock)
    : system_(sqlite3_vfs_find(nullptr)), name_(sqlite3_create_filename(path.c_str(), "", "", 0, nullptr)) {
  const auto size = static_cast<std::size_t>(system_->szOsFile);
  bytes_ = std::make_unique<std::max_align_t[]>(size / sizeof(std::max_align_t) + 1);
  file_ = reinterpret_cast<sqlite3_file*>(bytes_.get());
  file_->pMethods = nullptr;
  if (lock == Lock::kNone) {
    opened_ = open(SQLITE_OPEN_READONLY);
    return;
  }
  // A lock that keeps others out needs a file opened for writing, which a book on a read-only disk cannot be.
  const bool writable = open(SQLITE_OPEN_READWRITE);
  opened_ = writable || open(SQLITE_OPEN_READONLY);
  if (!opened_) return;
  for (const int level : {SQLITE_LOCK_SHARED, SQLITE_LOCK_RESERVED, SQLITE_LOCK_EXCLUSIVE}) {
    if (!writable && level != SQLITE_LOCK_SHARED) break;
    busy_ = busy_ || file_->pMethods->xLock(file_, level) == SQLITE_BUSY;
  }
}

RawFile::~RawFile() {
  if (file_->pMethods != nullptr) {
    file_->pMethods->xUnlock(file_, SQLITE_LOCK_NONE);
    file_->pMethods->xClose(file_);
  }
  sqlite3_free_filename(name_);
}

bool RawFile::open(int flags) {
  int as_opened = 0;
  const bool done = system_->xOpen(system_, name_, file_, flags | SQLITE_OPEN_MAIN_DB, &as_opened) == SQLITE_OK;
  // SQLite's layer opens for reading what it cannot open for writing, and says so.
  if (done && (flags & SQLITE_OPEN_READWRITE) != 0 && (as_opened & SQLITE_OPEN_READWRITE) == 0) {
    file_->pMethods->xClose(file_);
    file_->pMethods = nullptr;
    return false;
  }
  return done;
}

std::optional<std::int64_t> RawFile::size() {
  sqlite3_int64 size = 0;
  if (file_->pMethods->xFileSize(file_, &size) != SQLITE_OK) return std::nullopt;
  return size;
}

std::optional<std::string> RawFile::read(std::int64_t offset, std::size_t count) {
  std::string bytes(count, '\0');
  if (file_->pMethods->xRead(file_, bytes.data(), static_cast<int>(count), offset) != SQLITE_OK) return std::nullopt;
  return bytes;
}

}  // namespace lathbook::store
