// The pages of a book's file, and the rows on them, read without SQLite: for a file that SQLite will not read any more.
//
// Form: https://www.sqlite.org/fileformat2.html. Only what a book uses is read: UTF-8, no reserved bytes, no pointer
// map. What lies in the -wal beside the file is read as SQLite would: up to the last whole commit.
#pragma once

#include <cstdint>
#include <filesystem>
#include <map>
#include <memory>
#include <optional>
#include <set>
#include <string>
#include <string_view>
#include <variant>
#include <vector>

#include "reason/fault.h"
#include "store/raw_file.h"

namespace lathbook::store {

struct Bytes {
  std::string bytes;
  bool operator==(const Bytes&) const = default;
};
/// NULL, an integer, a number, a text, bytes.
using Value = std::variant<std::monostate, std::int64_t, double, std::string, Bytes>;

struct Row {
  std::int64_t rowid = 0;
  std::vector<Value> values;
};

/// How the rows of a table lie: by rowid, or by key as in an index (WITHOUT ROWID).
enum class Tree { kByRowid, kByKey };

using PageNumber = std::uint32_t;

/// A page of a tree.
struct Node {
  Tree tree = Tree::kByRowid;
  std::vector<PageNumber> children;
  std::vector<std::size_t> cells;  ///< where on the page a row begins
  bool whole = true;               ///< false: some of its pointers make no sense, and are not among these
};

class Pages {
 public:
  /// Nobody else may have the file open. Faults: not there or not to be opened (kMissing, kFile), in use (kConflict).
  [[nodiscard]] static reason::Result<Pages> open(const std::filesystem::path& path);

  /// Pages are numbered from 1; how many there are now, and how many the file says it should have.
  [[nodiscard]] PageNumber count() const { return count_; }
  [[nodiscard]] PageNumber count_told() const { return count_told_; }
  [[nodiscard]] int schema_told() const { return schema_told_; }
  /// The last changes in the -wal do not read.
  [[nodiscard]] bool wal_cut() const { return wal_cut_; }

  /// The bytes of a page; nothing when it is not there or the disk does not give it.
  [[nodiscard]] std::optional<std::string> page(PageNumber number) const;

  /// The page as one of a tree; nothing when it is none.
  [[nodiscard]] std::optional<Node> node(PageNumber number) const;

  /// A row of a page of a tree, with what of it lies on other pages; nothing when it makes no sense.
  [[nodiscard]] std::optional<Row> row(PageNumber number, std::size_t cell) const;

  /// Pages that hold nothing any more, if the list of them is whole.
  [[nodiscard]] std::optional<std::set<PageNumber>> free_pages() const;

 private:
  Pages() = default;
  void read_wal(const std::filesystem::path& path);
  [[nodiscard]] std::optional<std::string> payload(const std::string& bytes, std::size_t at, std::uint64_t length,
                                                   Tree tree) const;

  std::unique_ptr<RawFile> file_;
  std::unique_ptr<RawFile> wal_;
  std::map<PageNumber, std::int64_t> in_wal_;  ///< where in the -wal the page lies
  std::size_t page_bytes_ = 0;
  PageNumber count_ = 0;
  PageNumber count_told_ = 0;
  int schema_told_ = 0;
  bool wal_cut_ = false;
};

}  // namespace lathbook::store
