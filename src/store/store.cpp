#include "store/store.h"

#include <SQLiteCpp/Backup.h>
#include <SQLiteCpp/Transaction.h>
#include <fmt/core.h>
#include <sqlite3.h>

#include <algorithm>
#include <array>
#include <cmath>
#include <system_error>

#include "store/failure.h"
#include "store/files.h"
#include "store/impl.h"
#include "store/migrate.h"

namespace lathbook::store {
namespace {

using reason::Fault;
using reason::FaultKind;
using reason::Faults;
using SQLite::Statement;
using SQLite::Transaction;
using SQLite::TransactionBehavior;

std::optional<std::string> text_or_nothing(const SQLite::Column& column) {
  if (column.isNull()) return std::nullopt;
  return column.getString();
}

void bind_maybe(Statement& statement, int index, const std::optional<std::string>& value) {
  if (value) {
    statement.bindNoCopy(index, *value);
  } else {
    statement.bind(index);
  }
}

void bind_maybe(Statement& statement, int index, std::optional<std::int64_t> value) {
  if (value) {
    statement.bind(index, *value);
  } else {
    statement.bind(index);
  }
}

/// Text of a row whose sum fits, as JSON. What was written is JSON; a file made to deceive may hold anything: null,
/// then.
Json json_of(std::string_view text) {
  auto json = Json::parse(text, nullptr, false);
  return json.is_discarded() ? Json() : json;
}

std::optional<Json> json_or_nothing(const std::optional<std::string>& text) {
  if (!text) return std::nullopt;
  return json_of(*text);
}

std::string name_of(std::string_view kind, std::string_view id) { return fmt::format("{} {}", kind, id); }

// ---- what may be written --------------------------------------------------------------------------------------------

/// JSON text cannot hold NaN or infinity: they would come back as null.
bool is_finite(const Json& value) {
  if (value.is_number_float()) return std::isfinite(value.get<double>());
  if (!value.is_structured()) return true;
  return std::ranges::all_of(value, is_finite);
}

bool is_word(std::string_view text) {
  const auto plain = [](char c) {
    return (c >= 'a' && c <= 'z') || (c >= 'A' && c <= 'Z') || (c >= '0' && c <= '9') || c == '-' || c == '_';
  };
  return !text.empty() && text.size() <= 64 && std::ranges::all_of(text, plain);
}

/// `YYYY-MM-DDThh:mm:ssZ`; whether there is such a day is the caller's business.
bool is_time(std::string_view text) {
  constexpr std::string_view kForm = "0000-00-00T00:00:00Z";
  const auto fits = [](char c, char form) { return form == '0' ? c >= '0' && c <= '9' : c == form; };
  return text.size() == kForm.size() && std::ranges::equal(text, kForm, fits);
}

Faults faults_of_time(std::string_view at) {
  if (is_time(at)) return {};
  return {{"at", std::string(at), "is not a moment in UTC", "YYYY-MM-DDThh:mm:ssZ"}};
}

/// The body as it is kept: compact, fields sorted. Nothing = the faults say why not.
std::optional<std::string> text_of(const Edit& edit, const std::string& where, Faults& faults) {
  const Json& body = *edit.after;
  if (!body.is_object()) {
    faults.push_back({where, "", "is not an object", "the item as in the open form"});
    return std::nullopt;
  }
  if (const auto id = body.find("id"); id != body.end() && *id != edit.id) {
    faults.push_back({where + "/id", id->dump(-1, ' ', false, Json::error_handler_t::replace),
                      "is not the id of the record", edit.id});
    return std::nullopt;
  }
  if (!is_finite(body)) {
    faults.push_back({where, "", "holds a number that is not finite", "finite numbers"});
    return std::nullopt;
  }
  try {
    return body.dump();
  } catch (const Json::type_error&) {
    faults.push_back({where, "", "holds text that is not UTF-8", "UTF-8"});
    return std::nullopt;
  }
}

Fault moved_on(const std::filesystem::path& path, Revision now, Revision expected) {
  return file_fault(
      path,
      fmt::format("was changed by another program since it was read (revision {} then, {} now); nothing was written, "
                  "read it again",
                  expected, now),
      FaultKind::kConflict);
}

Fault read_only(const std::filesystem::path& path) { return file_fault(path, "is opened for reading only"); }

// ---- reading and writing rows ---------------------------------------------------------------------------------------

Result<Meta> read_meta(const Store::Impl& impl) {
  Statement query(impl.database(), "SELECT revision, records, records_sum, sum FROM meta");
  if (!query.executeStep()) return damaged(impl.path, "the row of meta");
  const Meta meta{query.getColumn(0).getInt64(), query.getColumn(1).getInt64(), query.getColumn(2).getInt64()};
  if (query.getColumn(3).getInt64() != sum_of_meta(meta)) return damaged(impl.path, "the row of meta");
  return meta;
}

void write_meta(SQLite::Database& database, const Meta& meta) {
  Statement statement(database,
                      "INSERT OR REPLACE INTO meta (one, revision, records, records_sum, sum) VALUES (1, ?, ?, ?, ?)");
  statement.bind(1, meta.revision);
  statement.bind(2, meta.records);
  statement.bind(3, meta.records_sum);
  statement.bind(4, sum_of_meta(meta));
  statement.exec();
}

/// Writes rows within the caller's transaction, with their sums, and keeps count for `meta`.
class Writer {
 public:
  Writer(const Store::Impl& impl, const Meta& meta)
      : impl_(impl),
        meta_(meta),
        find_(impl.database(), "SELECT body, revision, sum FROM records WHERE kind = ? AND id = ?"),
        put_(impl.database(), "INSERT OR REPLACE INTO records (kind, id, revision, body, sum) VALUES (?, ?, ?, ?, ?)"),
        drop_(impl.database(), "DELETE FROM records WHERE kind = ? AND id = ?"),
        change_(impl.database(),
                "INSERT INTO changes (revision, step, kind, id, before, after, sum) VALUES (?, ?, ?, ?, ?, ?, ?)"),
        log_(impl.database(),
             "INSERT INTO log (revision, at, verb, label, of, state, changes, sum) VALUES (?, ?, ?, ?, ?, ?, ?, ?)") {
    ++meta_.revision;
  }

