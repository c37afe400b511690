#include "store/recover.h"

#include <SQLiteCpp/Backup.h>
#include <SQLiteCpp/Transaction.h>
#include <fmt/core.h>

#include <algorithm>
#include <array>
#include <limits>
#include <map>
#include <set>

#include "store/failure.h"
#include "store/files.h"
#include "store/impl.h"
#include "store/migrate.h"
#include "store/pages.h"

namespace lathbook::store {
namespace {

using SQLite::Statement;

using Key = std::pair<std::string, std::string>;
using Bodies = std::map<Key, std::string>;

std::string name_of(const Key& key) { return fmt::format("{} {}", key.first, key.second); }

// ---- rows by their form ---------------------------------------------------------------------------------------

const std::string* text(const Value& value) { return std::get_if<std::string>(&value); }
const std::int64_t* whole_number(const Value& value) { return std::get_if<std::int64_t>(&value); }
bool is_nothing(const Value& value) { return std::holds_alternative<std::monostate>(value); }

/// A text or nothing; false when it is something else.
bool text_if_any(const Value& value, std::optional<std::string>& into) {
  if (const auto* found = text(value)) into = *found;
  return into.has_value() || is_nothing(value);
}

struct RecordRow {
  Key key;
  Revision revision = 0;
  std::string body;
};

struct PaperRow {
  std::string sha256;
  std::string media_type;
  std::string bytes;
  bool sum_fits = false;
};

/// Each of these answers the row when it has the form and its checksum fits. WITHOUT ROWID, the key comes first.
std::optional<Meta> as_meta(const Row& row) {
  const auto& v = row.values;
  if (v.size() != 5 || !is_nothing(v[0])) return std::nullopt;
  for (std::size_t i = 1; i < 5; ++i) {
    if (whole_number(v[i]) == nullptr) return std::nullopt;
  }
  const Meta meta{*whole_number(v[1]), *whole_number(v[2]), *whole_number(v[3])};
  return sum_of_meta(meta) == *whole_number(v[4]) ? std::optional(meta) : std::nullopt;
}

std::optional<RecordRow> as_record(const Row& row) {
  const auto& v = row.values;
  if (v.size() != 5 || text(v[0]) == nullptr || text(v[1]) == nullptr || whole_number(v[2]) == nullptr ||
      text(v[3]) == nullptr || whole_number(v[4]) == nullptr)
    return std::nullopt;
  RecordRow record{{*text(v[0]), *text(v[1])}, *whole_number(v[2]), *text(v[3])};
  SumOf sum;
  if (sum_of_record(sum, record.key.first, record.key.second, record.revision, record.body) != *whole_number(v[4]))
    return std::nullopt;
  return record;
}

std::optional<LogRow> as_log(const Row& row) {
  const auto& v = row.values;
  if (v.size() != 8 || !is_nothing(v[0]) || text(v[1]) == nullptr || text(v[2]) == nullptr || text(v[3]) == nullptr ||
      whole_number(v[6]) == nullptr || whole_number(v[7]) == nullptr)
    return std::nullopt;
  LogRow entry;
  entry.revision = row.rowid;
  entry.at = *text(v[1]);
  entry.verb = *text(v[2]);
  entry.label = *text(v[3]);
  if (const auto* of = whole_number(v[4])) entry.of = *of;
  if ((!entry.of && !is_nothing(v[4])) || !text_if_any(v[5], entry.state)) return std::nullopt;
  entry.changes = *whole_number(v[6]);
  entry.sum = *whole_number(v[7]);
  return entry.sum == entry.true_sum() ? std::optional(entry) : std::nullopt;
}

std::optional<ChangeRow> as_change(const Row& row) {
  const auto& v = row.values;
  if (v.size() != 7 || whole_number(v[0]) == nullptr || whole_number(v[1]) == nullptr || text(v[2]) == nullptr ||
      text(v[3]) == nullptr || whole_number(v[6]) == nullptr)
    return std::nullopt;
  ChangeRow change{*whole_number(v[0]), *whole_number(v[1]), *text(v[2]), *text(v[3]), {}, {}, *whole_number(v[6])};
  if (!text_if_any(v[4], change.before) || !text_if_any(v[5], change.after)) return std::nullopt;
  return change.sum == change.true_sum() ? std::optional(change) : std::nullopt;
}

std::optional<std::pair<std::string, Revision>> as_asked(const Row& row) {
  const auto& v = row.values;
  if (v.size() != 3 || text(v[0]) == nullptr || whole_number(v[1]) == nullptr || whole_number(v[2]) == nullptr)
    return std::nullopt;
  if (sum_of_asked(*text(v[0]), *whole_number(v[1])) != *whole_number(v[2])) return std::nullopt;
  return std::pair(*text(v[0]), *whole_number(v[1]));
}

/// The bytes are judged by their hash, whatever became of the columns beside them.
std::optional<PaperRow> as_paper(Row row) {
  auto& v = row.values;
  if (v.size() != 5 || !std::holds_alternative<Bytes>(v[3])) return std::nullopt;
  PaperRow paper;
  paper.bytes = std::move(std::get<Bytes>(v[3]).bytes);
  paper.sha256 = sha256_hex(paper.bytes);
  const auto* named = text(v[0]);
  const auto* media_type = text(v[1]);
  const auto* sum = whole_number(v[4]);
  if (media_type != nullptr) paper.media_type = *media_type;
  paper.sum_fits = named != nullptr && *named == paper.sha256 && media_type != nullptr && sum != nullptr &&
                   *sum == sum_of_blob(paper.sha256, paper.media_type, static_cast<std::int64_t>(paper.bytes.size()));
  return paper;
}

// ---- finding them ---------------------------------------------------------------------------------------------

struct CellAt {
  PageNumber page = 0;
  std::size_t cell = 0;
};

/// Everything of a book that was found on the pages of its file.
struct Found {
  std::optional<Meta> meta;
  std::map<Key, RecordRow> records;          ///< as they stand now
  std::map<Key, RecordRow> records_perhaps;  ///< from pages that may hold what is long gone
  std::map<Revision, LogRow> log;
  std::map<Revision, std::map<std::int64_t, ChangeRow>> changes;
  std::map<std::string, Revision> asked;
  std::vector<CellAt> papers;
  std::set<std::string> broken;  ///< tables of which something does not read
  std::set<PageNumber> bad_pages;
  bool anything = false;
};

/// Walks the trees of the tables, then every other page that may belong to them.
class Finder {
 public:
  explicit Finder(const Pages& pages) : pages_(pages), free_(pages.free_pages()) {}

