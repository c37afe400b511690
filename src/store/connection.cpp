#include "store/connection.h"

#include <SQLiteCpp/Backup.h>
#include <fmt/core.h>
#include <sqlite3.h>
#include <unistd.h>

#include <system_error>

#include "store/failure.h"
#include "store/files.h"
#include "store/look.h"
#include "store/migrate.h"

namespace lathbook::store {
namespace {

using Handle = std::unique_ptr<SQLite::Database>;

int milliseconds(const Options& options) { return static_cast<int>(options.wait.count()); }

/// What holds on every connection. A book may come from anybody: no trigger in it runs.
void settle(SQLite::Database& database) {
  sqlite3_db_config(database.getHandle(), SQLITE_DBCONFIG_DEFENSIVE, 1, nullptr);
  sqlite3_db_config(database.getHandle(), SQLITE_DBCONFIG_ENABLE_TRIGGER, 0, nullptr);
  database.exec("PRAGMA foreign_keys = ON; PRAGMA synchronous = FULL; PRAGMA cell_size_check = ON");
}

Handle open_shared(const std::filesystem::path& path, const Options& options) {
  auto database = std::make_unique<SQLite::Database>(path.string(), SQLite::OPEN_READWRITE | SQLite::OPEN_NOMUTEX,
                                                     milliseconds(options));
  settle(*database);
  return database;
}

/// `path` as a URI in which ?, # and % mean themselves.
std::string uri(const std::filesystem::path& path, std::string_view query) {
  std::string out = "file:";
  for (const char c : path.string()) {
    if (c == '%' || c == '?' || c == '#') {
      out += fmt::format("%{:02x}", static_cast<unsigned char>(c));
    } else {
      out += c;
    }
  }
  return out + "?" + std::string(query);
}

Handle open_frozen(const std::filesystem::path& path, const Options& options) {
  auto database = std::make_unique<SQLite::Database>(
      uri(path, "immutable=1"), SQLite::OPEN_READONLY | SQLite::OPEN_NOMUTEX | SQLite::OPEN_URI, milliseconds(options));
  settle(*database);
  return database;
}

bool can_write(const std::filesystem::path& path) {
  return ::access(path.c_str(), W_OK) == 0 && ::access(path.parent_path().c_str(), W_OK) == 0;
}

/// Opens for reading and answers the schema version, which takes a first read.
std::pair<Handle, int> open_to_read(const std::filesystem::path& path, const Options& options) {
  if (can_write(path)) {
    try {
      auto database = open_shared(path, options);
      const int version = version_of(*database);
      database->exec("PRAGMA query_only = ON");
      return {std::move(database), version};
    } catch (const SQLite::Exception& error) {
      const int code = error.getErrorCode() & 0xff;
      const bool place =
          code == SQLITE_CANTOPEN || code == SQLITE_READONLY || code == SQLITE_IOERR || code == SQLITE_FULL;
      if (!place || has_pending(path)) throw;
    }
  } else if (has_pending(path)) {
    auto database = std::make_unique<SQLite::Database>(path.string(), SQLite::OPEN_READONLY | SQLite::OPEN_NOMUTEX,
                                                       milliseconds(options));
    settle(*database);
    const int version = version_of(*database);
    return {std::move(database), version};
  }
  auto database = open_frozen(path, options);
  const int version = version_of(*database);
  return {std::move(database), version};
}

Result<Connection> connect_to_read(const std::filesystem::path& path, const Options& options) {
  const auto steps = steps_of(options);
  auto [database, version] = open_to_read(path, options);
  if (version > steps.back().version) return newer_fault(path, version, steps.back().version);
  if (version < 1) return file_fault(path, fmt::format("is damaged: it says it has schema {}", version));
  if (version == steps.back().version) return Connection{std::move(database), false, std::nullopt};
  auto copy = std::make_unique<SQLite::Database>(":memory:",
                                                 SQLite::OPEN_READWRITE | SQLite::OPEN_CREATE | SQLite::OPEN_NOMUTEX);
  SQLite::Backup(*copy, *database).executeStep();
  settle(*copy);
  migrate(*copy, steps);
  copy->exec("PRAGMA query_only = ON");
  return Connection{std::move(copy), false, std::nullopt};
}

/// Copies an old book to `<name>.schema-<version>` beside it, with a number behind where that name is taken.
Result<std::filesystem::path> keep_copy(const std::filesystem::path& path, SQLite::Database& database, int version) {
  std::filesystem::path kept = fmt::format("{}.schema-{}", path.string(), version);
  std::error_code error;
  for (int number = 2; std::filesystem::exists(kept, error); ++number) {
    kept = fmt::format("{}.schema-{}-{}", path.string(), version, number);
  }
  auto draft = Draft::beside(kept, false);
  if (!draft.ok()) return draft.faults();
  {
    SQLite::Database copy(draft->path().string(), SQLite::OPEN_READWRITE | SQLite::OPEN_CREATE);
    copy.exec("PRAGMA synchronous = OFF");
    SQLite::Backup(copy, database).executeStep();
  }
  if (auto placed = draft->place(); !placed.ok()) return placed.faults();
  return kept;
}

Result<Connection> connect_to_write(const std::filesystem::path& path, const Options& options) {
  const auto steps = steps_of(options);
  auto database = open_shared(path, options);
  const int version = version_of(*database);
  if (version > steps.back().version) return newer_fault(path, version, steps.back().version);
  if (version < 1) return file_fault(path, fmt::format("is damaged: it says it has schema {}", version));
  if (sqlite3_db_readonly(database->getHandle(), "main") == 1) {
    return file_fault(path, "cannot be written: the file or its folder is read-only");
  }
  if (version == steps.back().version) return Connection{std::move(database), true, std::nullopt};
  auto kept = keep_copy(path, *database, version);
  if (!kept.ok()) return kept.faults();
  migrate(*database, steps);
  return Connection{std::move(database), true, *kept};
}

}  // namespace

std::span<const Migration> steps_of(const Options& options) {
  return options.migrations.empty() ? migrations() : options.migrations;
}

Result<Connection> connect(const std::filesystem::path& path, Mode mode, const Options& options) {
  if (auto book = look_at(path, steps_of(options).back().version); !book.ok()) return book.faults();
  return guarded(
      path, [&] { return mode == Mode::kReadOnly ? connect_to_read(path, options) : connect_to_write(path, options); });
}

Result<Connection> connect_new(const std::filesystem::path& path, const Options& options) {
  return guarded(path, [&]() -> Result<Connection> {
    auto database = std::make_unique<SQLite::Database>(
        path.string(), SQLite::OPEN_READWRITE | SQLite::OPEN_CREATE | SQLite::OPEN_NOMUTEX, milliseconds(options));
    settle(*database);
    database->exec("PRAGMA synchronous = OFF");  // a draft: Draft::place() has the disk keep it
    database->exec(fmt::format("PRAGMA application_id = {}", kApplicationId));
    migrate(*database, steps_of(options));
    database->exec("PRAGMA journal_mode = WAL");
    return Connection{std::move(database), true, std::nullopt};
  });
}

}  // namespace lathbook::store