  [[nodiscard]] Revision revision() const { return meta_.revision; }

  struct Current {
    std::optional<std::string> body;
    Revision revision = 0;
    std::int64_t sum = 0;
  };

  [[nodiscard]] Result<Current> find(const std::string& kind, const std::string& id) {
    find_.reset();
    find_.bindNoCopy(1, kind);
    find_.bindNoCopy(2, id);
    if (!find_.executeStep()) return Current{};
    Current current{find_.getColumn(0).getString(), find_.getColumn(1).getInt64(), find_.getColumn(2).getInt64()};
    find_.reset();
    if (current.sum != sum_of_record(sum_, kind, id, current.revision, *current.body))
      return damaged(impl_.path, name_of(kind, id));
    return current;
  }

  /// Puts `body` in place of `current`, or removes the record when there is none.
  void put(const std::string& kind, const std::string& id, const Current& current,
           const std::optional<std::string>& body) {
    if (current.body) {
      --meta_.records;
      meta_.records_sum = sum_minus(meta_.records_sum, current.sum);
    }
    auto& statement = body ? put_ : drop_;
    statement.reset();
    statement.bindNoCopy(1, kind);
    statement.bindNoCopy(2, id);
    if (body) {
      const auto sum = sum_of_record(sum_, kind, id, meta_.revision, *body);
      ++meta_.records;
      meta_.records_sum = sum_plus(meta_.records_sum, sum);
      statement.bind(3, meta_.revision);
      statement.bindNoCopy(4, *body);
      statement.bind(5, sum);
    }
    statement.exec();
  }

  void note_change(const std::string& kind, const std::string& id, const std::optional<std::string>& before,
                   const std::optional<std::string>& after) {
    const ChangeRow row{meta_.revision, ++steps_, kind, id, before, after};
    change_.reset();
    change_.bind(1, row.revision);
    change_.bind(2, row.step);
    change_.bindNoCopy(3, row.kind);
    change_.bindNoCopy(4, row.id);
    bind_maybe(change_, 5, row.before);
    bind_maybe(change_, 6, row.after);
    change_.bind(7, row.true_sum());
    change_.exec();
  }

  /// The entry of the log for what was written, and the new row of `meta`.
  void finish(std::string_view at, std::string_view verb, std::string_view label, std::optional<Revision> of,
              std::int64_t changes) {
    LogRow row;
    row.revision = meta_.revision;
    row.at = at;
    row.verb = verb;
    row.label = label;
    row.of = of;
    if (!of) row.state = "done";
    row.changes = changes;
    log_.reset();
    log_.bind(1, row.revision);
    log_.bind(2, row.at);
    log_.bind(3, row.verb);
    log_.bind(4, row.label);
    bind_maybe(log_, 5, row.of);
    bind_maybe(log_, 6, row.state);
    log_.bind(7, row.changes);
    log_.bind(8, row.true_sum());
    log_.exec();
    write_meta(impl_.database(), meta_);
  }