  Found run() {
    std::map<std::string, PageNumber> roots;
    const bool schema_whole = walk("schema", 1, Tree::kByRowid, 0, [&](const Row& row, PageNumber, std::size_t, bool) {
      if (row.values.size() != 5) return false;
      const auto* type = text(row.values[0]);
      const auto* name = text(row.values[1]);
      const auto* root = whole_number(row.values[3]);
      if (type == nullptr || name == nullptr || root == nullptr) return false;
      if (*type == "table" && *root > 1 && *root <= std::numeric_limits<PageNumber>::max())
        roots[*name] = static_cast<PageNumber>(*root);
      return true;
    });
    if (!schema_whole) found_.broken.insert("schema");
    for (const auto& [table, tree] : kTables) {
      const auto root = roots.find(table);
      // Not every schema has it.
      if (root == roots.end() && std::string_view(table) == "asked" && pages_.schema_told() < 2) continue;
      const bool whole = root != roots.end() && walk(table, root->second, tree, 0,
                                                     [&](const Row& row, PageNumber page, std::size_t cell, bool sure) {
                                                       return take(row, page, cell, sure);
                                                     });
      if (!whole) found_.broken.insert(table);
    }
    if (std::ranges::any_of(kTables, [&](const auto& table) { return found_.broken.contains(table.first); })) scan();
    return std::move(found_);
  }

 private:
  static constexpr std::array<std::pair<const char*, Tree>, 6> kTables = {{{"meta", Tree::kByRowid},
                                                                           {"records", Tree::kByKey},
                                                                           {"log", Tree::kByRowid},
                                                                           {"changes", Tree::kByKey},
                                                                           {"asked", Tree::kByKey},
                                                                           {"blobs", Tree::kByRowid}}};
  static constexpr int kDeepest = 40;

