// A book at work: its file, and the values read from it. Every change to a book goes through here.
#pragma once

#include <filesystem>
#include <nlohmann/json.hpp>
#include <optional>
#include <span>
#include <string>
#include <string_view>
#include <utility>
#include <vector>

#include "book/book.h"
#include "reason/fault.h"
#include "store/store.h"

namespace lathbook::service {

using Json = nlohmann::json;
/// What an action, an undo or a redo did, under the words by which it can be taken back.
using Edited = store::Applied;

/// When a change is asked for, and by which request. A moment alone is a request without a key.
struct Asked {
  Asked(std::string when, std::string by = {}) : at(std::move(when)), key(std::move(by)) {}  // NOLINT(*-explicit-*)
  Asked(const char* when) : at(when) {}                                                      // NOLINT(*-explicit-*)

  std::string at;   ///< ISO 8601 in UTC
  std::string key;  ///< as in Store::apply: one asked twice is done once
};

class OpenBook {
 public:
  /// Opens `path` and reads it. Faults: no such file, not a book, newer than this program, damaged, in use.
  [[nodiscard]] static reason::Result<OpenBook> open(const std::filesystem::path& path, store::Mode mode);

  /// Makes a new book at `path` (which must not exist) from the open form, documents' bytes included. Nothing is left
  /// behind when something is wrong with it.
  [[nodiscard]] static reason::Result<OpenBook> create(const std::filesystem::path& path, const Json& open_form,
                                                       const std::string& label, const std::string& at);

  [[nodiscard]] const book::Book& book() const { return book_; }
  [[nodiscard]] const store::Store& store() const { return store_; }
  [[nodiscard]] store::Store& store() { return store_; }

  /// Every item, its body being the text of its open form, `about` first.
  [[nodiscard]] std::span<const store::RecordText> items() const { return contents_.records; }
  /// Where the book stood when this was read. The file's own revision (store().revision()) may be past it by now.
  [[nodiscard]] store::Revision revision() const { return contents_.revision; }

  /// The item as it stands in the open form; empty when there is none. `about` has the id "about".
  [[nodiscard]] std::optional<Json> item(std::string_view kind, std::string_view id) const;

  /// The id the next item of a kind gets: one above the highest the book has ever held, so that a paper which names M7
  /// never comes to mean another M7.
  [[nodiscard]] reason::Result<std::string> next_id(std::string_view kind) const;

  /// Puts edits into the book: checked as a whole first (form, references, known words, plan), then written in one
  /// piece, with the bytes of new documents; with any fault nothing is written.
  [[nodiscard]] reason::Result<Edited> apply(const std::string& label, const Asked& asked,
                                             std::vector<store::Edit> edits,
                                             std::span<const store::NewBlob> blobs = {});
  [[nodiscard]] reason::Result<Edited> undo(const Asked& asked);
  [[nodiscard]] reason::Result<Edited> redo(const Asked& asked);

  /// The whole book in the open form; with the bytes of its documents when asked.
  [[nodiscard]] reason::Result<Json> open_form(bool with_files) const;

 private:
  OpenBook(store::Store opened, store::ContentsText contents, book::Book book);
  [[nodiscard]] reason::Result<reason::Done> reread();

  store::Store store_;
  store::ContentsText contents_;
  book::Book book_;
};

/// All that must hold of a book beyond its form: references and order (book::validate), the words of the catalogue and
/// of the rule packs, and the plan (fabric). Linear in the book.
[[nodiscard]] reason::Faults faults_of(const book::Book& book);

/// What a person is told when opening a book brought it up to date: where the file as it was is kept.
[[nodiscard]] std::string old_copy_told(const std::filesystem::path& kept);

/// What a file is, from its first bytes: a JPEG, PNG or WebP picture, a PDF, or UTF-8 text. Empty = none of these.
[[nodiscard]] std::optional<std::string> media_type_of(std::string_view bytes);

}  // namespace lathbook::service
