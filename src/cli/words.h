// The loose words behind a command, told apart by their form: M7 is an item, name=… a field, house.lathbook the book.
#pragma once

#include <filesystem>
#include <optional>
#include <string>
#include <vector>

#include "reason/fault.h"

namespace lathbook::cli {

struct Words {
  std::optional<std::filesystem::path> book;  ///< a word ending in .lathbook, or --book
  std::vector<std::string> fields;            ///< words with an = after a name
  std::vector<std::string> rest;              ///< everything else, in order
};

[[nodiscard]] Words sort_words(const std::vector<std::string>& words, const std::string& book_option);

/// The book meant: the one named, or the only *.lathbook in the folder one stands in.
[[nodiscard]] reason::Result<std::filesystem::path> find_book(const Words& words);

}  // namespace lathbook::cli
