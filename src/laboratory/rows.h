// The lines of a text as tables are printed: cells set apart by two blanks or more, and the words in them.
#pragma once

#include <cstddef>
#include <string>
#include <string_view>
#include <vector>

namespace lathbook::laboratory {

/// A word or one mark of punctuation, in small letters, hyphens of every kind as '-'. A word may hold '-', '/', '.',
/// '_' and '\'' between its letters and digits, so that S1-2 and S1/2 are words of their own and never S1.
struct Word {
  std::string text;
  bool mark = false;  ///< punctuation
};

struct Cell {
  std::vector<Word> words;
  std::string text;       ///< as compared: small letters, one blank between words
  std::size_t begin = 0;  ///< first column, counted from 0 in characters
  std::size_t end = 0;    ///< past the last column
};

struct Row {
  int page = 1;
  int number = 1;    ///< of the line on its page, from 1
  std::string text;  ///< as printed, without blanks at either end; always UTF-8
  std::vector<Cell> cells;
  [[nodiscard]] bool blank() const { return cells.empty(); }
};

/// Lines end at a line feed, pages at a form feed. Bytes that are no UTF-8 become U+FFFD, controls and zero-width
/// characters are left out, ligatures are taken apart. Linear in the text.
[[nodiscard]] std::vector<Row> rows_of(std::string_view text);

/// The words of a name, as those of a row.
[[nodiscard]] std::vector<Word> words_of(std::string_view name);

}  // namespace lathbook::laboratory