  /// Every row of a tree to `take`; whether all was whole and taken.
  template <class Take>
  bool walk(const char* table, PageNumber number, Tree tree, int depth, const Take& take) {
    if (depth > kDeepest || !seen_.insert(number).second) return false;
    const auto node = pages_.node(number);
    if (!node || node->tree != tree) {
      found_.bad_pages.insert(number);
      return false;
    }
    const bool sure = !free_ || !free_->contains(number);
    bool whole = node->whole;
    for (const auto cell : node->cells) {
      const auto row = pages_.row(number, cell);
      whole = (row && take(*row, number, cell, sure)) && whole;
    }
    if (!whole) found_.bad_pages.insert(number);
    for (const auto child : node->children) whole = walk(table, child, tree, depth + 1, take) && whole;
    return whole;
  }

  /// The pages that no tree led to. What lies on one of them is of now only if the pages that hold nothing are known.
  void scan() {
    for (PageNumber number = 2; number <= pages_.count(); ++number) {
      if (seen_.contains(number) || (free_ && free_->contains(number))) continue;
      const auto node = pages_.node(number);
      if (!node) continue;
      for (const auto cell : node->cells) {
        if (const auto row = pages_.row(number, cell)) take(*row, number, cell, free_.has_value());
      }
    }
  }

  bool take(const Row& row, PageNumber page, std::size_t cell, bool sure) {
    bool taken = true;
    if (auto change = as_change(row)) {
      found_.changes[change->revision].emplace(change->step, std::move(*change));
    } else if (auto record = as_record(row)) {
      auto& records = sure ? found_.records : found_.records_perhaps;
      const auto [place, fresh] = records.try_emplace(record->key, *record);
      if (!fresh && place->second.revision < record->revision) place->second = std::move(*record);
    } else if (auto entry = as_log(row)) {
      found_.log.emplace(entry->revision, std::move(*entry));
    } else if (const auto asked = as_asked(row)) {
      found_.asked.insert(*asked);
    } else if (const auto meta = as_meta(row)) {
      if (!found_.meta || found_.meta->revision < meta->revision) found_.meta = meta;
    } else if (auto paper = as_paper(row)) {
      found_.papers.push_back({page, cell});
      taken = paper->sum_fits;
    } else {
      return false;
    }
    found_.anything = true;
    return taken;
  }

  const Pages& pages_;
  std::optional<std::set<PageNumber>> free_;
  std::set<PageNumber> seen_;
  Found found_;
};

// ---- what they come to ----------------------------------------------------------------------------------------

/// What an entry of the log left an item as.
struct Effect {
  Revision revision = 0;
  std::optional<std::string> body;
};

/// The log, as far as it reads.
class Log {
 public:
  explicit Log(const Found& found) : found_(found) {
    last_ = found.meta ? found.meta->revision : 0;
    if (!found.log.empty()) last_ = std::max(last_, found.log.rbegin()->first);
    if (!found.changes.empty()) last_ = std::max(last_, found.changes.rbegin()->first);
    for (const auto& [key, record] : found.records) last_ = std::max(last_, record.revision);
    replay();
    follow();
  }

  [[nodiscard]] Revision last() const { return last_; }
  /// Entries 1 to this one are whole and lead from an empty book to these bodies.
  [[nodiscard]] Revision prefix() const { return prefix_; }
  [[nodiscard]] const std::vector<LogRow>& entries() const { return entries_; }
  [[nodiscard]] const Bodies& bodies() const { return bodies_; }
  [[nodiscard]] Revision touched(const Key& key) const { return touched_.at(key); }
  /// A further step ends what could be done again.
  void drop_undone() {
    for (auto& entry : entries_) {
      if (entry.state == "undone") entry.state = "dropped";
    }
  }
  /// The last that is known to have been done to each item ever met.
  [[nodiscard]] const std::map<Key, Effect>& effects() const { return effects_; }
  /// All that happened after `revision` is known.
  [[nodiscard]] bool quiet_after(Revision revision) const { return end_known_ && revision >= quiet_from_; }

 private:
  [[nodiscard]] const std::map<std::int64_t, ChangeRow>* changes_of(Revision step) const {
    const auto found = found_.changes.find(step);
    return found == found_.changes.end() ? nullptr : &found->second;
  }

  /// The entry and all its changes are there.
  [[nodiscard]] const LogRow* whole(Revision revision) const {
    const auto found = found_.log.find(revision);
    if (found == found_.log.end()) return nullptr;
    const auto* rows = changes_of(found->second.of.value_or(revision));
    const auto wanted = found->second.changes;
    const bool complete = rows != nullptr && static_cast<std::int64_t>(rows->size()) == wanted &&
                          rows->begin()->first == 1 && rows->rbegin()->first == wanted;
    return complete ? &found->second : nullptr;
  }

