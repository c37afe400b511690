// One house in one SQLite file: the records of the book, every change ever made to them, and the bytes of its papers.
//
// The store keeps records, not meanings: what a material is and which items lean on which is checked above (service).
// What it promises:
//  - All or nothing: a step (what a person did at one go) is written whole or not at all, and an answered step survives
//  a
//    kill and a power cut (WAL, synchronous=FULL). Nothing a file, a disk or another program does throws out of this
//    interface.
//  - Two writers: whoever read an older revision is told so (FaultKind::kConflict) and nothing is written.
//  - Once: a request that carries a key and is sent again writes nothing and is answered as it was.
//  - Nothing is forgotten: the log only grows; undo and redo are entries of it, and replaying it gives the records.
//  - Damage is told: each row carries a checksum, and the whole book one over all its records; reading checks both.
// The file itself is described in docs/formats/book-file.md, readable with the sqlite3 shell alone.
//
// A Store is used by one thread at a time; any number of Stores, in any number of processes, may share a file on a
// local disk. No clock inside: times come from the caller.
#pragma once

#include <chrono>
#include <cstdint>
#include <filesystem>
#include <functional>
#include <memory>
#include <nlohmann/json.hpp>
#include <optional>
#include <span>
#include <string>
#include <string_view>
#include <vector>

#include "reason/fault.h"

namespace lathbook::store {

using Json = nlohmann::json;
using reason::Done;
using reason::Result;

/// Counts the entries of the log: 0 for a new book, one more with each step, undo and redo.
using Revision = std::int64_t;

/// One item of the book. `body` is the item exactly as in the open JSON form, its `id` included, so that a row can be
/// read alone; the one item without an id, kind `about`, is kept under the id `about`, which its body does not repeat.
struct Record {
  std::string kind;
  std::string id;
  Json body;
  Revision revision = 0;  ///< of the book when this record last changed; 0 = not known
};

/// The same with its body as compact JSON text, for readers that parse late or their own way.
struct RecordText {
  std::string kind;
  std::string id;
  std::string body;
  Revision revision = 0;
};

/// All records and the revision they belong to, from one moment. Sorted by kind, then by id with M2 before M10.
struct Contents {
  Revision revision = 0;
  std::vector<Record> records;
};
struct ContentsText {
  Revision revision = 0;
  std::vector<RecordText> records;
};

/// One record put, replaced or removed.
struct Edit {
  std::string kind;
  std::string id;
  std::optional<Json> after;  ///< nothing = remove it
  /// If given, the record must still have this revision (0 = must not be there yet), or the step is refused.
  std::optional<Revision> expected_revision = std::nullopt;
};

/// What an edit did. Nothing before = it was new; nothing after = it was removed.
struct Change {
  std::string kind;
  std::string id;
  std::optional<Json> before;
  std::optional<Json> after;
  bool operator==(const Change&) const = default;
};

/// What a step, an undo or a redo did.
struct Applied {
  Revision revision = 0;  ///< the book's, after it
  std::string label;      ///< of the step done, undone or redone
  std::vector<Change> changes;
  bool again = false;  ///< was done before under the same key: nothing was written now
};

enum class Verb { kDo, kUndo, kRedo };
enum class StepState {
  kDone,     ///< in force: undo may reach it
  kUndone,   ///< taken back: redo may reach it
  kDropped,  ///< taken back and then overtaken by another step: kept for the record only
};

/// One entry of the log.
struct Entry {
  Revision revision = 0;  ///< its number, and the book's revision after it
  std::string at;         ///< UTC, as the caller gave it
  Verb verb = Verb::kDo;
  std::string label;               ///< what was asked for, in words; for undo and redo that of the step meant
  std::optional<Revision> of;      ///< undo and redo: the step meant
  std::optional<StepState> state;  ///< steps only
  std::int64_t changes = 0;        ///< how many records it touched
};

struct BlobInfo {
  std::string sha256;  ///< 64 lower-case hex digits
  std::string media_type;
  std::int64_t bytes = 0;
};
struct Blob {
  std::string media_type;
  std::string bytes;
};
/// Bytes that a step brings along, borrowed from whoever asks for it.
struct NewBlob {
  std::string_view bytes;
  std::string_view media_type;
};

/// Something verify() found.
struct Problem {
  enum class Weight {
    kDamage,  ///< something is lost or cannot be trusted
    kLoose,   ///< nothing is lost, but it should be tidied: a paper nobody names
  };
  Weight weight = Weight::kDamage;
  std::string where;  ///< record, blob, log entry or part of the file
  std::string problem;
  bool operator==(const Problem&) const = default;
};

enum class Mode {
  kReadOnly,   ///< never changes the book; works in a folder that cannot be written
  kReadWrite,  ///< brings an older schema up to date first, with a copy of the old file kept beside it
};

/// One step of the schema: SQL that leads from `version - 1` to `version`.
struct Migration {
  int version = 0;
  std::string_view sql;
};

struct Options {
  std::chrono::milliseconds wait{5000};        ///< how long to wait for another writer
  std::span<const Migration> migrations = {};  ///< empty = those of this program
};

/// The schema version this program writes.
[[nodiscard]] int schema_version();

/// Lower-case hex SHA-256: the name of a blob.
[[nodiscard]] std::string sha256_hex(std::string_view bytes);

class Store {
 public:
  /// Makes a new book. `fill` may already put things in; the file takes its name only when that has worked, so that no
  /// half-made book is ever seen. Never replaces a file (kConflict).
  [[nodiscard]] static Result<Store> create(const std::filesystem::path& path,
                                            const std::function<Result<Done>(Store&)>& fill = {},
                                            const Options& options = {});

