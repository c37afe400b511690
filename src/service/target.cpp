#include "service/target.h"

#include <fmt/format.h>

#include <algorithm>
#include <charconv>
#include <nlohmann/json.hpp>

#include "book/json.h"
#include "schema/schema.h"

namespace lathbook::service {
namespace {

using book::Json;
using reason::Fault;
using reason::FaultKind;
using reason::Result;

const Json& part_of(std::string_view kind) { return book::book_schema().document()["$defs"][std::string(kind)]; }

/// Lists of objects are edited entry by entry; lists of words or ids are fields like any other.
bool is_part_list(const Json& raw) {
  const auto& form = book::book_schema();
  const auto& part = form.resolve(raw);
  return part.value("type", "") == "array" && form.items_of(part).value("type", "") == "object";
}

void collect(const Json& raw, const Json& value, std::vector<std::string>& out) {
  const auto& form = book::book_schema();
  if (value.is_string() && raw.is_object() && raw.contains("$ref") &&
      raw["$ref"].get_ref<const std::string&>().ends_with("-id")) {
    out.push_back(value.get<std::string>());
    return;
  }
  const auto& part = form.resolve(raw);
  if (value.is_array() && part.contains("items")) {
    for (const auto& one : value) collect(part["items"], one, out);
  }
  if (value.is_object() && part.contains("properties")) {
    for (const auto& [key, inner] : value.items()) {
      if (part["properties"].contains(key)) collect(part["properties"][key], inner, out);
    }
  }
}

}  // namespace

std::vector<std::string> part_lists(std::string_view kind) {
  std::vector<std::string> lists;
  for (const auto& [name, raw] : part_of(kind)["properties"].items()) {
    if (is_part_list(raw)) lists.push_back(name);
  }
  return lists;
}

Result<Target> parse_target(std::string_view text) {
  Target target;
  const auto slash = text.find('/');
  const auto head = text.substr(0, slash);
  if (head == "about") {
    target.kind = "about";
  } else {
    const auto* kind = book::kind_of_id(head);
    const bool numbered = kind != nullptr && head.size() > kind->prefix.size() &&
                          head.find_first_not_of("0123456789", kind->prefix.size()) == std::string_view::npos &&
                          head[kind->prefix.size()] != '0';
    if (!numbered) {
      return Fault{"", fmt::format("\"{}\"", text), "is not something in a book",
                   "an id such as M7, J3 or R1, a part such as J3/cuts/1, or about", FaultKind::kUsage};
    }
    target.kind = kind->name;
    target.id = head;
  }
  target.pointer = "/$defs/" + target.kind;
  if (slash == std::string_view::npos) return target;

  const auto rest = text.substr(slash + 1);
  const auto second = rest.find('/');
  target.list = rest.substr(0, second);
  const auto lists = part_lists(target.kind);
  if (std::find(lists.begin(), lists.end(), target.list) == lists.end()) {
    return Fault{"", fmt::format("\"{}\"", text), fmt::format("is no list of the kind {}", target.kind),
                 lists.empty() ? fmt::format("a {} has no lists of parts", target.kind)
                               : fmt::format("{}", fmt::join(lists, ", ")),
                 FaultKind::kUsage};
  }
  const auto& raw = part_of(target.kind)["properties"][target.list];
  const auto& items = book::book_schema().resolve(raw)["items"];
  target.pointer = items.contains("$ref") ? items["$ref"].get<std::string>().substr(1)
                                          : fmt::format("/$defs/{}/properties/{}/items", target.kind, target.list);
  if (second == std::string_view::npos) return target;
  const auto digits = rest.substr(second + 1);
  std::size_t number = 0;
  const auto [end, error] = std::from_chars(digits.data(), digits.data() + digits.size(), number);
  if (error != std::errc() || end != digits.data() + digits.size() || number == 0) {
    return Fault{"", fmt::format("\"{}\"", text), "does not name an entry", "a number from 1", FaultKind::kUsage};
  }
  target.entry = number;
  return target;
}

std::string named_as_target(std::string_view name, std::string_view pointer) {
  std::vector<std::string> parts;
  while (!pointer.empty()) {
    pointer.remove_prefix(1);
    const auto part = pointer.substr(0, pointer.find('/'));
    pointer.remove_prefix(part.size());
    std::size_t entry = 0;
    const auto [end, error] = std::from_chars(part.data(), part.data() + part.size(), entry);
    const bool number = error == std::errc() && end == part.data() + part.size();
    parts.push_back(number ? fmt::format("{}", entry + 1) : std::string(part));
  }
  std::string where(name);
  auto field = parts.begin();
  const auto* kind = book::find_kind(name);
  if (kind == nullptr) kind = book::kind_of_id(name);
  const auto holder = kind != nullptr ? std::string_view(kind->name) : name;
  if ((kind != nullptr || name == "about") && parts.size() >= 2) {
    const auto lists = part_lists(holder);
    if (std::find(lists.begin(), lists.end(), parts[0]) != lists.end()) {
      where += fmt::format("/{}/{}", parts[0], parts[1]);
      field += 2;
    }
  }
  return field == parts.end() ? where : fmt::format("{} {}", where, fmt::join(field, parts.end(), "."));
}

reason::Faults named_as_targets(std::string_view name, reason::Faults faults) {
  for (auto& fault : faults) fault.where = named_as_target(name, fault.where);
  return faults;
}

std::vector<std::string> references(std::string_view kind, const Json& item) {
  std::vector<std::string> out;
  const auto& part = part_of(kind);
  for (const auto& [key, value] : item.items()) {
    if (key != "id" && part["properties"].contains(key)) collect(part["properties"][key], value, out);
  }
  return out;
}

}  // namespace lathbook::service
