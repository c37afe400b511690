#include "service/draft.h"

#include <fmt/format.h>

#include <algorithm>
#include <stdexcept>

#include "book/json.h"
#include "schema/schema.h"

namespace lathbook::service {
namespace {

/// Puts the last of a list in the place of the one of its id, if there is one.
template <class Item>
void settle(std::vector<Item>& items) {
  const auto same =
      std::find_if(items.begin(), items.end() - 1, [&](const Item& one) { return one.id == items.back().id; });
  if (same == items.end() - 1) return;
  *same = std::move(items.back());
  items.pop_back();
}

template <class Item>
std::string next_id(const std::vector<Item>& items, std::string_view prefix) {
  unsigned long highest = 0;
  for (const auto& one : items) highest = std::max(highest, std::stoul(one.id.text.substr(prefix.size())));
  return fmt::format("{}{}", prefix, highest + 1);
}

}  // namespace

reason::Result<Drafted> with_draft(const book::Book& book, std::string_view kind, Json item) {
  const bool is_job = kind == "job";
  if (!is_job && kind != "event") throw std::logic_error("no draft of a " + std::string(kind));
  if (item.is_object() && !item.contains("id"))
    item["id"] = is_job ? next_id(book.jobs, "J") : next_id(book.events, "E");
  if (auto faults = book::book_schema().check_part(fmt::format("/$defs/{}", kind), item, ""); !faults.empty())
    return faults;
  Drafted drafted{book, item["id"].get<std::string>()};
  book::insert_item(drafted.book, kind, item);
  if (is_job) {
    settle(drafted.book.jobs);
  } else {
    settle(drafted.book.events);
  }
  if (auto faults = faults_of(drafted.book); !faults.empty()) {
    // What is tried is not to blame for what was wrong before, as in OpenBook::apply.
    const auto before = faults_of(book);
    std::erase_if(faults, [&](const reason::Fault& fault) { return std::ranges::count(before, fault) > 0; });
    if (!faults.empty()) return faults;
  }
  return drafted;
}

}  // namespace lathbook::service
