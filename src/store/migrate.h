// The schema's history: numbered SQL files in src/store/migrations/, never edited once released, only added to.
#pragma once

#include <SQLiteCpp/Database.h>

#include <span>

#include "store/store.h"

namespace lathbook::store {

/// The ASCII letters LTHB: what a book says of itself in the SQLite header.
inline constexpr std::int32_t kApplicationId = 0x4C544842;

/// This program's steps, from version 1 on without a gap.
[[nodiscard]] std::span<const Migration> migrations();

/// Brings an open database from its version to the last of `steps`, in one transaction. Throws SQLite::Exception.
void migrate(SQLite::Database& database, std::span<const Migration> steps);

[[nodiscard]] int version_of(SQLite::Database& database);

}  // namespace lathbook::store
