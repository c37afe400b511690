// The words of the catalogue's enumerations, and finding a row by what a person typed.
#include <fmt/format.h>

#include <algorithm>
#include <array>
#include <numeric>
#include <utility>

#include "catalogue/catalogue.h"

namespace lathbook::catalogue {
namespace {

template <class E, std::size_t N>
using Table = std::array<std::pair<E, std::string_view>, N>;

constexpr Table<Sure, 5> kSures = {{{Sure::kSeen, "seen"},
                                    {Sure::kSecondary, "secondary"},
                                    {Sure::kMemory, "memory"},
                                    {Sure::kJudgement, "judgement"},
                                    {Sure::kPractice, "practice"}}};
constexpr Table<Binding, 3> kBindings = {
    {{Binding::kFirmlyBound, "firmly bound"}, {Binding::kPartBound, "part bound"}, {Binding::kFriable, "friable"}}};
constexpr Table<Release, 6> kReleases = {{{Release::kNone, "none"},
                                          {Release::kVeryLow, "very low"},
                                          {Release::kLow, "low"},
                                          {Release::kMedium, "medium"},
                                          {Release::kHigh, "high"},
                                          {Release::kVeryHigh, "very high"}}};
constexpr Table<LegalKind, 8> kLegalKinds = {{{LegalKind::kNone, "none"},
                                              {LegalKind::kBondedOther, "bonded other"},
                                              {LegalKind::kCement, "cement"},
                                              {LegalKind::kTexturedCoating, "textured coating"},
                                              {LegalKind::kUnboundOther, "unbound other"},
                                              {LegalKind::kInsulatingBoard, "insulating board"},
                                              {LegalKind::kInsulation, "insulation"},
                                              {LegalKind::kCoating, "coating"}}};
constexpr Table<TaskKind, 5> kTaskKinds = {{{TaskKind::kSampling, "sampling"},
                                            {TaskKind::kEncapsulation, "encapsulation"},
                                            {TaskKind::kCleaning, "cleaning"},
                                            {TaskKind::kMaintenance, "maintenance"},
                                            {TaskKind::kRemoval, "removal"}}};

template <class E, std::size_t N>
std::string_view word_in(const Table<E, N>& table, E value) {
  const auto found = std::find_if(table.begin(), table.end(), [&](const auto& row) { return row.first == value; });
  return found == table.end() ? std::string_view() : found->second;
}

template <class E, std::size_t N>
std::optional<E> value_in(const Table<E, N>& table, std::string_view text) {
  const auto found = std::find_if(table.begin(), table.end(), [&](const auto& row) { return row.second == text; });
  return found == table.end() ? std::nullopt : std::optional(found->first);
}

/// Lower case, with everything that is not a letter or digit as one hyphen: "Pipe lagging" and "pipe-lagging" meet.
std::string plain_form(std::string_view text) {
  std::string out;
  for (const char c : text) {
    const bool upper = c >= 'A' && c <= 'Z';
    const bool kept =
        upper || (c >= 'a' && c <= 'z') || (c >= '0' && c <= '9') || (static_cast<unsigned char>(c) & 0x80U) != 0;
    if (kept) {
      out += upper ? static_cast<char>(c - 'A' + 'a') : c;
    } else if (!out.empty() && out.back() != '-') {
      out += '-';
    }
  }
  if (!out.empty() && out.back() == '-') out.pop_back();
  return out;
}

/// Edit distance counting insertions, deletions, replacements and swaps of neighbours (optimal string alignment).
std::size_t edit_distance(std::string_view a, std::string_view b) {
  std::vector<std::size_t> before(b.size() + 1);
  std::vector<std::size_t> last(b.size() + 1);
  std::vector<std::size_t> now(b.size() + 1);
  std::iota(last.begin(), last.end(), std::size_t{0});
  for (std::size_t i = 1; i <= a.size(); ++i) {
    now[0] = i;
    for (std::size_t j = 1; j <= b.size(); ++j) {
      const std::size_t change = a[i - 1] == b[j - 1] ? 0 : 1;
      now[j] = std::min({last[j] + 1, now[j - 1] + 1, last[j - 1] + change});
      if (i > 1 && j > 1 && a[i - 1] == b[j - 2] && a[i - 2] == b[j - 1]) now[j] = std::min(now[j], before[j - 2] + 1);
    }
    std::swap(before, last);
    std::swap(last, now);
  }
  return last[b.size()];
}

/// How far `typed` is from `name`; a whole word shared counts as near. Empty when it is too far to be meant.
std::optional<std::size_t> nearness(std::string_view typed, std::string_view name) {
  if (typed.empty()) return std::nullopt;
  if (typed.size() >= 3 && (("-" + std::string(name) + "-").find("-" + std::string(typed) + "-") != std::string::npos))
    return 1;
  const auto distance = edit_distance(typed, name);
  if (distance <= std::max<std::size_t>(1, std::max(typed.size(), name.size()) / 3)) return distance;
  // A part of the name typed on its own: "lagg" for "pipe-lagging".
  if (typed.size() >= 4 && name.find(typed) != std::string_view::npos) return 2 + (name.size() - typed.size()) / 4;
  return std::nullopt;
}

class Nearest {
 public:
  explicit Nearest(std::string_view typed) : typed_(plain_form(typed)) {}

