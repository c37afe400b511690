#include "service/edit.h"

#include <fmt/format.h>

#include <algorithm>
#include <fstream>
#include <map>
#include <nlohmann/json.hpp>
#include <set>
#include <sstream>

#include "book/json.h"
#include "photo/photo.h"
#include "schema/schema.h"
#include "service/assign.h"
#include "service/target.h"

namespace lathbook::service {
namespace {

using reason::Fault;
using reason::FaultKind;
using reason::Faults;
using reason::Result;

std::string name_of(const Json& item) {
  for (const char* key : {"name", "title", "label"}) {
    if (item.contains(key)) return item[key].get<std::string>();
  }
  return {};
}

/// Whoever writes a name where an id belongs is told the ids there are, with their names.
void tell_ids(const OpenBook& book, Faults& faults) {
  constexpr std::size_t kMost = 8;
  for (auto& fault : faults) {
    const auto kind = std::ranges::find_if(book::kinds(), [&](const book::Kind& one) {
      return fault.allowed.starts_with(fmt::format("the id of a {},", one.name)) ||
             fault.allowed.starts_with(fmt::format("the id of an {},", one.name));
    });
    if (kind == book::kinds().end()) continue;
    std::vector<std::string> there;
    for (const auto& record : book.items()) {
      if (record.kind != kind->name) continue;
      if (there.size() == kMost) {
        there.emplace_back("…");
        break;
      }
      const auto item = book.item(record.kind, record.id);
      const auto name = item ? name_of(*item) : "";
      there.push_back(name.empty() ? record.id : fmt::format("{} ({})", record.id, name));
    }
    fault.allowed = there.empty()
                        ? fmt::format("one that is written down; there is none yet: lathbook add {}", kind->name)
                        : fmt::format("{}", fmt::join(there, ", "));
  }
}

/// The open form merged with the typed fields, checked against its part of the schema. `id` is put in first.
Result<Json> merged(const OpenBook& book, Json base, const Fields& fields, const std::string& pointer,
                    const std::string& where, const std::string& id) {
  if (fields.open_form) {
    if (!fields.open_form->is_object())
      return Fault{where, schema::shown(*fields.open_form), "is not an object", "one object in the open form"};
    for (const auto& [key, value] : fields.open_form->items()) {
      if (value.is_null()) {
        base.erase(key);
      } else {
        base[key] = value;
      }
    }
  }
  if (!id.empty()) {
    if (base.contains("id") && base["id"] != id)
      return Fault{where + " id", schema::shown(base["id"]), "cannot be changed", id};
    base["id"] = id;
  }
  auto assigned = assign(std::move(base), pointer, fields.typed);
  if (!assigned.ok()) return reason::within(where.empty() ? "" : where + " ", assigned.faults());
  auto faults = named_as_targets(where, book::book_schema().check_part(pointer, *assigned));
  tell_ids(book, faults);
  if (!faults.empty()) return faults;
  return assigned;
}

/// The fields with every text that is a name of `id_of` put right.
Json with_ids(Json value, const std::map<std::string, std::string>& id_of) {
  if (value.is_string()) {
    const auto found = id_of.find(value.get<std::string>());
    return found == id_of.end() ? value : Json(found->second);
  }
  if (value.is_structured()) {
    for (auto& inner : value) inner = with_ids(std::move(inner), id_of);
  }
  return value;
}

Fault not_there(std::string_view what, const std::string& kind) {
  return Fault{"", std::string(what), fmt::format("is not a {} of this book", kind),
               fmt::format("an id that `lathbook show {}s` lists", kind), FaultKind::kMissing};
}

std::string labelled(std::string_view verb, const std::string& id, const Json& item) {
  const auto name = name_of(item);
  return name.empty() ? fmt::format("{} {}", verb, id) : fmt::format("{} {}, {}", verb, id, name);
}

/// The entries of a list inside an item, for changing.
Json& list_of(Json& item, const Target& target) {
  auto& list = item[target.list];
  if (!list.is_array()) list = Json::array();
  return list;
}

/// The id its record is kept under.
std::string record_of(const Target& target) { return target.id.empty() ? "about" : target.id; }

Result<Edited> add_item(OpenBook& book, std::string_view kind, const Fields& fields, const Asked& asked,
                        std::span<const store::NewBlob> blobs = {}) {
  const auto next = book.next_id(kind);
  if (!next.ok()) return next.faults();
  const auto& id = *next;
  auto item = merged(book, Json::object(), fields, fmt::format("/$defs/{}", kind), std::string(kind), id);
  if (!item.ok()) return item.faults();
  const auto label = labelled("add", id, *item);
  return book.apply(label, asked, {{std::string(kind), id, std::move(*item)}}, blobs);
}

}  // namespace

Result<Edited> add(OpenBook& book, std::string_view what, const Fields& fields, const Asked& asked) {
  if (const auto* kind = book::find_kind(what)) return add_item(book, kind->name, fields, asked);
  if (what.find('/') == std::string_view::npos) {
    std::vector<std::string_view> names;
    for (const auto& kind : book::kinds()) names.push_back(kind.name);
    return Fault{"", fmt::format("\"{}\"", what), "is not a kind of thing a book holds",
                 fmt::format("{}; or a list such as J3/cuts", fmt::join(names, ", ")), FaultKind::kUsage};
  }
  const auto target = parse_target(what);
  if (!target.ok()) return target.faults();
  if (target->entry)
    return Fault{"", std::string(what), "names an entry that would be there already",
                 "the list alone, for instance J3/cuts", FaultKind::kUsage};
  auto item = book.item(target->kind, target->id);
  if (!item) return not_there(target->id, target->kind);
  auto& list = list_of(*item, *target);
  auto entry = merged(book, Json::object(), fields, target->pointer, fmt::format("{}/{}", what, list.size() + 1), "");
  if (!entry.ok()) return entry.faults();
  const auto label = fmt::format("add {}/{}", what, list.size() + 1);
  list.push_back(std::move(*entry));
  return book.apply(label, asked, {{target->kind, record_of(*target), std::move(*item)}});
}

Result<Edited> set(OpenBook& book, std::string_view what, const Fields& fields, const Asked& asked) {
  const auto target = parse_target(what);
  if (!target.ok()) return target.faults();
  if (!target->list.empty() && !target->entry)
    return Fault{"", std::string(what), "is a whole list", "one entry of it, for instance J3/cuts/1",
                 FaultKind::kUsage};
  auto item = book.item(target->kind, target->id);
  if (!item) return not_there(target->id, target->kind);
  if (target->list.empty()) {
    auto changed = merged(book, *item, fields, target->pointer, record_of(*target), target->id);
    if (!changed.ok()) return changed.faults();
    const auto label = labelled("change", record_of(*target), *changed);
    return book.apply(label, asked, {{target->kind, record_of(*target), std::move(*changed)}});
  }
  auto& list = list_of(*item, *target);
  if (*target->entry > list.size()) {
    return Fault{"", std::string(what), "is not there", fmt::format("1 to {}", list.size()), FaultKind::kMissing};
  }
  auto& entry = list[*target->entry - 1];
  auto changed = merged(book, entry, fields, target->pointer, std::string(what), "");
  if (!changed.ok()) return changed.faults();
  entry = std::move(*changed);
  return book.apply(fmt::format("change {}", what), asked, {{target->kind, record_of(*target), std::move(*item)}});
}

Result<Edited> several(OpenBook& book, const std::string& label, std::span<const Part> parts, const Asked& asked) {
  std::map<std::string, std::string> id_of;       // of the names given by `as`
  std::map<std::string_view, int> added;          // how many of each kind so far
  std::map<std::string, std::size_t> edit_of_id;  // several parts may change one item
  std::vector<store::Edit> edits;
  std::vector<store::NewBlob> blobs;
  std::vector<std::string> media_types;  // which `blobs` borrow from
  media_types.reserve(parts.size());
  Faults faults;
  for (const auto& part : parts) {
    Fields fields;
    fields.open_form = with_ids(part.fields, id_of);
    if (!part.bytes.empty()) {
      const auto media_type = media_type_of(part.bytes);
      if (!media_type || part.what != "document" || !part.is_new)
        return Fault{part.what, "", "takes no file of this kind", "a new document, and a picture, a PDF or plain text",
                     FaultKind::kUsage};
      auto& form = *fields.open_form;
      form["media_type"] = *media_type;
      form["sha256"] = store::sha256_hex(part.bytes);
      form["bytes"] = part.bytes.size();
      blobs.push_back({part.bytes, media_types.emplace_back(*media_type)});
    }
    std::string kind;
    std::string id;
    Json base = Json::object();
    if (part.is_new) {
      const auto* known = book::find_kind(part.what);
      if (known == nullptr)
        return Fault{"", part.what, "is not a kind of thing a book holds", "room, storey, material …",
                     FaultKind::kUsage};
      const auto next = book.next_id(known->name);
      if (!next.ok()) return next.faults();
      kind = known->name;
      id = fmt::format("{}{}", known->prefix, std::stoi(next->substr(known->prefix.size())) + added[known->name]++);
      if (!part.as.empty()) id_of[part.as] = id;
    } else {
      const auto target = parse_target(part.what);
      if (!target.ok()) return target.faults();
      if (!target->list.empty())
        return Fault{"", part.what, "is a list or an entry of one", "an item", FaultKind::kUsage};
      kind = target->kind;
      id = record_of(*target);
      const auto earlier = edit_of_id.find(id);
      const auto now = earlier != edit_of_id.end() ? edits[earlier->second].after : book.item(kind, id);
      if (!now) return not_there(id, kind);
      base = *now;
    }
    auto item = merged(book, std::move(base), fields, "/$defs/" + kind, id, kind == "about" ? "" : id);
    if (!item.ok()) {
      faults.insert(faults.end(), item.faults().begin(), item.faults().end());
      continue;
    }
    if (const auto [at_edit, fresh] = edit_of_id.try_emplace(id, edits.size()); fresh) {
      edits.push_back({kind, id, std::move(*item)});
    } else {
      edits[at_edit->second].after = std::move(*item);
    }
  }
  if (!faults.empty()) return faults;
  return book.apply(label, asked, std::move(edits), blobs);
}

Result<Edited> remove(OpenBook& book, std::string_view what, bool with_what_leans_on_it, const Asked& asked) {
  const auto target = parse_target(what);
  if (!target.ok()) return target.faults();
  if (target->kind == "about" && target->list.empty())
    return Fault{"", "about", "cannot be removed", "an item with an id", FaultKind::kUsage};
  auto item = book.item(target->kind, target->id);
  if (!item) return not_there(target->id, target->kind);
  if (!target->list.empty()) {
    auto& list = list_of(*item, *target);
    if (!target->entry || *target->entry > list.size()) {
      return Fault{"", std::string(what), "is not there",
                   list.empty() ? "nothing: the list is empty"
                                : fmt::format("{}/{}/1 to {}", record_of(*target), target->list, list.size()),
                   FaultKind::kMissing};
    }
    list.erase(*target->entry - 1);
    return book.apply(fmt::format("remove {}", what), asked, {{target->kind, record_of(*target), std::move(*item)}});
  }
  // What leans on it, and on that in turn.
  std::map<std::string, std::vector<std::pair<std::string, std::string>>> leaning;  // id -> (kind, id)
  for (const auto& record : book.items()) {
    for (const auto& to : references(record.kind, Json::parse(record.body)))
      leaning[to].emplace_back(record.kind, record.id);
  }
  std::set<std::string> gone = {target->id};
  std::vector<std::pair<std::string, std::string>> order = {{target->kind, target->id}};
  for (std::size_t i = 0; i < order.size(); ++i) {
    for (const auto& other : leaning[order[i].second]) {
      if (gone.insert(other.second).second) order.push_back(other);
    }
  }
  if (order.size() > 1 && !with_what_leans_on_it) {
    std::vector<std::string> ids;
    for (std::size_t i = 1; i < order.size(); ++i) ids.push_back(order[i].second);
    return Fault{target->id, "", fmt::format("is still leant on by {}", fmt::join(ids, ", ")),
                 "change or remove these first, or add --with-what-leans-on-it to remove them all",
                 FaultKind::kConflict};
  }
  std::vector<store::Edit> edits;
  for (const auto& [kind, id] : order) edits.push_back({kind, id, std::nullopt});
  const auto label = order.size() == 1 ? labelled("remove", target->id, *item)
                                       : fmt::format("{} and {} that leant on it",
                                                     labelled("remove", target->id, *item), order.size() - 1);
  return book.apply(label, asked, std::move(edits));
}

Result<Edited> attach(OpenBook& book, const std::filesystem::path& file, const Fields& fields, const Asked& asked,
                      Keep keep) {
  std::ifstream in(file, std::ios::binary);
  std::ostringstream bytes;
  if (!in || !(bytes << in.rdbuf()))
    return Fault{file.string(), "", "cannot be read", "a photo or paper on this machine", FaultKind::kFile};
  auto content = std::move(bytes).str();
  if (keep == Keep::kPixels && media_type_of(content).value_or("").starts_with("image/")) {
    auto picture = photo::fit(content, {.longest_px = 4000, .quality = 90});
    if (!picture.ok()) {
      auto faults = reason::within(file.string() + ": ", picture.faults());
      for (auto& fault : faults) fault.allowed += "; --as-it-is keeps the file byte for byte";
      return faults;
    }
    content = std::move(picture->jpeg);
  }
  return attach(book, content, file.filename().string(), fields, asked);
}

Result<Edited> attach(OpenBook& book, std::string_view content, const std::string& name, const Fields& fields,
                      const Asked& asked) {
  const auto media_type = media_type_of(content);
  if (!media_type)
    return Fault{name, "", "is of a kind a book does not take", "a JPEG, PNG or WebP picture, a PDF, or plain text",
                 FaultKind::kFile};
  Fields all = fields;
  Json form = all.open_form.value_or(Json::object());
  form["media_type"] = *media_type;
  form["sha256"] = store::sha256_hex(content);
  form["bytes"] = content.size();
  if (!form.contains("title")) form["title"] = name;
  if (!form.contains("kind")) form["kind"] = media_type->starts_with("image/") ? "photo" : "paper";
  all.open_form = std::move(form);
  const store::NewBlob blob{content, *media_type};
  return add_item(book, "document", all, asked, {&blob, 1});
}

}  // namespace lathbook::service
