// The open JSON form of a book and of each kind of item (data/schemas/book.schema.json), and its C++ values.
#pragma once

#include <memory>
#include <nlohmann/json_fwd.hpp>
#include <span>
#include <string_view>

#include "book/book.h"
#include "reason/fault.h"

namespace lathbook::schema {
class Schema;
}

namespace lathbook::book {

using Json = nlohmann::json;

/// The schema of a book; its `$defs` holds one part a kind ("room", "material", …) and the shared parts ("outline", …).
[[nodiscard]] const schema::Schema& book_schema();

/// One kind of item: its word, the list it stands in, and the letters its ids begin with.
struct Kind {
  std::string_view name;    ///< "material"
  std::string_view list;    ///< "materials"
  std::string_view prefix;  ///< "M"
};

/// Every kind of item that has an id, in the order of the open form. (`about` is the one item without.)
[[nodiscard]] std::span<const Kind> kinds();
[[nodiscard]] const Kind* find_kind(std::string_view name_or_list);
/// The kind an id belongs to by its letters; nullptr when none.
[[nodiscard]] const Kind* kind_of_id(std::string_view id);

/// The book in the open form, without the bytes of its documents.
[[nodiscard]] Json to_json(const Book& book);

/// Reads the open form. Faults name every place that does not fit the schema. References between items are not
/// checked here: see validate().
[[nodiscard]] reason::Result<Book> book_from_json(const Json& json);

/// One item of `kind` put into a book; `json` must fit the schema's part of that name (std::logic_error otherwise).
void insert_item(Book& book, std::string_view kind, const Json& json);

/// Reads items from text, one after another with the same room: what a file keeps, straight into a book.
class ItemReader {
 public:
  ItemReader();
  ItemReader(const ItemReader&) = delete;
  ItemReader& operator=(const ItemReader&) = delete;
  ~ItemReader();

  /// Puts the item of `kind` that `text` holds into `book`. Faults, each with a place below `id`: it is not an object
  /// of JSON, or does not fit the schema.
  [[nodiscard]] reason::Faults read(Book& book, std::string_view kind, std::string_view id, std::string_view text);

 private:
  struct Inside;
  std::unique_ptr<Inside> inside_;
};

/// Puts the items of `more` behind those of `book`, which keeps its own `about`.
void append_items(Book& book, Book more);

/// The item written in its one canonical way: defaults left out, fields sorted. `json` must fit the schema.
[[nodiscard]] Json canonical_item(std::string_view kind, const Json& json);

/// Shapes and cuts on their own, for calc topics that take "the book's own shapes". Input must fit the schema's parts.
[[nodiscard]] Storey storey_from_json(const Json& json);
[[nodiscard]] Room room_from_json(const Json& json);
[[nodiscard]] Opening opening_from_json(const Json& json);
[[nodiscard]] Material material_from_json(const Json& json);
[[nodiscard]] Cut cut_from_json(const Json& json);
[[nodiscard]] Json shape_to_json(const Shape& shape);

}  // namespace lathbook::book