  static std::vector<ChangeRow> in_order(const std::map<std::int64_t, ChangeRow>& rows, bool back) {
    std::vector<ChangeRow> out;
    for (const auto& [step, row] : rows) out.push_back(row);
    if (!back) return out;
    std::ranges::reverse(out);
    for (auto& row : out) std::swap(row.before, row.after);
    return out;
  }

  /// Goes on from nothing for as long as each entry fits what the ones before it left.
  void replay() {
    for (Revision revision = 1; revision <= last_; ++revision) {
      const auto* entry = whole(revision);
      if (entry == nullptr) return;
      const bool back = entry->verb == "undo";
      const auto step = entry->of.value_or(revision);
      if (entry->of && (step < 1 || step >= revision || entries_[static_cast<std::size_t>(step - 1)].verb != "do"))
        return;
      bool fits = true;
      const auto rows = in_order(*changes_of(step), back);
      std::map<Key, std::optional<std::string>> moved;
      for (const auto& row : rows) {
        const Key key(row.kind, row.id);
        const auto now = moved.contains(key)     ? moved[key]
                         : bodies_.contains(key) ? std::optional(bodies_[key])
                                                 : std::nullopt;
        fits = fits && now == row.before;
        moved[key] = row.after;
      }
      if (!fits) return;
      for (auto& [key, body] : moved) {
        touched_[key] = revision;
        if (body) {
          bodies_[key] = std::move(*body);
        } else {
          bodies_.erase(key);
        }
      }
      entries_.push_back(*entry);
      mark(revision, step);
      prefix_ = revision;
    }
  }

  /// The marks of what is undone follow from the entries; a row's own mark may be of a later time.
  void mark(Revision revision, Revision step) {
    auto& state = entries_[static_cast<std::size_t>(step - 1)].state;
    if (entries_.back().verb == "do") {
      drop_undone();
      entries_[static_cast<std::size_t>(revision - 1)].state = "done";
    } else {
      state = entries_.back().verb == "undo" ? "undone" : "done";
    }
  }

  void follow() {
    std::set<Revision> numbers;
    for (const auto& [revision, entry] : found_.log) numbers.insert(revision);
    for (const auto& [revision, rows] : found_.changes) numbers.insert(revision);
    for (const auto revision : numbers) {
      const auto entry = found_.log.find(revision);
      const bool known = entry != found_.log.end();
      const auto* rows = changes_of(known ? entry->second.of.value_or(revision) : revision);
      if (rows == nullptr) continue;
      for (auto& row : in_order(*rows, known && entry->second.verb == "undo"))
        effects_[{row.kind, row.id}] = {revision, std::move(row.after)};
    }
    quiet_from_ = last_;
    while (quiet_from_ > 0 && whole(quiet_from_) != nullptr) --quiet_from_;
    end_known_ = found_.meta.has_value() || !found_.broken.contains("log");
  }

