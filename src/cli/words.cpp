#include "cli/words.h"

#include <fmt/format.h>

#include <algorithm>
#include <cctype>

namespace lathbook::cli {
namespace {

constexpr std::string_view kEnding = ".lathbook";

bool is_field(std::string_view word) {
  const auto equals = word.find('=');
  if (equals == std::string_view::npos || equals == 0) return false;
  return std::all_of(word.begin(), word.begin() + static_cast<std::ptrdiff_t>(equals), [](unsigned char c) {
    return std::islower(c) != 0 || std::isdigit(c) != 0 || c == '_' || c == '.';
  });
}

}  // namespace

Words sort_words(const std::vector<std::string>& words, const std::string& book_option) {
  Words sorted;
  for (const auto& word : words) {
    if (is_field(word)) {
      sorted.fields.push_back(word);
    } else if (!sorted.book && book_option.empty() && word.size() > kEnding.size() && word.ends_with(kEnding)) {
      sorted.book = word;
    } else {
      sorted.rest.push_back(word);
    }
  }
  if (!book_option.empty()) sorted.book = book_option;
  return sorted;
}

reason::Result<std::filesystem::path> find_book(const Words& words) {
  if (words.book) return *words.book;
  std::vector<std::filesystem::path> found;
  std::error_code error;
  for (const auto& entry : std::filesystem::directory_iterator(".", error)) {
    if (entry.path().extension() == kEnding) found.push_back(entry.path().filename());
  }
  if (found.size() == 1) return found.front();
  if (found.empty()) {
    return reason::Fault{"", "", "no book is named and there is none in this folder",
                         "the name of a .lathbook file; `lathbook new house.lathbook` makes one",
                         reason::FaultKind::kUsage};
  }
  std::sort(found.begin(), found.end());
  std::vector<std::string> names;
  for (const auto& one : found) names.push_back(one.string());
  return reason::Fault{"", "", "no book is named and this folder holds several",
                       fmt::format("{}", fmt::join(names, ", ")), reason::FaultKind::kUsage};
}

}  // namespace lathbook::cli
