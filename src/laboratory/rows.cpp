#include "laboratory/rows.h"

#include <algorithm>

namespace lathbook::laboratory {
namespace {

constexpr char32_t kBad = 0xFFFD;

/// The next character of `text` from `at`, which it moves on; U+FFFD for bytes that are none.
char32_t next_of(std::string_view text, std::size_t& at) {
  const auto byte = [&](std::size_t i) { return static_cast<unsigned char>(text[i]); };
  const auto first = byte(at++);
  if (first < 0x80) return first;
  const int more = first >= 0xF0 && first < 0xF5 ? 3 : first >= 0xE0 ? 2 : first >= 0xC2 ? 1 : 0;
  if (more == 0 || first >= 0xF5) return kBad;
  char32_t point = first & (0x3FU >> more);
  for (int i = 0; i < more; ++i) {
    if (at >= text.size() || (byte(at) & 0xC0U) != 0x80U) return kBad;
    point = (point << 6U) | (byte(at++) & 0x3FU);
  }
  const char32_t least = more == 3 ? 0x10000 : more == 2 ? 0x800 : 0x80;
  if (point < least || point > 0x10FFFF || (point >= 0xD800 && point < 0xE000)) return kBad;
  return point;
}

void put(std::string& out, char32_t point) {
  const auto byte = [&](char32_t value) { out.push_back(static_cast<char>(static_cast<unsigned char>(value))); };
  if (point < 0x80) {
    byte(point);
  } else if (point < 0x800) {
    byte(0xC0U | (point >> 6U));
    byte(0x80U | (point & 0x3FU));
  } else if (point < 0x10000) {
    byte(0xE0U | (point >> 12U));
    byte(0x80U | ((point >> 6U) & 0x3FU));
    byte(0x80U | (point & 0x3FU));
  } else {
    byte(0xF0U | (point >> 18U));
    byte(0x80U | ((point >> 12U) & 0x3FU));
    byte(0x80U | ((point >> 6U) & 0x3FU));
    byte(0x80U | (point & 0x3FU));
  }
}

/// What a character is read as: letters small, every hyphen '-', every blank ' ', signs that point to a note '*'.
std::string plain(char32_t point) {
  if (point >= 'A' && point <= 'Z') return {static_cast<char>(point + 32)};
  if (point == '`') return "'";
  if (point < 0x80) return {static_cast<char>(point)};
  if ((point >= 0x2010 && point <= 0x2015) || point == 0x2212 || point == 0xFE63 || point == 0xFF0D) return "-";
  if (point == 0xA0 || (point >= 0x2000 && point <= 0x200A) || point == 0x202F || point == 0x205F || point == 0x3000)
    return " ";
  if (point == 0x2018 || point == 0x2019) return "'";
  if (point == 0x201C || point == 0x201D) return "\"";
  if (point == 0x2020 || point == 0x2021 || point == 0xA7 || point == 0xB9 || point == 0xB2 || point == 0xB3 ||
      (point >= 0x2070 && point <= 0x2079))
    return "*";
  if (point == 0x2022 || point == 0xB7 || point == 0x25CF || point == 0x25AA) return "-";  // bullets
  constexpr const char* kLigatures[] = {"ff", "fi", "fl", "ffi", "ffl"};
  if (point >= 0xFB00 && point <= 0xFB04) return kLigatures[point - 0xFB00];
  std::string out;
  put(out, point);
  return out;
}

bool unseen(char32_t point) {
  return (point < 0x20 && point != '\t') || (point >= 0x7F && point < 0xA0) || point == 0xAD ||
         (point >= 0x200B && point <= 0x200F) || (point >= 0x202A && point <= 0x202E) ||
         (point >= 0x2060 && point <= 0x2064) || point == 0xFEFF;
}

bool within_word(char c) {
  return (c >= 'a' && c <= 'z') || (c >= '0' && c <= '9') || static_cast<unsigned char>(c) >= 0x80;
}
bool joins(char c) { return c == '-' || c == '/' || c == '.' || c == '_' || c == '\''; }

/// Cuts one stretch without blanks into words and marks.
void cut(std::string_view text, std::vector<Word>& words) {
  std::size_t at = 0;
  while (at < text.size()) {
    if (!within_word(text[at])) {
      words.push_back({std::string(1, text[at++]), true});
      continue;
    }
    std::size_t end = at;
    while (end < text.size() && (within_word(text[end]) || joins(text[end]))) ++end;
    // A stop behind a word is a mark; a hyphen or stroke stays, since what it led to may stand on the next line.
    auto last = end;
    while (last > at && (text[last - 1] == '.' || text[last - 1] == '\'')) --last;
    words.push_back({std::string(text.substr(at, last - at)), false});
    for (; last < end; ++last) words.push_back({std::string(1, text[last]), true});
    at = end;
  }
}

/// One line, its characters as read, each with the column it stands in.
class Line {
 public:
  void add(char32_t point) {
    if (unseen(point)) return;
    if (point == '\t') {
      for (int i = 0; i < 2; ++i) put_plain(" ");
      shown_ += "  ";
    } else {
      put_plain(plain(point));
      put(shown_, point);
    }
  }

