// The inside of a Store, shared by the files that hold its functions.
#pragma once

#include <SQLiteCpp/Database.h>
#include <SQLiteCpp/Statement.h>

#include "store/connection.h"
#include "store/store.h"
#include "store/sums.h"

namespace lathbook::store {

/// The one row of `meta`.
struct Meta {
  Revision revision = 0;
  std::int64_t records = 0;
  std::int64_t records_sum = 0;
};

struct Store::Impl {
  std::filesystem::path path;
  Options options;
  Connection connection;

  [[nodiscard]] SQLite::Database& database() const { return *connection.database; }
};

/// The sums of rows; the order of the columns is that of the tables.
[[nodiscard]] std::int64_t sum_of_meta(const Meta& meta);
[[nodiscard]] std::int64_t sum_of_record(SumOf& sum, std::string_view kind, std::string_view id, Revision revision,
                                         std::string_view body);
[[nodiscard]] std::int64_t sum_of_asked(std::string_view key, Revision revision);
[[nodiscard]] std::int64_t sum_of_blob(std::string_view sha256, std::string_view media_type, std::int64_t bytes);

/// A row of `changes`.
struct ChangeRow {
  Revision revision = 0;
  std::int64_t step = 0;
  std::string kind;
  std::string id;
  std::optional<std::string> before;
  std::optional<std::string> after;
  std::int64_t sum = 0;
  [[nodiscard]] std::int64_t true_sum() const;
};

/// A row of `log`.
struct LogRow {
  Revision revision = 0;
  std::string at;
  std::string verb;
  std::string label;
  std::optional<std::int64_t> of;
  std::optional<std::string> state;
  std::int64_t changes = 0;
  std::int64_t sum = 0;
  [[nodiscard]] std::int64_t true_sum() const;
};

[[nodiscard]] LogRow log_row(SQLite::Statement& at_row);        ///< SELECT * FROM log
[[nodiscard]] ChangeRow change_row(SQLite::Statement& at_row);  ///< SELECT * FROM changes

/// The sum of a row does not fit it.
[[nodiscard]] reason::Fault damaged(const std::filesystem::path& path, std::string_view row);

}  // namespace lathbook::store
