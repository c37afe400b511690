// A disk that fails, for tests: stands between SQLite and the real one (a VFS shim).
//
// It counts the operations that change something on the disk (write, truncate, sync, delete, making a file or the
// shared index) and can fail the n-th of them, once or from then on; or lose power there: everything after fails, and
// what was written but not yet synced is kept, lost or torn at random, as a real disk may do.
#pragma once

#include <sqlite3.h>

#include <cstring>
#include <fstream>
#include <map>
#include <random>
#include <string>
#include <vector>

namespace lathbook::store::testing {

class Disk {
 public:
  enum class Failure { kFull, kError, kPower };

  /// Becomes SQLite's default way to files until it is gone.
  Disk() : real_(sqlite3_vfs_find(nullptr)), vfs_(*real_) {
    vfs_.zName = "failing";
    vfs_.szOsFile = static_cast<int>(sizeof(File)) + real_->szOsFile;
    vfs_.pAppData = this;
    vfs_.xOpen = open;
    vfs_.xDelete = remove;
    sqlite3_vfs_register(&vfs_, 1);
  }
  Disk(const Disk&) = delete;
  Disk& operator=(const Disk&) = delete;
  ~Disk() {
    sqlite3_vfs_register(real_, 1);
    sqlite3_vfs_unregister(&vfs_);
  }

  /// From now on counts anew and lets operation `at` (0 = the next) fail; `forever` = and all after it.
  void fail(int at, Failure failure, bool forever) {
    count_ = 0;
    at_ = at;
    failure_ = failure;
    forever_ = forever || failure == Failure::kPower;
    images_.clear();
  }
  [[nodiscard]] int operations() const { return count_; }
  [[nodiscard]] bool reached() const { return count_ > at_; }

  /// After a loss of power: writes what the disk kept into the files, drawing from `seed`.
  void settle(std::uint64_t seed) {
    std::mt19937_64 random(seed);
    for (auto& [name, image] : images_) {
      if (image.deleted && random() % 2 == 0) {
        std::remove(name.c_str());
        continue;
      }
      std::string bytes = image.durable;
      for (const auto& change : image.pending) {
        switch (random() % 4) {
          case 0:
            break;
          case 1:  // torn at a sector
            change.apply(bytes, change.bytes.size() / 1024 * 512);
            break;
          default:
            change.apply(bytes, change.bytes.size());
        }
      }
      std::ofstream(name, std::ios::binary | std::ios::trunc)
          .write(bytes.data(), static_cast<std::streamsize>(bytes.size()));
    }
    images_.clear();
    at_ = -1;
    forever_ = false;
  }

 private:
  struct File {
    sqlite3_file base;
    Disk* disk;
    std::string* name;
    [[nodiscard]] sqlite3_file* real() { return reinterpret_cast<sqlite3_file*>(this + 1); }
  };

  struct Pending {
    std::size_t offset = 0;
    std::string bytes;
    bool truncate = false;
    void apply(std::string& to, std::size_t count) const {
      if (truncate) {
        to.resize(offset);
        return;
      }
      if (count == 0) return;
      if (to.size() < offset + count) to.resize(offset + count);
      to.replace(offset, count, bytes, 0, count);
    }
  };

  struct Image {
    std::string durable;
    std::vector<Pending> pending;
    bool deleted = false;
  };

  static Disk& of(sqlite3_vfs* vfs) { return *static_cast<Disk*>(vfs->pAppData); }
  static File& of(sqlite3_file* file) { return *reinterpret_cast<File*>(file); }

  /// Counts one operation; whether it is to fail.
  bool strikes() {
    if (at_ < 0) return false;
    const int number = count_++;
    return number == at_ || (forever_ && number > at_);
  }
  [[nodiscard]] bool dead() const { return failure_ == Failure::kPower && at_ >= 0 && count_ > at_; }
  [[nodiscard]] bool recording() const { return failure_ == Failure::kPower && at_ >= 0 && !dead(); }

  Image& image(const std::string& name) {
    const auto [found, fresh] = images_.try_emplace(name);
    if (fresh) {
      std::ifstream in(name, std::ios::binary);
      found->second.durable.assign(std::istreambuf_iterator<char>(in), {});
    }
    return found->second;
  }

  static int open(sqlite3_vfs* vfs, const char* name, sqlite3_file* file, int flags, int* out) {
    auto& disk = of(vfs);
    auto& mine = of(file);
    mine.base.pMethods = nullptr;
    const bool makes = (flags & SQLITE_OPEN_CREATE) != 0 && name != nullptr;
    if (makes && disk.strikes()) return SQLITE_CANTOPEN;
    const int code = disk.real_->xOpen(disk.real_, name, mine.real(), flags, out);
    if (code != SQLITE_OK) return code;
    mine.disk = &disk;
    mine.name = new std::string(name == nullptr ? "" : name);
    mine.base.pMethods = methods();
    if (name != nullptr && disk.recording()) disk.image(*mine.name).deleted = false;
    return SQLITE_OK;
  }