  const Found& found_;
  Revision last_ = 0;
  Revision prefix_ = 0;
  Revision quiet_from_ = 0;
  bool end_known_ = false;
  std::vector<LogRow> entries_;
  Bodies bodies_;
  std::map<Key, Revision> touched_;
  std::map<Key, Effect> effects_;
};

/// The items that are sure to be as they stood last, and the rest among `lost`.
Bodies settle_items(const Found& found, const Log& log, std::vector<Loss>& lost) {
  Bodies bodies;
  std::int64_t sum = 0;
  for (const auto& [key, record] : found.records) {
    SumOf of_row;
    sum = sum_plus(sum, sum_of_record(of_row, key.first, key.second, record.revision, record.body));
    bodies[key] = record.body;
  }
  const bool totals_fit =
      found.meta && found.meta->records == static_cast<std::int64_t>(bodies.size()) && found.meta->records_sum == sum;
  if (totals_fit || (!found.meta && !found.broken.contains("records"))) return bodies;

  bodies.clear();
  std::set<Key> keys;
  for (const auto* records : {&found.records, &found.records_perhaps}) {
    for (const auto& [key, record] : *records) keys.insert(key);
  }
  for (const auto& [key, effect] : log.effects()) keys.insert(key);
  std::int64_t doubtful = 0;
  for (const auto& key : keys) {
    const auto effect = log.effects().find(key);
    const Revision logged = effect == log.effects().end() ? 0 : effect->second.revision;
    const auto sure = found.records.find(key);
    if (sure != found.records.end() && sure->second.revision >= logged) {
      bodies[key] = sure->second.body;
      continue;
    }
    if (logged > 0 && log.quiet_after(logged - 1)) {
      if (effect->second.body) bodies[key] = *effect->second.body;
      continue;
    }
    const auto perhaps = found.records_perhaps.find(key);
    const bool there = perhaps != found.records_perhaps.end() && perhaps->second.revision >= logged;
    if (there && log.quiet_after(perhaps->second.revision)) {
      bodies[key] = perhaps->second.body;
      continue;
    }
    Loss loss{name_of(key), "is lost", std::nullopt};
    const auto& last = there ? std::optional(perhaps->second.body) : effect->second.body;
    loss.as_of = there ? perhaps->second.revision : logged;
    if (last) {
      loss.last_known = Json::parse(*last, nullptr, false);
      loss.problem = fmt::format(
          "is lost; after step {} it stood as told here, and whether it was changed or removed "
          "later is not known",
          *loss.as_of);
    } else {
      loss.problem = fmt::format("is lost, if it was still there: step {} had removed it", *loss.as_of);
    }
    lost.push_back(std::move(loss));
    ++doubtful;
  }
  const auto missing = found.meta ? found.meta->records - static_cast<std::int64_t>(bodies.size()) : 0;
  if (missing > doubtful) {
    lost.push_back({"items",
                    fmt::format("{} more of them are lost, of which not even the name is left", missing - doubtful),
                    std::nullopt});
  } else if (!found.meta && found.broken.contains("records") && !log.quiet_after(log.prefix())) {
    lost.push_back({"items", "may be lost without a trace: how many there were does not read", std::nullopt});
  }
  return bodies;
}

// ---- the new book ---------------------------------------------------------------------------------------------

/// Writes rows as they are into a new book, within the caller's transaction.
class NewBook {
 public:
  explicit NewBook(SQLite::Database& database)
      : record_(database, "INSERT INTO records (kind, id, revision, body, sum) VALUES (?, ?, ?, ?, ?)"),
        change_(database,
                "INSERT INTO changes (revision, step, kind, id, before, after, sum) VALUES (?, ?, ?, ?, ?, ?, ?)"),
        log_(database,
             "INSERT INTO log (revision, at, verb, label, of, state, changes, sum) VALUES (?, ?, ?, ?, ?, ?, ?, ?)"),
        paper_(database, "INSERT OR IGNORE INTO blobs (sha256, media_type, bytes, data, sum) VALUES (?, ?, ?, ?, ?)"),
        asked_(database, "INSERT INTO asked (key, revision, sum) VALUES (?, ?, ?)"),
        meta_(database, "INSERT INTO meta (one, revision, records, records_sum, sum) VALUES (1, ?, ?, ?, ?)") {}

  void put(const RecordRow& row) {
    SumOf sum;
    const auto value = sum_of_record(sum, row.key.first, row.key.second, row.revision, row.body);
    run(record_, row.key.first, row.key.second, row.revision, row.body, value);
    ++totals_.records;
    totals_.records_sum = sum_plus(totals_.records_sum, value);
  }
  void put(const ChangeRow& row) {
    run(change_, row.revision, row.step, row.kind, row.id, row.before, row.after, row.true_sum());
  }
  void put(const LogRow& row) {
    run(log_, row.revision, row.at, row.verb, row.label, row.of, row.state, row.changes, row.true_sum());
    totals_.revision = row.revision;
  }
  void put(const PaperRow& row) {
    const auto bytes = static_cast<std::int64_t>(row.bytes.size());
    run(paper_, row.sha256, row.media_type, bytes, Bytes{row.bytes}, sum_of_blob(row.sha256, row.media_type, bytes));
  }
  void put_asked(const std::string& key, Revision revision) { run(asked_, key, revision, sum_of_asked(key, revision)); }
  void finish() { run(meta_, totals_.revision, totals_.records, totals_.records_sum, sum_of_meta(totals_)); }