  void offer(const std::string& id, std::string_view name) {
    const auto distance = nearness(typed_, plain_form(name));
    if (!distance) return;
    const auto known = std::find_if(found_.begin(), found_.end(), [&](const auto& one) { return one.second == id; });
    if (known == found_.end()) {
      found_.emplace_back(*distance, id);
    } else {
      known->first = std::min(known->first, *distance);
    }
  }

  std::vector<std::string> take(std::size_t most) {
    std::stable_sort(found_.begin(), found_.end(), [](const auto& a, const auto& b) { return a.first < b.first; });
    std::vector<std::string> ids;
    for (const auto& [distance, id] : found_) {
      if (ids.size() == most) break;
      ids.push_back(id);
    }
    return ids;
  }

 private:
  std::string typed_;
  std::vector<std::pair<std::size_t, std::string>> found_;
};

std::string allowed_text(const std::vector<std::string>& near, const char* file) {
  if (near.empty()) return fmt::format("an id of {}", file);
  return fmt::format("an id of {}, perhaps {}", file, fmt::join(near, " or "));
}

}  // namespace

std::string_view word(Sure value) { return word_in(kSures, value); }
std::string_view word(Binding value) { return word_in(kBindings, value); }
std::string_view word(Release value) { return word_in(kReleases, value); }
std::string_view word(LegalKind value) { return word_in(kLegalKinds, value); }
std::string_view word(TaskKind value) { return word_in(kTaskKinds, value); }

template <>
std::optional<Sure> from_word(std::string_view text) {
  return value_in(kSures, text);
}
template <>
std::optional<Binding> from_word(std::string_view text) {
  return value_in(kBindings, text);
}
template <>
std::optional<Release> from_word(std::string_view text) {
  return value_in(kReleases, text);
}
template <>
std::optional<LegalKind> from_word(std::string_view text) {
  return value_in(kLegalKinds, text);
}
template <>
std::optional<TaskKind> from_word(std::string_view text) {
  return value_in(kTaskKinds, text);
}

const Family* family_called(const Catalogue& catalogue, std::string_view text) {
  const auto wanted = plain_form(text);
  const auto is_called = [&](const Family& family) {
    return family.id == wanted || plain_form(family.name) == wanted ||
           std::any_of(family.other_names.begin(), family.other_names.end(),
                       [&](const auto& name) { return plain_form(name) == wanted; });
  };
  // An id wins over a name that another family happens to go by.
  if (const auto* exact = catalogue.find_family(wanted)) return exact;
  const auto found = std::find_if(catalogue.families.begin(), catalogue.families.end(), is_called);
  return found == catalogue.families.end() ? nullptr : &*found;
}

std::vector<std::string> near_families(const Catalogue& catalogue, std::string_view text, std::size_t most) {
  Nearest nearest(text);
  for (const auto& family : catalogue.families) {
    nearest.offer(family.id, family.id);
    nearest.offer(family.id, family.name);
    for (const auto& name : family.other_names) nearest.offer(family.id, name);
  }
  return nearest.take(most);
}

std::vector<std::string> near_tasks(const Catalogue& catalogue, std::string_view text, std::size_t most) {
  Nearest nearest(text);
  for (const auto& task : catalogue.tasks) {
    nearest.offer(task.id, task.id);
    nearest.offer(task.id, task.name);
  }
  return nearest.take(most);
}

reason::Fault unknown_family(const Catalogue& catalogue, std::string_view where, std::string_view text) {
  return {std::string(where), std::string(text), "is not a family in the catalogue",
          allowed_text(near_families(catalogue, text), "data/families.json")};
}

reason::Fault unknown_task(const Catalogue& catalogue, std::string_view where, std::string_view text) {
  return {std::string(where), std::string(text), "is not a task in the catalogue",
          allowed_text(near_tasks(catalogue, text), "data/tasks.json")};
}

}  // namespace lathbook::catalogue