  static int remove(sqlite3_vfs* vfs, const char* name, int sync) {
    auto& disk = of(vfs);
    if (disk.strikes()) return SQLITE_IOERR_DELETE;
    if (disk.recording()) disk.image(name).deleted = true;
    return disk.real_->xDelete(disk.real_, name, sync);
  }

  static int close(sqlite3_file* file) {
    auto& mine = of(file);
    delete mine.name;
    return mine.real()->pMethods->xClose(mine.real());
  }

  static int write(sqlite3_file* file, const void* bytes, int count, sqlite3_int64 offset) {
    auto& mine = of(file);
    auto& disk = *mine.disk;
    if (disk.strikes()) {
      // A full disk takes part of a write.
      if (disk.failure_ == Failure::kFull) mine.real()->pMethods->xWrite(mine.real(), bytes, count / 2, offset);
      return disk.failure_ == Failure::kFull ? SQLITE_FULL : SQLITE_IOERR_WRITE;
    }
    if (disk.recording()) {
      disk.image(*mine.name)
          .pending.push_back({static_cast<std::size_t>(offset),
                              {static_cast<const char*>(bytes), static_cast<std::size_t>(count)},
                              false});
    }
    return mine.real()->pMethods->xWrite(mine.real(), bytes, count, offset);
  }

  static int truncate(sqlite3_file* file, sqlite3_int64 size) {
    auto& mine = of(file);
    if (mine.disk->strikes()) return SQLITE_IOERR_TRUNCATE;
    if (mine.disk->recording())
      mine.disk->image(*mine.name).pending.push_back({static_cast<std::size_t>(size), {}, true});
    return mine.real()->pMethods->xTruncate(mine.real(), size);
  }

  static int sync(sqlite3_file* file, int flags) {
    auto& mine = of(file);
    if (mine.disk->strikes()) return SQLITE_IOERR_FSYNC;
    if (mine.disk->recording()) {
      auto& image = mine.disk->image(*mine.name);
      for (const auto& change : image.pending) change.apply(image.durable, change.bytes.size());
      image.pending.clear();
    }
    return mine.real()->pMethods->xSync(mine.real(), flags);
  }

  static int shared_index(sqlite3_file* file, int page, int size, int extend, void volatile** out) {
    auto& mine = of(file);
    if (extend != 0 && mine.disk->strikes()) return SQLITE_IOERR_SHMMAP;
    return mine.real()->pMethods->xShmMap(mine.real(), page, size, extend, out);
  }

  static const sqlite3_io_methods* methods() {
    static const sqlite3_io_methods kMethods = [] {
      sqlite3_io_methods m{};
      m.iVersion = 2;
      m.xClose = close;
      m.xWrite = write;
      m.xTruncate = truncate;
      m.xSync = sync;
      m.xShmMap = shared_index;
      m.xRead = [](sqlite3_file* f, void* to, int count, sqlite3_int64 offset) {
        return of(f).real()->pMethods->xRead(of(f).real(), to, count, offset);
      };
      m.xFileSize = [](sqlite3_file* f, sqlite3_int64* size) {
        return of(f).real()->pMethods->xFileSize(of(f).real(), size);
      };
      m.xLock = [](sqlite3_file* f, int lock) { return of(f).real()->pMethods->xLock(of(f).real(), lock); };
      m.xUnlock = [](sqlite3_file* f, int lock) { return of(f).real()->pMethods->xUnlock(of(f).real(), lock); };
      m.xCheckReservedLock = [](sqlite3_file* f, int* out) {
        return of(f).real()->pMethods->xCheckReservedLock(of(f).real(), out);
      };
      m.xFileControl = [](sqlite3_file* f, int op, void* arg) {
        return of(f).real()->pMethods->xFileControl(of(f).real(), op, arg);
      };
      m.xSectorSize = [](sqlite3_file* f) { return of(f).real()->pMethods->xSectorSize(of(f).real()); };
      m.xDeviceCharacteristics = [](sqlite3_file* f) {
        return of(f).real()->pMethods->xDeviceCharacteristics(of(f).real());
      };
      m.xShmLock = [](sqlite3_file* f, int offset, int n, int flags) {
        return of(f).real()->pMethods->xShmLock(of(f).real(), offset, n, flags);
      };
      m.xShmBarrier = [](sqlite3_file* f) { of(f).real()->pMethods->xShmBarrier(of(f).real()); };
      m.xShmUnmap = [](sqlite3_file* f, int drop) { return of(f).real()->pMethods->xShmUnmap(of(f).real(), drop); };
      return m;
    }();
    return &kMethods;
  }

  sqlite3_vfs* real_;
  sqlite3_vfs vfs_;
  int count_ = 0;
  int at_ = -1;
  Failure failure_ = Failure::kError;
  bool forever_ = false;
  std::map<std::string, Image> images_;
};

}  // namespace lathbook::store::testing
