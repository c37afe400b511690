#include "store/migrate.h"

#include <SQLiteCpp/Transaction.h>
#include <fmt/core.h>

#include <algorithm>
#include <charconv>
#include <stdexcept>

#include "assets/assets.h"

namespace lathbook::store {
namespace {

constexpr std::string_view kFolder = "src/store/migrations/";

std::vector<Migration> embedded() {
  std::vector<Migration> steps;
  for (const auto& asset : assets::all()) {
    if (!asset.name.starts_with(kFolder)) continue;
    Migration step{0, asset.bytes};
    const auto digits = asset.name.substr(kFolder.size(), 4);
    std::from_chars(digits.data(), digits.data() + digits.size(), step.version);
    steps.push_back(step);
  }
  std::ranges::sort(steps, {}, &Migration::version);
  for (std::size_t i = 0; i < steps.size(); ++i) {
    if (steps[i].version != static_cast<int>(i) + 1)
      throw std::logic_error("the migrations are not numbered 1, 2, 3 …");
  }
  if (steps.empty()) throw std::logic_error("no migration is embedded");
  return steps;
}

}  // namespace

std::span<const Migration> migrations() {
  static const std::vector<Migration> kSteps = embedded();
  return kSteps;
}

int schema_version() { return migrations().back().version; }

int version_of(SQLite::Database& database) { return database.execAndGet("PRAGMA user_version").getInt(); }

void migrate(SQLite::Database& database, std::span<const Migration> steps) {
  SQLite::Transaction transaction(database, SQLite::TransactionBehavior::IMMEDIATE);
  // Read inside the transaction: another program may have done it while this one waited.
  const int version = version_of(database);
  for (const auto& step : steps) {
    if (step.version <= version) continue;
    database.exec(std::string(step.sql));
    database.exec(fmt::format("PRAGMA user_version = {}", step.version));
  }
  transaction.commit();
}

}  // namespace lathbook::store