  /// Opens a book. Faults: not there (kMissing); not a book, cut short, damaged, newer than this program, not writable
  /// (kFile); held by another writer (kConflict). The file is unharmed in every case.
  [[nodiscard]] static Result<Store> open(const std::filesystem::path& path, Mode mode, const Options& options = {});

  Store(Store&&) noexcept;
  Store& operator=(Store&&) noexcept;
  ~Store();  ///< the last one out leaves the single file: no -wal or -shm beside it

  [[nodiscard]] const std::filesystem::path& path() const;

  /// Where the file as it was lies, if opening it brought its schema up to date. It is kept until a person deletes it.
  [[nodiscard]] const std::optional<std::filesystem::path>& old_copy() const;

  /// The book's revision now (another program may have moved it since the last read).
  [[nodiscard]] Result<Revision> revision() const;

  /// Everything, in one query and from one moment. A damaged row is a fault naming it: a book is read whole or refused.
  [[nodiscard]] Result<Contents> read_all() const;
  [[nodiscard]] Result<ContentsText> read_all_text() const;

  /// One record; kMissing when there is none.
  [[nodiscard]] Result<Record> read(std::string_view kind, std::string_view id) const;

  /// Writes the edits, in order, as one step with one entry in the log. `label` says in words who did what; `at` is
  /// UTC, `YYYY-MM-DDThh:mm:ssZ`. Refused whole, all faults named, when `expected_revision` is given and the book has
  /// moved on, an edit's own revision does not hold, something to be removed is not there, or a body is not an object
  /// or holds another `id` than the edit. Edits that change nothing are left out; a step left with none writes
  /// nothing. `key` names the request, 1 to 128 characters chosen at random by who asks, empty = none: a step that
  /// wrote something is remembered under it in the same transaction, and asked for again it is answered, not done.
  /// `blobs` are kept as by put_blob() in that transaction too: a step that is refused leaves none behind.
  [[nodiscard]] Result<Applied> apply(std::string_view label, std::string_view at, std::span<const Edit> edits,
                                      std::optional<Revision> expected_revision = std::nullopt,
                                      std::string_view key = {}, std::span<const NewBlob> blobs = {});

  /// Takes back the latest step in force, or does the latest taken-back one again: bodies come back exactly. kMissing
  /// when there is nothing to take back or do again. A new step ends what could be redone.
  [[nodiscard]] Result<Applied> undo(std::string_view at, std::optional<Revision> expected_revision = std::nullopt,
                                     std::string_view key = {});
  [[nodiscard]] Result<Applied> redo(std::string_view at, std::optional<Revision> expected_revision = std::nullopt,
                                     std::string_view key = {});

  /// What the request of this key did; empty when it has written nothing.
  [[nodiscard]] Result<std::optional<Applied>> done_under(std::string_view key) const;

  /// Tells this book, with all its copies, from every other: 16 hex digits drawn from its first entry; empty while the
  /// log is.
  [[nodiscard]] Result<std::string> book_id() const;

  /// The latest `limit` entries of the log, newest first.
  [[nodiscard]] Result<std::vector<Entry>> history(std::size_t limit) const;
  /// What one step of the log did; kMissing when there is no such step.
  [[nodiscard]] Result<std::vector<Change>> changes(Revision step) const;

  /// Every id of a kind that the book has ever held, those of removed records included; in no order.
  [[nodiscard]] Result<std::vector<std::string>> ids_ever_used(std::string_view kind) const;

  /// Keeps bytes under their SHA-256 and answers it. The same bytes are kept once. Not part of undo: a blob stays when
  /// the document that names it is removed, until vacuum() finds that neither the book nor its log names it.
  [[nodiscard]] Result<std::string> put_blob(std::string_view bytes, std::string_view media_type);
  /// The bytes, checked against their name; kMissing when there are none.
  [[nodiscard]] Result<Blob> get_blob(std::string_view sha256) const;
  [[nodiscard]] Result<std::vector<BlobInfo>> blobs() const;

  /// Looks for damage: SQLite's own checks, the schema against this program's, every row's checksum, every body as
  /// JSON, every blob hashed again, documents without their blob, blobs nobody names, and the log replayed against the
  /// records. Empty = sound. A fault only when the file cannot be read at all.
  [[nodiscard]] Result<std::vector<Problem>> verify() const;

  /// Copies the book as it is now, while others may be using it. The copy is checked and takes its name last; an
  /// existing file is replaced only when told (kConflict otherwise).
  [[nodiscard]] Result<Done> backup_to(const std::filesystem::path& target, bool replace = false) const;

  /// Drops blobs that neither a record nor the log names and gives unused space back to the disk.
  [[nodiscard]] Result<Done> vacuum();

  struct Impl;  ///< known to the files of this folder alone

 private:
  explicit Store(std::unique_ptr<Impl> impl);
  std::unique_ptr<Impl> impl_;
};

}  // namespace lathbook::store
