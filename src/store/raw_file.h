// A file read byte by byte through SQLite's own layer.
//
// Opening and closing it past SQLite would drop the locks that this process holds on it through Stores: POSIX gives
// them up when any handle of the process is closed.
#pragma once

#include <sqlite3.h>

#include <cstddef>
#include <cstdint>
#include <filesystem>
#include <memory>
#include <optional>
#include <string>

namespace lathbook::store {

class RawFile {
 public:
  enum class Lock {
    kNone,
    kAlone,  ///< nobody else may have the file open as a book meanwhile; where it cannot be written, only as far as
             ///< that goes
  };

  explicit RawFile(const std::filesystem::path& path, Lock lock = Lock::kNone);
  RawFile(const RawFile&) = delete;
  RawFile& operator=(const RawFile&) = delete;
  ~RawFile();

  [[nodiscard]] bool opened() const { return opened_; }
  /// Another program has the file open; only ever with Lock::kAlone.
  [[nodiscard]] bool busy() const { return busy_; }
  /// Nothing when the disk reports an error.
  [[nodiscard]] std::optional<std::int64_t> size();
  /// `count` bytes from `offset`, all of which must be there and readable.
  [[nodiscard]] std::optional<std::string> read(std::int64_t offset, std::size_t count);

 private:
  bool open(int flags);
  sqlite3_vfs* system_;
  const char* name_;
  std::unique_ptr<std::max_align_t[]> bytes_;
  sqlite3_file* file_ = nullptr;
  bool opened_ = false;
  bool busy_ = false;
};

}  // namespace lathbook::store