 private:
  static void bind(Statement& to, int index, const std::string& value) { to.bind(index, value); }
  static void bind(Statement& to, int index, std::int64_t value) { to.bind(index, value); }
  static void bind(Statement& to, int index, const Bytes& value) {
    to.bind(index, value.bytes.data(), static_cast<int>(value.bytes.size()));
  }
  template <class T>
  static void bind(Statement& to, int index, const std::optional<T>& value) {
    if (value) {
      bind(to, index, *value);
    } else {
      to.bind(index);
    }
  }
  template <class... Values>
  static void run(Statement& statement, const Values&... values) {
    statement.reset();
    int index = 0;
    (bind(statement, ++index, values), ...);
    statement.exec();
  }

  Statement record_;
  Statement change_;
  Statement log_;
  Statement paper_;
  Statement asked_;
  Statement meta_;
  Meta totals_;
};

/// The papers that documents name, and under which media type.
std::map<std::string, std::pair<std::string, std::string>> papers_named(const Bodies& bodies) {
  std::map<std::string, std::pair<std::string, std::string>> named;
  for (const auto& [key, body] : bodies) {
    if (key.first != "document") continue;
    const auto json = Json::parse(body, nullptr, false);
    if (!json.is_object() || !json.contains("sha256") || !json["sha256"].is_string()) continue;
    named.try_emplace(json["sha256"].get<std::string>(), name_of(key),
                      json.value("media_type", "application/octet-stream"));
  }
  return named;
}

/// "3, 7 to 9, 12"
std::string listed(const std::set<PageNumber>& numbers) {
  std::string out;
  for (auto it = numbers.begin(); it != numbers.end();) {
    const auto from = *it;
    auto to = from;
    for (++it; it != numbers.end() && *it == to + 1; ++it) to = *it;
    out += (out.empty() ? "" : ", ") + (from == to ? fmt::format("{}", from) : fmt::format("{} to {}", from, to));
  }
  return out;
}

class Recovery {
 public:
  Recovery(const Pages& pages, const Found& found) : pages_(pages), found_(found), log_(found) {}

  /// Fills a new book that has its tables and nothing in them.
  Recovered fill(SQLite::Database& database, const std::filesystem::path& damaged, std::string_view at) {
    SQLite::Transaction transaction(database, SQLite::TransactionBehavior::IMMEDIATE);
    NewBook book(database);
    const auto bodies = settle_items(found_, log_, recovered_.lost);
    const auto step = further_step(bodies, at, damaged);
    for (const auto& entry : log_.entries()) {
      book.put(entry);
      if (entry.verb != "do") continue;
      for (const auto& [number, change] : found_.changes.at(entry.revision)) book.put(change);
    }
    if (step) {
      book.put(step->first);
      for (const auto& change : step->second) book.put(change);
    }
    for (const auto& [key, body] : bodies) {
      const auto in_log = log_.bodies().find(key);
      const bool as_in_log = in_log != log_.bodies().end() && in_log->second == body;
      book.put(RecordRow{key, as_in_log ? log_.touched(key) : step->first.revision, body});
    }
    // Of the entries that were kept: a request sent again must not be done again.
    for (const auto& [key, revision] : found_.asked) {
      if (revision >= 1 && revision <= log_.prefix()) book.put_asked(key, revision);
    }
    put_papers(book, bodies);
    book.finish();
    transaction.commit();
    recovered_.items = static_cast<std::int64_t>(bodies.size());
    recovered_.steps = log_.prefix();
    tell_of_the_file();
    return std::move(recovered_);
  }

 private:
  using Step = std::pair<LogRow, std::vector<ChangeRow>>;

  /// From what the log comes to, to what was saved; nothing when that is the same.
  std::optional<Step> further_step(const Bodies& bodies, std::string_view at, const std::filesystem::path& damaged) {
    Step step;
    const Revision revision = log_.prefix() + 1;
    std::set<Key> keys;
    for (const auto* side : {&log_.bodies(), &bodies}) {
      for (const auto& [key, body] : *side) keys.insert(key);
    }
    const auto in = [](const Bodies& side, const Key& key) {
      const auto found = side.find(key);
      return found == side.end() ? std::nullopt : std::optional(found->second);
    };
    for (const auto& key : keys) {
      ChangeRow change{revision,
                       static_cast<std::int64_t>(step.second.size()) + 1,
                       key.first,
                       key.second,
                       in(log_.bodies(), key),
                       in(bodies, key)};
      if (change.before != change.after) step.second.push_back(std::move(change));
    }
    if (step.second.empty()) return std::nullopt;
    log_.drop_undone();
    step.first.revision = revision;
    step.first.at = at;
    step.first.verb = "do";
    step.first.label = fmt::format("recovered from {}", damaged.filename().string());
    step.first.state = "done";
    step.first.changes = static_cast<std::int64_t>(step.second.size());
    return step;
  }

