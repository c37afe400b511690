// Text as JSON, at two speeds. The quick way (simdjson) only knows whether it could read the text; the slow way
// (nlohmann-json) is asked where it could not, and says why, or reads what the quick way is too narrow for (a whole
// number of more than 64 bits). Held together over random and broken texts.
#pragma once

#include <memory>
#include <nlohmann/json.hpp>
#include <optional>
#include <string_view>

#include "reason/fault.h"

namespace lathbook::schema {

using Json = nlohmann::json;

struct Taped;  // node.h

/// Reads many texts one after another with the same room.
class Parser {
 public:
  Parser();
  Parser(const Parser&) = delete;
  Parser& operator=(const Parser&) = delete;
  ~Parser();

  /// What parse_json (schema.h) would read; empty = ask that.
  [[nodiscard]] std::optional<Json> read(std::string_view text);

  /// The same left where it was read, up to the next reading. A key that comes twice is not looked for.
  [[nodiscard]] std::optional<Taped> tape(std::string_view text);

 private:
  struct Inside;
  std::unique_ptr<Inside> inside_;
};

/// One text left where it was read, for values that are looked at once and let go. What it reads and what it says of a
/// text that cannot be read is what parse_json would.
class Document {
 public:
  [[nodiscard]] static reason::Result<Document> read(std::string_view text, std::string_view name = "");
  Document(Document&&) noexcept;
  Document& operator=(Document&&) noexcept;
  ~Document();

  /// Gone with the document.
  [[nodiscard]] Taped root() const;

 private:
  struct Inside;
  explicit Document(std::unique_ptr<Inside> inside);
  std::unique_ptr<Inside> inside_;
};

/// parse_json without the quick way.
[[nodiscard]] reason::Result<Json> parse_slowly(std::string_view text, std::string_view name = "");

}  // namespace lathbook::schema
