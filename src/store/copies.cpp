#include "store/copies.h"

#include <fmt/core.h>

#include <algorithm>
#include <set>

#include "store/failure.h"
#include "store/files.h"

namespace lathbook::store {
namespace {

constexpr std::string_view kForm = "-00000000-000000";
constexpr std::string_view kEnding = ".lathbook";
constexpr std::string_view kLocked = ".locked";

/// When a copy was made, from its name: "20261125-140501"; nothing when it is no copy of this book.
std::optional<std::string_view> moment_of(std::string_view name, std::string_view book_name) {
  if (name.ends_with(kLocked)) name.remove_suffix(kLocked.size());
  if (!name.ends_with(kEnding) || !name.starts_with(book_name)) return std::nullopt;
  name.remove_suffix(kEnding.size());
  name.remove_prefix(std::min(book_name.size(), name.size()));
  const auto fits = [](char c, char form) { return form == '0' ? c >= '0' && c <= '9' : c == form; };
  if (name.size() != kForm.size() || !std::ranges::equal(name, kForm, fits)) return std::nullopt;
  return name.substr(1);
}

}  // namespace

std::string copy_name(std::string_view book_name, std::string_view now, bool locked) {
  std::string digits;
  std::ranges::copy_if(now, std::back_inserter(digits), [](char c) { return c >= '0' && c <= '9'; });
  digits.resize(14, '0');
  return fmt::format("{}-{}-{}{}{}", book_name, digits.substr(0, 8), digits.substr(8), kEnding, locked ? kLocked : "");
}

std::vector<std::string> outdated(std::span<const std::string> names, std::string_view book_name, std::size_t keep) {
  std::vector<std::pair<std::string_view, std::string>> copies;
  for (const auto& name : names) {
    if (const auto moment = moment_of(name, book_name)) copies.emplace_back(*moment, name);
  }
  std::ranges::sort(copies, std::greater());
  std::set<std::string_view> months;
  std::vector<std::string> gone;
  for (std::size_t i = 0; i < copies.size(); ++i) {
    constexpr std::size_t kYearAndMonth = 6;
    const bool newest_of_month = months.insert(copies[i].first.substr(0, kYearAndMonth)).second;
    if (i >= std::max<std::size_t>(keep, 1) && !newest_of_month) gone.push_back(copies[i].second);
  }
  std::ranges::sort(gone);
  return gone;
}

Result<Done> copy_book(const Store& book, const std::filesystem::path& target,
                       const std::optional<std::string>& passphrase, bool replace, const Effort& effort) {
  if (!passphrase) return book.backup_to(target, replace);
  std::error_code error;
  if (std::filesystem::equivalent(target, book.path(), error))
    return file_fault(target, "is the book itself, not a place for its copy");
  const auto draft = Draft::beside(book.path(), true);
  if (!draft.ok()) return draft.faults();
  if (const auto copied = book.backup_to(draft->path()); !copied.ok()) {
    auto faults = copied.faults();
    for (auto& fault : faults) fault.where = target.string();
    return faults;
  }
  return lock_file(draft->path(), target, *passphrase, replace, effort);
}

Result<Done> restore(const std::filesystem::path& copy, const std::filesystem::path& target,
                     const std::optional<std::string>& passphrase, const Options& options) {
  if (!is_locked(copy)) {
    const auto plain = Store::open(copy, Mode::kReadOnly, options);
    if (!plain.ok()) return plain.faults();
    return plain->backup_to(target);
  }
  if (!passphrase) return reason::Fault{copy.string(), "", "is a locked copy", "its passphrase"};
  auto draft = Draft::beside(target, false);
  if (!draft.ok()) return draft.faults();
  if (auto opened = unlock_file(copy, draft->path(), *passphrase); !opened.ok()) return opened;
  {
    const auto plain = Store::open(draft->path(), Mode::kReadOnly, options);
    const auto contents = plain.ok() ? plain->read_all_text() : Result<ContentsText>(plain.faults());
    if (!contents.ok()) {
      auto faults = contents.faults();
      for (auto& fault : faults) fault.where = copy.string();
      return faults;
    }
  }
  return draft->place();
}

}  // namespace lathbook::store