  void put_papers(NewBook& book, const Bodies& bodies) {
    auto named = papers_named(bodies);
    std::set<std::string> put;
    for (const auto& at : found_.papers) {
      auto row = pages_.row(at.page, at.cell);
      auto paper = row ? as_paper(std::move(*row)) : std::nullopt;
      if (!paper) continue;
      const auto document = named.find(paper->sha256);
      if (!paper->sum_fits) {
        if (document == named.end()) continue;
        paper->media_type = document->second.second;
      }
      book.put(*paper);
      put.insert(paper->sha256);
      if (document != named.end()) named.erase(document);
    }
    recovered_.papers = static_cast<std::int64_t>(put.size());
    for (const auto& [sha256, document] : named)
      recovered_.lost.push_back({fmt::format("paper {}", sha256), fmt::format("of {} is lost", document.first), {}});
  }

  void tell_of_the_file() {
    auto& lost = recovered_.lost;
    if (log_.prefix() < log_.last()) {
      lost.push_back(
          {"log",
           log_.prefix() == 0
               ? fmt::format("its {} entries are not kept, because the first does not read", log_.last())
               : fmt::format("entries {} to {} are not kept, because the first of them does not read or does "
                             "not fit",
                             log_.prefix() + 1, log_.last()),
           {}});
    }
    if (pages_.wal_cut()) {
      lost.push_back({"-wal", "the changes beside the file read only in part: the latest steps may be lost", {}});
    }
    if (pages_.schema_told() > schema_version()) {
      lost.push_back(
          {"schema",
           fmt::format("the file says it is of schema {}, of which this program knows up to {}: if that is so, "
                       "use a newer program",
                       pages_.schema_told(), schema_version()),
           {}});
    }
    recovered_.bad_pages = listed(found_.bad_pages);
    if (pages_.count_told() > pages_.count()) {
      recovered_.bad_pages += fmt::format("{}all after {}, of {}", recovered_.bad_pages.empty() ? "" : ", ",
                                          pages_.count(), pages_.count_told());
    }
  }

  const Pages& pages_;
  const Found& found_;
  Log log_;
  Recovered recovered_;
};

}  // namespace

Result<Recovered> recover(const std::filesystem::path& damaged, const std::filesystem::path& target,
                          std::string_view at, const Options& options) {
  const auto pages = Pages::open(damaged);
  if (!pages.ok()) return pages.faults();
  const auto found = Finder(*pages).run();
  if (!found.anything)
    return file_fault(damaged, "holds nothing of a book that could be saved: no row in it fits its checksum");
  auto draft = Draft::beside(target, false);
  if (!draft.ok()) return draft.faults();
  auto recovered = guarded(target, [&]() -> Result<Recovered> {
    auto connection = connect_new(draft->path(), options);
    if (!connection.ok()) return connection.faults();
    auto filled = Recovery(*pages, found).fill(*connection->database, damaged, at);
    if (connection->database->execAndGet("PRAGMA wal_checkpoint(TRUNCATE)").getInt() != 0)
      return file_fault(target, "cannot be made: another program holds it");
    return filled;
  });
  if (!recovered.ok()) return recovered.faults();
  {
    const auto made = Store::open(draft->path(), Mode::kReadOnly, options);
    const auto problems = made.ok() ? made->verify() : Result<std::vector<Problem>>(made.faults());
    if (!problems.ok()) return problems.faults();
    for (const auto& problem : *problems) {
      // A document whose paper is lost is told among what is lost.
      const bool paper = problem.problem.starts_with("has lost its paper");
      if (problem.weight == Problem::Weight::kDamage && !paper)
        return file_fault(target, fmt::format("was not made: what was saved does not hang together ({}: {})",
                                              problem.where, problem.problem));
    }
  }
  if (auto placed = draft->place(); !placed.ok()) return placed.faults();
  return recovered;
}

}  // namespace lathbook::store
