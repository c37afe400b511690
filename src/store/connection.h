// Opens a book in the way its place allows.
#pragma once

#include <SQLiteCpp/Database.h>

#include <memory>
#include <optional>

#include "store/store.h"

namespace lathbook::store {

struct Connection {
  std::unique_ptr<SQLite::Database> database;
  bool writable = false;
  std::optional<std::filesystem::path> kept;  ///< the copy of the old file, where the schema was brought up to date
};

/// For reading: through the same locks as a writer where the folder can be written, so that the last one out tidies up;
/// as a file that cannot change (SQLite's `immutable`) where it cannot; as a copy in memory brought up to date when the
/// schema is old. For writing: an old schema is brought up to date after a copy was put beside the file.
[[nodiscard]] Result<Connection> connect(const std::filesystem::path& path, Mode mode, const Options& options);

/// A new file at `path`, which must not exist, with the schema in it.
[[nodiscard]] Result<Connection> connect_new(const std::filesystem::path& path, const Options& options);

/// The steps that hold for `options`.
[[nodiscard]] std::span<const Migration> steps_of(const Options& options);

}  // namespace lathbook::store
