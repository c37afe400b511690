#include "schema/parse.h"

#include <fmt/format.h>

#include <algorithm>
#include <optional>
#include <set>
#include <span>
#include <stdexcept>

#include "schema/node.h"
#include "schema/schema.h"

namespace lathbook::schema {

using reason::Fault;

namespace {

/// Looks for an object that gives the same key twice: nlohmann-json would silently keep the last. A pass of its own and
/// not a callback of the parse, because with a callback the library looks through a whole list at the end of every
/// object in it.
class Duplicates : public Json::json_sax_t {
 public:
  std::string found;

  bool start_object(std::size_t /*elements*/) override {
    open_.emplace_back();
    return true;
  }
  bool end_object() override {
    open_.pop_back();
    return true;
  }
  bool key(string_t& name) override {
    if (open_.back().insert(name).second) return true;
    found = name;
    return false;
  }
  bool null() override { return true; }
  bool boolean(bool /*value*/) override { return true; }
  bool number_integer(number_integer_t /*value*/) override { return true; }
  bool number_unsigned(number_unsigned_t /*value*/) override { return true; }
  bool number_float(number_float_t /*value*/, const string_t& /*text*/) override { return true; }
  bool string(string_t& /*value*/) override { return true; }
  bool binary(binary_t& /*value*/) override { return true; }
  bool start_array(std::size_t /*elements*/) override { return true; }
  bool end_array() override { return true; }
  bool parse_error(std::size_t /*at*/, const std::string& /*last*/, const Json::exception& /*why*/) override {
    return false;
  }