 private:
  const Store::Impl& impl_;
  Meta meta_;
  SumOf sum_;
  std::int64_t steps_ = 0;
  Statement find_;
  Statement put_;
  Statement drop_;
  Statement change_;
  Statement log_;
};

void set_state(SQLite::Database& database, LogRow row, std::string_view state) {
  row.state = state;
  Statement statement(database, "UPDATE log SET state = ?, sum = ? WHERE revision = ?");
  statement.bind(1, *row.state);
  statement.bind(2, row.true_sum());
  statement.bind(3, row.revision);
  statement.exec();
}

/// The rows of a query over the log, each with its sum checked.
Result<std::vector<LogRow>> log_rows(const Store::Impl& impl, Statement& query) {
  std::vector<LogRow> rows;
  while (query.executeStep()) {
    rows.push_back(log_row(query));
    if (rows.back().sum != rows.back().true_sum())
      return damaged(impl.path, fmt::format("entry {} of the log", rows.back().revision));
  }
  return rows;
}

Result<std::vector<ChangeRow>> change_rows(const Store::Impl& impl, const LogRow& step) {
  Statement query(impl.database(),
                  "SELECT revision, step, kind, id, before, after, sum FROM changes WHERE revision = ? ORDER BY step");
  query.bind(1, step.revision);
  std::vector<ChangeRow> rows;
  while (query.executeStep()) {
    rows.push_back(change_row(query));
    if (rows.back().sum != rows.back().true_sum()) {
      return damaged(impl.path, fmt::format("change {} of entry {} of the log", rows.back().step, step.revision));
    }
  }
  if (static_cast<std::int64_t>(rows.size()) != step.changes)
    return damaged(impl.path, fmt::format("entry {} of the log", step.revision));
  return rows;
}

constexpr const char* kLogColumns = "SELECT revision, at, verb, label, of, state, changes, sum FROM log ";

// ---- once under one key ---------------------------------------------------------------------------------------------

constexpr std::size_t kLongestKey = 128;

Faults faults_of_key(std::string_view key) {
  const auto printed = [](char c) { return c > ' ' && c <= '~'; };
  if (key.size() <= kLongestKey && std::ranges::all_of(key, printed)) return {};
  return {{"key", "", "is not the key of a request",
           fmt::format("up to {} printed ASCII characters without a space", kLongestKey)}};
}

/// What the request of `key` did before, told again from the log; nothing when it is new or there is no key.
Result<std::optional<Applied>> find_done(const Store::Impl& impl, std::string_view key) {
  if (key.empty()) return std::optional<Applied>();
  Statement asked(impl.database(), "SELECT revision, sum FROM asked WHERE key = ?");
  asked.bind(1, std::string(key));
  if (!asked.executeStep()) return std::optional<Applied>();
  Applied applied;
  applied.revision = asked.getColumn(0).getInt64();
  applied.again = true;
  const auto where = fmt::format("the request that made entry {} of the log", applied.revision);
  if (asked.getColumn(1).getInt64() != sum_of_asked(key, applied.revision)) return damaged(impl.path, where);
  Statement query(impl.database(), std::string(kLogColumns) +
                                       "WHERE revision IN (?1, (SELECT of FROM log WHERE "
                                       "revision = ?1)) ORDER BY revision DESC");
  query.bind(1, applied.revision);
  const auto entries = log_rows(impl, query);
  if (!entries.ok()) return entries.faults();
  if (entries->empty()) return damaged(impl.path, where);
  applied.label = entries->front().label;
  auto rows = change_rows(impl, entries->back());  // an undo or redo has those of the step meant
  if (!rows.ok()) return rows.faults();
  if (entries->front().verb == "undo") {
    std::ranges::reverse(*rows);
    for (auto& row : *rows) std::swap(row.before, row.after);
  }
  for (auto& row : *rows) {
    applied.changes.push_back(
        {std::move(row.kind), std::move(row.id), json_or_nothing(row.before), json_or_nothing(row.after)});
  }
  return std::optional(std::move(applied));
}

void remember(const Store::Impl& impl, std::string_view key, Revision revision) {
  if (key.empty()) return;
  Statement statement(impl.database(), "INSERT INTO asked (key, revision, sum) VALUES (?, ?, ?)");
  statement.bind(1, std::string(key));
  statement.bind(2, revision);
  statement.bind(3, sum_of_asked(key, revision));
  statement.exec();
}

// ---- reading everything ---------------------------------------------------------------------------------------------

struct Finalize {
  void operator()(sqlite3_stmt* statement) const { sqlite3_finalize(statement); }
};

std::string_view column_text(sqlite3_stmt* statement, int index) {
  const auto* text = reinterpret_cast<const char*>(sqlite3_column_text(statement, index));
  return {text, static_cast<std::size_t>(sqlite3_column_bytes(statement, index))};
}

/// Within each kind the rows come in the order of text (M1, M10, M2); by length first they are in the order of reading,
/// because ids of one kind differ in their number only.
std::vector<RecordText> in_order_of_reading(std::vector<RecordText> rows) {
  std::vector<RecordText> out;
  out.reserve(rows.size());
  for (std::size_t from = 0; from < rows.size();) {
    std::size_t to = from;
    std::size_t longest = 0;
    for (; to < rows.size() && rows[to].kind == rows[from].kind; ++to) longest = std::max(longest, rows[to].id.size());
    for (std::size_t length = 0; length <= longest; ++length) {
      for (std::size_t i = from; i < to; ++i) {
        // A row moved out has an empty kind: no record has.
        if (!rows[i].kind.empty() && rows[i].id.size() == length) out.push_back(std::move(rows[i]));
      }
    }
    from = to;
  }
  return out;
}

Result<ContentsText> read_contents(const Store::Impl& impl) {
  // One moment for both queries.
  Transaction transaction(impl.database(), TransactionBehavior::DEFERRED);
  const auto meta = read_meta(impl);
  if (!meta.ok()) return meta.faults();

  // Straight on SQLite's own interface: this is the one loop that runs over every row on every start.
  sqlite3_stmt* raw = nullptr;
  constexpr std::string_view kQuery = "SELECT kind, id, revision, body, sum FROM records ORDER BY kind, id";
  const int prepared =
      sqlite3_prepare_v2(impl.database().getHandle(), kQuery.data(), static_cast<int>(kQuery.size()), &raw, nullptr);
  const std::unique_ptr<sqlite3_stmt, Finalize> query(raw);
  if (prepared != SQLITE_OK) throw SQLite::Exception(impl.database().getHandle(), prepared);

  ContentsText contents{meta->revision, {}};
  contents.records.reserve(static_cast<std::size_t>(std::clamp<std::int64_t>(meta->records, 0, 1'000'000)));
  Faults faults;
  SumOf sum;
  std::int64_t records_sum = 0;
  int step = SQLITE_ROW;
  while ((step = sqlite3_step(raw)) == SQLITE_ROW) {
    const RecordText& row =
        contents.records.emplace_back(RecordText{std::string(column_text(raw, 0)), std::string(column_text(raw, 1)),
                                                 std::string(column_text(raw, 3)), sqlite3_column_int64(raw, 2)});
    const std::int64_t stored = sqlite3_column_int64(raw, 4);
    if (stored != sum_of_record(sum, row.kind, row.id, row.revision, row.body))
      faults.push_back(damaged(impl.path, name_of(row.kind, row.id)));
    records_sum = sum_plus(records_sum, stored);
  }
  if (step != SQLITE_DONE) throw SQLite::Exception(impl.database().getHandle(), step);
  if (!faults.empty()) return faults;
  if (static_cast<std::int64_t>(contents.records.size()) != meta->records || records_sum != meta->records_sum) {
    return file_fault(impl.path, fmt::format("is damaged: it should hold {} records, {} are left", meta->records,
                                             contents.records.size()));
  }
  contents.records = in_order_of_reading(std::move(contents.records));
  return contents;
}

std::filesystem::path full_path(const std::filesystem::path& path) {
  std::error_code error;
  auto out = std::filesystem::absolute(path, error);
  return error ? path : out;
}

}  // namespace

// ---- sums of rows --------------------------------------------------------------------------------------------

std::int64_t sum_of_meta(const Meta& meta) {
  return SumOf().integer(meta.revision).integer(meta.records).integer(meta.records_sum).take();
}

std::int64_t sum_of_record(SumOf& sum, std::string_view kind, std::string_view id, Revision revision,
                           std::string_view body) {
  return sum.text(kind).text(id).integer(revision).text(body).take();
}

std::int64_t sum_of_blob(std::string_view sha256, std::string_view media_type, std::int64_t bytes) {
  return SumOf().text(sha256).text(media_type).integer(bytes).take();
}

std::int64_t sum_of_asked(std::string_view key, Revision revision) {
  return SumOf().text(key).integer(revision).take();
}

std::int64_t ChangeRow::true_sum() const {
  return SumOf()
      .integer(revision)
      .integer(step)
      .text(std::string_view(kind))
      .text(std::string_view(id))
      .text(before)
      .text(after)
      .take();
}

std::int64_t LogRow::true_sum() const {
  return SumOf()
      .integer(revision)
      .text(std::string_view(at))
      .text(std::string_view(verb))
      .text(std::string_view(label))
      .integer(of)
      .text(state)
      .integer(changes)
      .take();
}

LogRow log_row(Statement& at_row) {
  LogRow row{at_row.getColumn(0).getInt64(),
             at_row.getColumn(1).getString(),
             at_row.getColumn(2).getString(),
             at_row.getColumn(3).getString(),
             std::nullopt,
             text_or_nothing(at_row.getColumn(5)),
             at_row.getColumn(6).getInt64(),
             at_row.getColumn(7).getInt64()};
  if (!at_row.getColumn(4).isNull()) row.of = at_row.getColumn(4).getInt64();
  return row;
}

ChangeRow change_row(Statement& at_row) {
  return {at_row.getColumn(0).getInt64(),  at_row.getColumn(1).getInt64(),       at_row.getColumn(2).getString(),
          at_row.getColumn(3).getString(), text_or_nothing(at_row.getColumn(4)), text_or_nothing(at_row.getColumn(5)),
          at_row.getColumn(6).getInt64()};
}

Fault damaged(const std::filesystem::path& path, std::string_view row) {
  return file_fault(path, fmt::format("is damaged: {} does not fit its checksum", row));
}

// ---- the interface -------------------------------------------------------------------------------------------

Store::Store(std::unique_ptr<Impl> impl) : impl_(std::move(impl)) {}
Store::Store(Store&&) noexcept = default;
Store& Store::operator=(Store&&) noexcept = default;
Store::~Store() = default;

const std::filesystem::path& Store::path() const { return impl_->path; }
const std::optional<std::filesystem::path>& Store::old_copy() const { return impl_->connection.kept; }

Result<Store> Store::create(const std::filesystem::path& path, const std::function<Result<Done>(Store&)>& fill,
                            const Options& options) {
  const auto full = full_path(path);
  auto draft = Draft::beside(full, false);
  if (!draft.ok()) return draft.faults();
  {
    auto connection = connect_new(draft->path(), options);
    if (!connection.ok()) {
      // The fault is about the file the person asked for.
      auto faults = connection.faults();
      for (auto& fault : faults) fault.where = full.string();
      return faults;
    }
    Store store(std::make_unique<Impl>(Impl{full, options, std::move(connection).value()}));
    auto begun = guarded(full, [&]() -> Result<Done> {
      write_meta(store.impl_->database(), {});
      return Done{};
    });
    if (!begun.ok()) return begun.faults();
    if (fill) {
      if (auto filled = fill(store); !filled.ok()) return filled.faults();
    }
    // Brings everything into the one file; a failure would leave it beside, where the new name does not lead.
    auto home = guarded(full, [&]() -> Result<Done> {
      if (store.impl_->database().execAndGet("PRAGMA wal_checkpoint(TRUNCATE)").getInt() == 0) return Done{};
      return file_fault(full, "cannot be made: another program holds it");
    });
    if (!home.ok()) return home.faults();
  }
  if (auto placed = draft->place(); !placed.ok()) return placed.faults();
  return open(full, Mode::kReadWrite, options);
}

Result<Store> Store::open(const std::filesystem::path& path, Mode mode, const Options& options) {
  const auto full = full_path(path);
  auto connection = connect(full, mode, options);
  if (!connection.ok()) return connection.faults();
  Store store(std::make_unique<Impl>(Impl{full, options, std::move(connection).value()}));
  if (auto revision = store.revision(); !revision.ok()) return revision.faults();
  return store;
}

Result<Revision> Store::revision() const {
  return guarded(impl_->path, [&]() -> Result<Revision> {
    const auto meta = read_meta(*impl_);
    if (!meta.ok()) return meta.faults();
    return meta->revision;
  });
}

Result<ContentsText> Store::read_all_text() const {
  return guarded(impl_->path, [&] { return read_contents(*impl_); });
}

Result<Contents> Store::read_all() const {
  auto texts = read_all_text();
  if (!texts.ok()) return texts.faults();
  Contents contents{texts->revision, {}};
  contents.records.reserve(texts->records.size());
  Faults faults;
  for (auto& row : texts->records) {
    auto body = json_of(row.body);
    if (!body.is_object())
      faults.push_back(
          file_fault(impl_->path, fmt::format("is damaged: {} is not an object", name_of(row.kind, row.id))));
    contents.records.push_back({std::move(row.kind), std::move(row.id), std::move(body), row.revision});
  }
  if (!faults.empty()) return faults;
  return contents;
}

Result<Record> Store::read(std::string_view kind, std::string_view id) const {
  return guarded(impl_->path, [&]() -> Result<Record> {
    Statement query(impl_->database(), "SELECT body, revision, sum FROM records WHERE kind = ? AND id = ?");
    query.bind(1, std::string(kind));
    query.bind(2, std::string(id));
    if (!query.executeStep()) {
      return Fault{name_of(kind, id), "", fmt::format("is not in {}", impl_->path.string()), "", FaultKind::kMissing};
    }
    const auto body = query.getColumn(0).getString();
    const Revision revision = query.getColumn(1).getInt64();
    SumOf sum;
    if (query.getColumn(2).getInt64() != sum_of_record(sum, kind, id, revision, body))
      return damaged(impl_->path, name_of(kind, id));
    return Record{std::string(kind), std::string(id), json_of(body), revision};
  });
}

namespace {

std::optional<Fault> fault_of_size(std::string_view bytes) {
  constexpr std::size_t kMost = 256U << 20U;
  if (bytes.size() <= kMost) return std::nullopt;
  return Fault{"", fmt::format("{} bytes", bytes.size()), "is too large for a paper of the book",
               fmt::format("up to {} bytes", kMost)};
}

/// Keeps bytes under their digest, which it answers, as part of the transaction under way.
std::string keep_blob(Store::Impl& impl, const NewBlob& blob) {
  auto sha256 = sha256_hex(blob.bytes);
  Statement statement(impl.database(),
                      "INSERT INTO blobs (sha256, media_type, bytes, data, sum) VALUES (?, ?, ?, ?, ?) ON CONFLICT "
                      "(sha256) DO NOTHING");
  const auto size = static_cast<std::int64_t>(blob.bytes.size());
  statement.bind(1, sha256);
  statement.bind(2, std::string(blob.media_type));
  statement.bind(3, size);
  // An empty view may hold no address, which SQLite would take for NULL.
  statement.bindNoCopy(4, blob.bytes.empty() ? "" : blob.bytes.data(), static_cast<int>(blob.bytes.size()));
  statement.bind(5, sum_of_blob(sha256, blob.media_type, size));
  statement.exec();
  return sha256;
}

}  // namespace

Result<Applied> Store::apply(std::string_view label, std::string_view at, std::span<const Edit> edits,
                             std::optional<Revision> expected_revision, std::string_view key,
                             std::span<const NewBlob> blobs) {
  if (!impl_->connection.writable) return read_only(impl_->path);
  Faults faults = faults_of_time(at);
  for (auto& fault : faults_of_key(key)) faults.push_back(std::move(fault));
  for (const auto& blob : blobs) {
    if (auto fault = fault_of_size(blob.bytes)) faults.push_back(std::move(*fault));
  }
  std::vector<std::optional<std::string>> texts(edits.size());
  for (std::size_t i = 0; i < edits.size(); ++i) {
    const auto where = name_of(edits[i].kind, edits[i].id);
    if (!is_word(edits[i].kind) || !is_word(edits[i].id)) {
      faults.push_back(
          {where, "", "is not a name for a record", "a kind and an id of 1 to 64 letters, digits, - and _"});
    }
    if (edits[i].after) texts[i] = text_of(edits[i], where, faults);
  }
  if (!faults.empty()) return faults;

  return guarded(impl_->path, [&]() -> Result<Applied> {
    Transaction transaction(impl_->database(), TransactionBehavior::IMMEDIATE);
    auto before = find_done(*impl_, key);
    if (!before.ok()) return before.faults();
    if (*before) return std::move(**before);
    const auto meta = read_meta(*impl_);
    if (!meta.ok()) return meta.faults();
    if (expected_revision && *expected_revision != meta->revision)
      return moved_on(impl_->path, meta->revision, *expected_revision);

    Writer writer(*impl_, *meta);
    Applied applied{writer.revision(), std::string(label), {}};
    for (std::size_t i = 0; i < edits.size(); ++i) {
      const auto& edit = edits[i];
      const auto current = writer.find(edit.kind, edit.id);
      if (!current.ok()) return current.faults();
      if (edit.expected_revision && *edit.expected_revision != current->revision) {
        faults.push_back({name_of(edit.kind, edit.id), "",
                          "was changed by another program since it was read; nothing was written, read it again", "",
                          FaultKind::kConflict});
        continue;
      }
      if (!edit.after && !current->body) {
        faults.push_back(
            {name_of(edit.kind, edit.id), "", "is not in the book, so it cannot be removed", "", FaultKind::kMissing});
        continue;
      }
      if (texts[i] == current->body) continue;
      writer.put(edit.kind, edit.id, *current, texts[i]);
      writer.note_change(edit.kind, edit.id, current->body, texts[i]);
      applied.changes.push_back({edit.kind, edit.id, json_or_nothing(current->body), edit.after});
    }
    if (!faults.empty()) return faults;
    if (applied.changes.empty()) {
      applied.revision = meta->revision;
      return applied;
    }
    Statement overtaken(impl_->database(), std::string(kLogColumns) + "WHERE state = 'undone'");
    const auto undone = log_rows(*impl_, overtaken);
    if (!undone.ok()) return undone.faults();
    for (const auto& row : *undone) set_state(impl_->database(), row, "dropped");
    for (const auto& blob : blobs) keep_blob(*impl_, blob);
    writer.finish(at, "do", label, std::nullopt, static_cast<std::int64_t>(applied.changes.size()));
    remember(*impl_, key, applied.revision);
    transaction.commit();
    return applied;
  });
}

namespace {

/// Undo and redo are the same walk in two directions.
struct Direction {
  std::string_view verb;
  std::string_view query;      ///< finds the step meant
  std::string_view new_state;  ///< of that step
  std::string_view nothing;    ///< said when there is no such step
  bool back;
};

constexpr Direction kUndo{"undo", "WHERE state = 'done' ORDER BY revision DESC LIMIT 1", "undone",
                          "there is nothing to undo", true};
constexpr Direction kRedo{"redo", "WHERE state = 'undone' ORDER BY revision LIMIT 1", "done",
                          "there is nothing to redo", false};

Result<Applied> walk(const Store::Impl& impl, const Direction& direction, std::string_view at,
                     std::optional<Revision> expected_revision, std::string_view key) {
  if (!impl.connection.writable) return read_only(impl.path);
  Faults faults = faults_of_time(at);
  for (auto& fault : faults_of_key(key)) faults.push_back(std::move(fault));
  if (!faults.empty()) return faults;
  return guarded(impl.path, [&]() -> Result<Applied> {
    Transaction transaction(impl.database(), TransactionBehavior::IMMEDIATE);
    auto before = find_done(impl, key);
    if (!before.ok()) return before.faults();
    if (*before) return std::move(**before);
    const auto meta = read_meta(impl);
    if (!meta.ok()) return meta.faults();
    if (expected_revision && *expected_revision != meta->revision)
      return moved_on(impl.path, meta->revision, *expected_revision);

    Statement query(impl.database(), std::string(kLogColumns) + std::string(direction.query));
    const auto found = log_rows(impl, query);
    if (!found.ok()) return found.faults();
    if (found->empty()) return file_fault(impl.path, std::string(direction.nothing), FaultKind::kMissing);
    const LogRow& step = found->front();
    auto rows = change_rows(impl, step);
    if (!rows.ok()) return rows.faults();
    if (direction.back) {
      std::ranges::reverse(*rows);
      for (auto& row : *rows) std::swap(row.before, row.after);
    }

    Writer writer(impl, *meta);
    Applied applied{writer.revision(), step.label, {}};
    for (const auto& row : *rows) {
      const auto current = writer.find(row.kind, row.id);
      if (!current.ok()) return current.faults();
      if (current->body != row.before) {
        return file_fault(impl.path, fmt::format("is damaged: {} does not fit the log, so entry {} stays as it is",
                                                 name_of(row.kind, row.id), step.revision));
      }
      writer.put(row.kind, row.id, *current, row.after);
      applied.changes.push_back({row.kind, row.id, json_or_nothing(row.before), json_or_nothing(row.after)});
    }
    set_state(impl.database(), step, direction.new_state);
    writer.finish(at, direction.verb, step.label, step.revision, step.changes);
    remember(impl, key, applied.revision);
    transaction.commit();
    return applied;
  });
}

}  // namespace

Result<Applied> Store::undo(std::string_view at, std::optional<Revision> expected_revision, std::string_view key) {
  return walk(*impl_, kUndo, at, expected_revision, key);
}

Result<Applied> Store::redo(std::string_view at, std::optional<Revision> expected_revision, std::string_view key) {
  return walk(*impl_, kRedo, at, expected_revision, key);
}

Result<std::optional<Applied>> Store::done_under(std::string_view key) const {
  return guarded(impl_->path, [&] { return find_done(*impl_, key); });
}

Result<std::string> Store::book_id() const {
  return guarded(impl_->path, [&]() -> Result<std::string> {
    Statement first(impl_->database(), std::string(kLogColumns) + "WHERE revision = 1");
    const auto rows = log_rows(*impl_, first);
    if (!rows.ok()) return rows.faults();
    if (rows->empty()) return std::string();
    // The state of the entry may change, and its sum with it; what it put into the book does not.
    SumOf sums;
    sums.text(std::string_view(rows->front().at)).text(std::string_view(rows->front().label));
    Statement changes(impl_->database(), "SELECT sum FROM changes WHERE revision = 1 ORDER BY step");
    while (changes.executeStep()) sums.integer(changes.getColumn(0).getInt64());
    return fmt::format("{:016x}", static_cast<std::uint64_t>(sums.take()));
  });
}

Result<std::vector<Entry>> Store::history(std::size_t limit) const {
  return guarded(impl_->path, [&]() -> Result<std::vector<Entry>> {
    Statement query(impl_->database(), std::string(kLogColumns) + "ORDER BY revision DESC LIMIT ?");
    query.bind(1, static_cast<std::int64_t>(std::min<std::size_t>(limit, 1'000'000'000)));
    auto rows = log_rows(*impl_, query);
    if (!rows.ok()) return rows.faults();
    std::vector<Entry> entries;
    entries.reserve(rows->size());
    for (auto& row : *rows) {
      Entry entry{row.revision, std::move(row.at), Verb::kDo, std::move(row.label), row.of, std::nullopt, row.changes};
      if (row.verb == "undo") entry.verb = Verb::kUndo;
      if (row.verb == "redo") entry.verb = Verb::kRedo;
      if (row.state == "done") entry.state = StepState::kDone;
      if (row.state == "undone") entry.state = StepState::kUndone;
      if (row.state == "dropped") entry.state = StepState::kDropped;
      entries.push_back(std::move(entry));
    }
    return entries;
  });
}

Result<std::vector<Change>> Store::changes(Revision step) const {
  return guarded(impl_->path, [&]() -> Result<std::vector<Change>> {
    Statement query(impl_->database(), std::string(kLogColumns) + "WHERE revision = ? AND verb = 'do'");
    query.bind(1, step);
    const auto found = log_rows(*impl_, query);
    if (!found.ok()) return found.faults();
    if (found->empty())
      return file_fault(impl_->path, fmt::format("has no step {} in its log", step), FaultKind::kMissing);
    auto rows = change_rows(*impl_, found->front());
    if (!rows.ok()) return rows.faults();
    std::vector<Change> changes;
    changes.reserve(rows->size());
    for (auto& row : *rows) {
      changes.push_back(
          {std::move(row.kind), std::move(row.id), json_or_nothing(row.before), json_or_nothing(row.after)});
    }
    return changes;
  });
}

// ---- papers --------------------------------------------------------------------------------------------------

Result<std::string> Store::put_blob(std::string_view bytes, std::string_view media_type) {
  if (!impl_->connection.writable) return read_only(impl_->path);
  if (auto fault = fault_of_size(bytes)) return std::move(*fault);
  return guarded(impl_->path, [&]() -> Result<std::string> { return keep_blob(*impl_, {bytes, media_type}); });
}

Result<Blob> Store::get_blob(std::string_view sha256) const {
  return guarded(impl_->path, [&]() -> Result<Blob> {
    Statement query(impl_->database(), "SELECT media_type, bytes, data, sum FROM blobs WHERE sha256 = ?");
    query.bind(1, std::string(sha256));
    if (!query.executeStep()) {
      return Fault{std::string(sha256), "", fmt::format("is not among the papers of {}", impl_->path.string()), "",
                   FaultKind::kMissing};
    }
    Blob blob{query.getColumn(0).getString(), query.getColumn(2).getString()};
    if (query.getColumn(3).getInt64() != sum_of_blob(sha256, blob.media_type, query.getColumn(1).getInt64()) ||
        sha256_hex(blob.bytes) != sha256) {
      return damaged(impl_->path, fmt::format("paper {}", sha256));
    }
    return blob;
  });
}

Result<std::vector<std::string>> Store::ids_ever_used(std::string_view kind) const {
  return guarded(impl_->path, [&]() -> Result<std::vector<std::string>> {
    Statement query(impl_->database(), "SELECT DISTINCT id FROM changes WHERE kind = ?");
    query.bind(1, std::string(kind));
    std::vector<std::string> ids;
    while (query.executeStep()) ids.push_back(query.getColumn(0).getString());
    return ids;
  });
}

Result<std::vector<BlobInfo>> Store::blobs() const {
  return guarded(impl_->path, [&]() -> Result<std::vector<BlobInfo>> {
    Statement query(impl_->database(), "SELECT sha256, media_type, bytes FROM blobs ORDER BY sha256");
    std::vector<BlobInfo> blobs;
    while (query.executeStep()) {
      blobs.push_back({query.getColumn(0).getString(), query.getColumn(1).getString(), query.getColumn(2).getInt64()});
    }
    return blobs;
  });
}

// ---- the file as a whole -------------------------------------------------------------------------------------

Result<Done> Store::backup_to(const std::filesystem::path& target, bool replace) const {
  const auto full = full_path(target);
  std::error_code error;
  if (std::filesystem::equivalent(full, impl_->path, error))
    return file_fault(full, "is the book itself, not a place for its copy");
  auto draft = Draft::beside(full, replace);
  if (!draft.ok()) return draft.faults();
  auto copied = guarded(full, [&]() -> Result<Done> {
    SQLite::Database copy(draft->path().string(), SQLite::OPEN_READWRITE | SQLite::OPEN_CREATE);
    copy.exec("PRAGMA synchronous = OFF");
    SQLite::Backup backup(copy, impl_->database());
    if (const int step = backup.executeStep(); step != SQLITE_DONE)
      throw SQLite::Exception("the copy did not finish", step);
    return Done{};
  });
  if (!copied.ok()) return copied.faults();
  {
    // A copy that was not read back is a hope, not a copy.
    auto copy = open(draft->path(), Mode::kReadOnly, impl_->options);
    const auto contents = copy.ok() ? copy->read_all_text() : Result<ContentsText>(copy.faults());
    if (!contents.ok()) {
      return file_fault(full, fmt::format("was not made, because the copy does not read back: {}",
                                          contents.faults().front().problem));
    }
  }
  return draft->place();
}

Result<Done> Store::vacuum() {
  if (!impl_->connection.writable) return read_only(impl_->path);
  return guarded(impl_->path, [&]() -> Result<Done> {
    impl_->database().exec(
        "DELETE FROM blobs WHERE sha256 NOT IN ("
        "SELECT ifnull(body ->> 'sha256', '') FROM records WHERE kind = 'document' UNION "
        "SELECT ifnull(before ->> 'sha256', '') FROM changes WHERE kind = 'document' UNION "
        "SELECT ifnull(after ->> 'sha256', '') FROM changes WHERE kind = 'document')");
    impl_->database().exec("VACUUM");
    return Done{};
  });
}

}  // namespace lathbook::store