  [[nodiscard]] Row row(int page, int number) const {
    Row row{page, number, {}, {}};
    const auto first = shown_.find_first_not_of(' ');
    if (first != std::string::npos) row.text = shown_.substr(first, shown_.find_last_not_of(' ') - first + 1);
    std::size_t at = 0;
    while (at < text_.size()) {
      if (text_[at] == ' ' || text_[at] == '|') {
        ++at;
        continue;
      }
      // Up to two blanks together, or a rule between columns.
      std::size_t end = at;
      while (end < text_.size() && text_[end] != '|' &&
             (text_[end] != ' ' || (end + 1 < text_.size() && text_[end + 1] != ' ' && text_[end + 1] != '|')))
        ++end;
      row.cells.push_back(cell(at, end));
      at = end;
    }
    return row;
  }

 private:
  void put_plain(std::string_view piece) {
    for (const char c : piece) {
      text_.push_back(c);
      columns_.push_back(column_);
    }
    ++column_;
  }

  [[nodiscard]] Cell cell(std::size_t begin, std::size_t end) const {
    Cell cell;
    cell.begin = columns_[begin];
    cell.end = columns_[end - 1] + 1;
    cell.text = text_.substr(begin, end - begin);
    std::size_t at = 0;
    while (at < cell.text.size()) {
      if (cell.text[at] == ' ') {
        ++at;
        continue;
      }
      const auto stop = std::min(cell.text.find(' ', at), cell.text.size());
      cut(std::string_view(cell.text).substr(at, stop - at), cell.words);
      at = stop;
    }
    return cell;
  }

  std::string text_;                  // as read
  std::string shown_;                 // as printed
  std::vector<std::size_t> columns_;  // of each byte of text_
  std::size_t column_ = 0;
};

}  // namespace

std::vector<Row> rows_of(std::string_view text) {
  std::vector<Row> rows;
  int page = 1;
  int number = 1;
  Line line;
  const auto end_line = [&] {
    rows.push_back(line.row(page, number));
    ++number;
    line = {};
  };
  for (std::size_t at = 0; at < text.size();) {
    const auto point = next_of(text, at);
    if (point == '\n') {
      end_line();
    } else if (point == '\f') {
      end_line();
      ++page;
      number = 1;
    } else {
      line.add(point);
    }
  }
  end_line();
  return rows;
}

std::vector<Word> words_of(std::string_view name) {
  std::vector<Word> words;
  for (const auto& row : rows_of(name)) {
    for (const auto& cell : row.cells) words.insert(words.end(), cell.words.begin(), cell.words.end());
  }
  return words;
}

}  // namespace lathbook::laboratory