 private:
  std::vector<std::set<std::string>> open_;
};

/// Deeper than any form of ours; keeps a hostile file from exhausting the stack.
constexpr int kDeepest = 64;

/// False = an object gives a key twice.
bool build(simdjson::dom::element from, Json& out) {
  using simdjson::dom::element_type;
  switch (from.type()) {
    case element_type::OBJECT: {
      out = Json::object();
      auto& object = out.get_ref<Json::object_t&>();
      const simdjson::dom::object fields = from.get_object().value_unsafe();
      for (const auto [key, value] : fields) {
        const auto before = object.size();
        // What this program wrote has its keys in order.
        const auto field = object.emplace_hint(object.end(), std::string(key), nullptr);
        if (object.size() == before || !build(value, field->second)) return false;
      }
      return true;
    }
    case element_type::ARRAY: {
      out = Json::array();
      auto& array = out.get_ref<Json::array_t&>();
      const simdjson::dom::array list = from.get_array().value_unsafe();
      array.reserve(list.size());
      for (const auto one : list) {
        if (!build(one, array.emplace_back())) return false;
      }
      return true;
    }
    case element_type::STRING:
      out = std::string(from.get_string().value_unsafe());
      return true;
    case element_type::INT64:
      out = from.get_int64().value_unsafe();
      return true;
    case element_type::UINT64:
      out = from.get_uint64().value_unsafe();
      return true;
    case element_type::DOUBLE:
      out = from.get_double().value_unsafe();
      return true;
    case element_type::BOOL:
      out = from.get_bool().value_unsafe();
      return true;
    case element_type::NULL_VALUE:
      out = nullptr;
      return true;
  }
  return false;
}

bool any_twice(std::span<std::string_view> keys) {
  constexpr std::size_t kFew = 32;  // up to here looking at every pair is quicker
  if (keys.size() > kFew) {
    std::sort(keys.begin(), keys.end());
    return std::adjacent_find(keys.begin(), keys.end()) != keys.end();
  }
  for (std::size_t i = 1; i < keys.size(); ++i) {
    for (std::size_t j = 0; j < i; ++j) {
      if (keys[i] == keys[j]) return true;
    }
  }
  return false;
}

/// Whether an object in `from` gives a key twice. `keys` is room to work in.
bool has_twins(simdjson::dom::element from, std::vector<std::string_view>& keys) {
  if (from.is_array()) {
    const simdjson::dom::array list = from.get_array().value_unsafe();
    return std::any_of(list.begin(), list.end(), [&](auto one) { return has_twins(one, keys); });
  }
  if (!from.is_object()) return false;
  const auto outer = keys.size();
  const simdjson::dom::object fields = from.get_object().value_unsafe();
  for (const auto [key, value] : fields) {
    keys.push_back(key);
    if (has_twins(value, keys)) return true;
  }
  const bool twins = any_twice(std::span(keys).subspan(outer));
  keys.resize(outer);
  return twins;
}

bool too_deep(std::string_view text) {
  int depth = 0;
  bool quoted = false;
  for (std::size_t i = 0; i < text.size(); ++i) {
    const char c = text[i];
    if (quoted) {
      if (c == '\\') {
        ++i;
      } else if (c == '"') {
        quoted = false;
      }
    } else if (c == '"') {
      quoted = true;
    } else if (c == '{' || c == '[') {
      if (++depth > kDeepest) return true;
    } else if (c == '}' || c == ']') {
      --depth;
    }
  }
  return false;
}

}  // namespace

namespace {

std::optional<Taped> read_with(simdjson::dom::parser& parser, std::string_view text) {
  if (parser.capacity() < text.size() && parser.allocate(text.size(), kDeepest) != simdjson::SUCCESS)
    return std::nullopt;
  Taped root;
  if (parser.parse(text.data(), text.size()).get(root.value) != simdjson::SUCCESS) return std::nullopt;
  return root;
}

/// Where the first string or key with U+0000 in it is; nothing when there is none.
std::optional<std::string> zero_in(const Json& value, const std::string& where) {
  if (value.is_string() && value.get_ref<const std::string&>().find('\0') != std::string::npos) return where;
  if (!value.is_structured()) return std::nullopt;
  for (const auto& [key, inner] : value.items()) {
    const auto at = where + "/" + key;
    if (value.is_object() && key.find('\0') != std::string::npos) return where;
    if (auto found = zero_in(inner, at)) return found;
  }
  return std::nullopt;
}

}  // namespace

struct Parser::Inside {
  simdjson::dom::parser parser;
};

Parser::Parser() : inside_(std::make_unique<Inside>()) {}
Parser::~Parser() = default;

std::optional<Taped> Parser::tape(std::string_view text) { return read_with(inside_->parser, text); }

std::optional<Json> Parser::read(std::string_view text) {
  const auto root = tape(text);
  return root ? root->json() : std::nullopt;
}

std::optional<Json> Taped::json() const {
  std::optional<Json> out;
  if (!build(value, out.emplace())) out.reset();
  return out;
}

struct Document::Inside {
  simdjson::dom::parser parser;
  Taped root;
};

Document::Document(std::unique_ptr<Inside> inside) : inside_(std::move(inside)) {}
Document::Document(Document&&) noexcept = default;
Document& Document::operator=(Document&&) noexcept = default;
Document::~Document() = default;

reason::Result<Document> Document::read(std::string_view text, std::string_view name) {
  auto inside = std::make_unique<Inside>();
  auto root = read_with(inside->parser, text);
  std::vector<std::string_view> keys;
  if (!root || has_twins(root->value, keys)) {
    const auto slow = parse_slowly(text, name);
    if (!slow.ok()) return slow.faults();
    // It holds a whole number too long for the quick way; written out again it is one with an exponent.
    root = read_with(inside->parser, slow->dump());
    if (!root) throw std::logic_error("JSON written by this program cannot be read by it");
  }
  inside->root = *root;
  return Document(std::move(inside));
}

Taped Document::root() const { return inside_->root; }

reason::Result<Json> parse_json(std::string_view text, std::string_view name) {
  auto read = Parser().read(text);
  auto value = read ? reason::Result<Json>(std::move(*read)) : parse_slowly(text, name);
  // U+0000 is no text: what comes after it would be lost on the way to a screen or a paper.
  if (value.ok() && text.find("\\u0000") != std::string_view::npos) {
    if (const auto where = zero_in(*value, std::string(name)))
      return Fault{*where, "", "holds the character U+0000, which is no text", "text without it"};
  }
  return value;
}

reason::Result<Json> parse_slowly(std::string_view text, std::string_view name) {
  const std::string where(name);
  if (too_deep(text)) return Fault{where, "", "is nested too deeply", fmt::format("at most {} levels", kDeepest)};
  try {
    Json value = Json::parse(text);
    Duplicates duplicates;
    if (!Json::sax_parse(text, &duplicates)) {
      return Fault{where, "\"" + duplicates.found + "\"", "is given twice in one object", "each field once"};
    }
    return value;
  } catch (const Json::parse_error& error) {
    const std::size_t at = std::min(error.byte == 0 ? 0 : error.byte - 1, text.size());
    const auto line = 1 + std::count(text.begin(), text.begin() + static_cast<std::ptrdiff_t>(at), '\n');
    const auto start = text.substr(0, at).rfind('\n');
    const auto column = at - (start == std::string_view::npos ? 0 : start + 1) + 1;
    return Fault{where, "", fmt::format("is not JSON: line {}, column {} cannot be read", line, column),
                 "one JSON value in UTF-8"};
  } catch (const Json::out_of_range& error) {
    return Fault{where, "", "holds a number too large to be read", "numbers below 1e308"};
  }
}

}  // namespace lathbook::schema
