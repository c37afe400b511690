#include <SQLiteCpp/Transaction.h>
#include <fmt/core.h>
#include <sqlite3.h>

#include <algorithm>
#include <array>
#include <map>
#include <set>

#include "store/failure.h"
#include "store/impl.h"
#include "store/migrate.h"

namespace lathbook::store {
namespace {

using SQLite::Statement;

using Key = std::pair<std::string, std::string>;
using Bodies = std::map<Key, std::string>;
using SchemaRows = std::vector<std::array<std::string, 3>>;

std::string name_of(const Key& key) { return fmt::format("{} {}", key.first, key.second); }

/// One look at the whole book, part by part; what it finds is gathered in `problems`.
class Examination {
 public:
  explicit Examination(const Store::Impl& impl) : impl_(impl), database_(impl.database()) {}

  std::vector<Problem> run() {
    part("file", [&] { look_at_pages(); });
    part("schema", [&] { look_at_schema(); });
    part("records", [&] { look_at_records(); });
    part("log", [&] { look_at_log(); });
    part("papers", [&] { look_at_blobs(); });
    return std::move(problems_);
  }

 private:
  void damage(std::string where, std::string problem) {
    problems_.push_back({Problem::Weight::kDamage, std::move(where), std::move(problem)});
  }

  /// A part that SQLite cannot even read must not hide what is wrong with the others.
  template <class F>
  void part(const char* name, F&& look) {
    try {
      look();
    } catch (const SQLite::Exception& error) {
      damage(name, fmt::format("cannot be read: {}", error.what()));
    }
  }

  void look_at_pages() {
    for (const char* pragma : {"PRAGMA integrity_check", "PRAGMA foreign_key_check"}) {
      Statement query(database_, pragma);
      while (query.executeStep()) {
        std::string said;
        for (int i = 0; i < query.getColumnCount(); ++i) said += (i > 0 ? " " : "") + query.getColumn(i).getString();
        if (said != "ok") damage("file", said);
      }
    }
  }

  static SchemaRows schema_of(SQLite::Database& database) {
    SchemaRows rows;
    Statement query(
        database,
        "SELECT type, name, ifnull(sql, '') FROM sqlite_schema WHERE name NOT LIKE 'sqlite_stat%' ORDER BY name");
    while (query.executeStep()) {
      rows.push_back({query.getColumn(0).getString(), query.getColumn(1).getString(), query.getColumn(2).getString()});
    }
    return rows;
  }

  void look_at_schema() {
    SQLite::Database fresh(":memory:", SQLite::OPEN_READWRITE | SQLite::OPEN_CREATE);
    migrate(fresh, steps_of(impl_.options));
    const auto expected = schema_of(fresh);
    const auto found = schema_of(database_);
    for (const auto& row : expected) {
      if (!std::ranges::count(found, row)) damage("schema", fmt::format("{} {} is missing or altered", row[0], row[1]));
    }
    for (const auto& row : found) {
      if (!std::ranges::count(expected, row))
        damage("schema", fmt::format("{} {} is not this program's", row[0], row[1]));
    }
  }

  void look_at_records() {
    Statement query(database_, "SELECT kind, id, revision, body, sum FROM records ORDER BY kind, id");
    SumOf sum;
    std::int64_t records_sum = 0;
    while (query.executeStep()) {
      Key key(query.getColumn(0).getString(), query.getColumn(1).getString());
      auto body = query.getColumn(3).getString();
      const std::int64_t stored = query.getColumn(4).getInt64();
      records_sum = sum_plus(records_sum, stored);
      if (stored != sum_of_record(sum, key.first, key.second, query.getColumn(2).getInt64(), body)) {
        damage(name_of(key), "does not fit its checksum");
      }
      const auto json = Json::parse(body, nullptr, false);
      if (!json.is_object()) {
        damage(name_of(key), "is not a JSON object");
      } else {
        if (json.contains("id") && json["id"] != key.second) damage(name_of(key), "holds another id in its body");
        if (key.first == "document" && json.contains("sha256") && json["sha256"].is_string()) {
          named_now_.emplace(json["sha256"].get<std::string>(), name_of(key));
        }
      }
      records_.emplace(std::move(key), std::move(body));
    }
    Statement totals(database_, "SELECT revision, records, records_sum, sum FROM meta");
    if (!totals.executeStep()) return damage("meta", "its row is missing");
    meta_ = {totals.getColumn(0).getInt64(), totals.getColumn(1).getInt64(), totals.getColumn(2).getInt64()};
    if (totals.getColumn(3).getInt64() != sum_of_meta(meta_)) damage("meta", "does not fit its checksum");
    if (static_cast<std::int64_t>(records_.size()) != meta_.records || records_sum != meta_.records_sum) {
      damage("records", fmt::format("are not those of meta: {} there, {} here", meta_.records, records_.size()));
    }
  }

  /// Replays the log from nothing; the records must come out.
  void look_at_log() {
    std::map<Revision, std::vector<ChangeRow>> changes;
    Statement change_query(database_,
                           "SELECT revision, step, kind, id, before, after, sum FROM changes ORDER BY revision, step");
    while (change_query.executeStep()) {
      auto row = change_row(change_query);
      const auto where = fmt::format("change {} of log entry {}", row.step, row.revision);
      if (row.sum != row.true_sum()) damage(where, "does not fit its checksum");
      for (const auto* body : {&row.before, &row.after}) {
        if (*body && !Json::accept(**body)) damage(where, "is not JSON");
        if (*body && row.kind == "document") note_named(**body);
      }
      auto& rows = changes[row.revision];
      if (row.step != static_cast<std::int64_t>(rows.size()) + 1) damage(where, "does not follow the change before it");
      rows.push_back(std::move(row));
    }

    Bodies replayed;
    Revision expected = 0;
    std::map<Revision, std::string> states;
    std::map<Revision, std::string> told;
    Statement query(database_, "SELECT revision, at, verb, label, of, state, changes, sum FROM log ORDER BY revision");
    while (query.executeStep()) {
      const auto row = log_row(query);
      const auto where = fmt::format("log entry {}", row.revision);
      if (row.revision != ++expected) {
        damage(where, fmt::format("follows entry {}: some are missing", expected - 1));
        expected = row.revision;
      }
      if (row.sum != row.true_sum()) damage(where, "does not fit its checksum");
      const auto step = row.of.value_or(row.revision);
      const auto found = changes.find(step);
      if (found == changes.end() || static_cast<std::int64_t>(found->second.size()) != row.changes) {
        damage(where, fmt::format("should have {} changes, {} are there", row.changes,
                                  found == changes.end() ? 0 : found->second.size()));
        continue;
      }
      if (row.verb == "do") {
        for (auto& [other, state] : states) {
          if (state == "undone") state = "dropped";
        }
        told[step] = row.state.value_or("");
      }
      states[step] = row.verb == "undo" ? "undone" : "done";
      replay(where, found->second, row.verb == "undo", replayed);
    }
    if (expected != meta_.revision)
      damage("log", fmt::format("ends at entry {}, the book is at {}", expected, meta_.revision));
    Statement asked(database_, "SELECT key, revision, sum FROM asked");
    while (asked.executeStep()) {
      const auto key = asked.getColumn(0).getString();
      const auto made = asked.getColumn(1).getInt64();
      const auto where = fmt::format("request {}", key);
      if (asked.getColumn(2).getInt64() != sum_of_asked(key, made)) damage(where, "does not fit its checksum");
      if (made < 1 || made > expected) damage(where, fmt::format("made entry {}, which is not there", made));
    }
    if (states != told) damage("log", "its marks of what is undone do not follow from its entries");
    if (replayed != records_) damage("log", "replayed from the start it does not give the records");
  }

  void replay(const std::string& where, const std::vector<ChangeRow>& rows, bool back, Bodies& bodies) {
    for (std::size_t i = 0; i < rows.size(); ++i) {
      const auto& row = rows[back ? rows.size() - 1 - i : i];
      const auto& before = back ? row.after : row.before;
      const auto& after = back ? row.before : row.after;
      const Key key(row.kind, row.id);
      const auto found = bodies.find(key);
      const auto current = found == bodies.end() ? std::nullopt : std::optional(found->second);
      if (current != before) damage(where, fmt::format("does not start from {} as it was", name_of(key)));
      if (after) {
        bodies[key] = *after;
      } else {
        bodies.erase(key);
      }
    }
  }

  void note_named(const std::string& body) {
    const auto json = Json::parse(body, nullptr, false);
    if (json.is_object() && json.contains("sha256") && json["sha256"].is_string())
      named_ever_.insert(json["sha256"].get<std::string>());
  }

  void look_at_blobs() {
    std::set<std::string> there;
    Statement query(database_, "SELECT sha256, media_type, bytes, data, sum FROM blobs ORDER BY sha256");
    while (query.executeStep()) {
      auto sha256 = query.getColumn(0).getString();
      const auto where = fmt::format("paper {}", sha256);
      const auto data = query.getColumn(3);
      const std::string_view bytes(static_cast<const char*>(data.getBlob()), static_cast<std::size_t>(data.getBytes()));
      if (sha256_hex(bytes) != sha256) damage(where, "is not the bytes that were put in");
      if (query.getColumn(4).getInt64() !=
          sum_of_blob(sha256, query.getColumn(1).getString(), query.getColumn(2).getInt64())) {
        damage(where, "does not fit its checksum");
      }
      if (!named_now_.contains(sha256) && !named_ever_.contains(sha256)) {
        problems_.push_back({Problem::Weight::kLoose, where, "is named by no document, now or in the log"});
      }
      there.insert(std::move(sha256));
    }
    for (const auto& [sha256, document] : named_now_) {
      if (!there.contains(sha256)) damage(document, fmt::format("has lost its paper {}", sha256));
    }
  }

  const Store::Impl& impl_;
  SQLite::Database& database_;
  std::vector<Problem> problems_;
  Meta meta_;
  Bodies records_;
  std::multimap<std::string, std::string> named_now_;  ///< sha256, document
  std::set<std::string> named_ever_;
};

}  // namespace

Result<std::vector<Problem>> Store::verify() const {
  return guarded(impl_->path, [&]() -> Result<std::vector<Problem>> {
    SQLite::Transaction moment(impl_->database(), SQLite::TransactionBehavior::DEFERRED);
    return Examination(*impl_).run();
  });
}

}  // namespace lathbook::store
