#include "cli/text.h"

#include <unilbrk.h>
#include <unistr.h>
#include <uniwidth.h>

#include <algorithm>

namespace lathbook::cli {
namespace {

const std::uint8_t* bytes(std::string_view text) { return reinterpret_cast<const std::uint8_t*>(text.data()); }

/// Control characters from a book must not reach the terminal.
std::string printable(std::string_view text) {
  std::string out;
  out.reserve(text.size());
  for (const char c : text) {
    const auto byte = static_cast<unsigned char>(c);
    if (byte == '\n' || byte == '\t') {
      out += byte == '\t' ? ' ' : '\n';
    } else if (byte >= 0x20 && byte != 0x7F) {
      out += c;
    }
  }
  return out;
}

}  // namespace

int width_of(std::string_view text) {
  // Most text is plain ASCII, of which every printable character takes one column.
  const bool plain = std::all_of(text.begin(), text.end(), [](char c) { return c >= 0x20 && c < 0x7F; });
  if (plain) return static_cast<int>(text.size());
  return u8_width(bytes(text), text.size(), "UTF-8");
}

std::string padded(std::string_view text, int columns) {
  std::string out(text);
  out.append(static_cast<std::size_t>(std::max(0, columns - width_of(text))), ' ');
  return out;
}

std::string with_command(std::string text, std::string_view command) {
  if (command.empty()) return text;
  if (!text.empty() && text.back() == '.') text.pop_back();
  return text.append(": ").append(command);
}

std::vector<std::string> wrapped(std::string_view raw, int columns) {
  const std::string text = printable(raw);
  if (text.empty()) return {""};
  if (const bool one_line = text.find('\n') == std::string::npos && text.back() != ' ' && width_of(text) <= columns;
      one_line)
    return {text};
  std::string breaks(text.size(), 0);
  u8_width_linebreaks(bytes(text), text.size(), columns, 0, 0, nullptr, "UTF-8", breaks.data());
  std::vector<std::string> lines(1);
  int width = 0;  // of the last line
  for (std::size_t i = 0; i < text.size();) {
    const int length = std::max(1, u8_mblen(bytes(text) + i, text.size() - i));
    const auto character = std::string_view(text).substr(i, static_cast<std::size_t>(length));
    const bool breaks_here = breaks[i] == UC_BREAK_POSSIBLE || breaks[i] == UC_BREAK_MANDATORY;
    const int more = width_of(character);
    const bool too_long = width + more > columns && character != " ";
    if (breaks_here || too_long) {
      lines.emplace_back();
      width = 0;
    }
    if (character != "\n" && !(lines.back().empty() && character == " " && lines.size() > 1)) {
      lines.back() += character;
      width += more;
    }
    i += static_cast<std::size_t>(length);
  }
  for (auto& line : lines) {
    while (!line.empty() && line.back() == ' ') line.pop_back();
  }
  return lines;
}

std::string Page::styled(std::string_view text, Style style) const {
  if (!colour_ || style == Style::kPlain || text.empty()) return std::string(text);
  const char* code = style == Style::kQuiet ? "\033[2m" : "\033[1m";
  return std::string(code) + std::string(text) + "\033[0m";
}

void Page::lines(std::string_view first_prefix, std::string_view rest_prefix, std::string_view text, Style style) {
  const int room = std::max(16, columns_ - std::max(width_of(first_prefix), width_of(rest_prefix)));
  bool first = true;
  for (const auto& line : wrapped(text, room)) {
    std::string whole(first ? first_prefix : rest_prefix);
    whole += styled(line, style);
    while (!whole.empty() && whole.back() == ' ') whole.pop_back();
    out_ += whole + "\n";
    first = false;
  }
}

Page& Page::title(std::string_view text) {
  lines("", "", text, Style::kStrong);
  std::string rule;
  for (int i = 0; i < columns_; ++i) rule += "─";
  out_ += styled(rule, Style::kQuiet) + "\n";
  return *this;
}

Page& Page::heading(std::string_view text) {
  out_ += "\n";
  lines("", "", text, Style::kStrong);
  return *this;
}

Page& Page::paragraph(std::string_view text, int indent, Style style) {
  const std::string blanks(static_cast<std::size_t>(indent), ' ');
  lines(blanks, blanks, text, style);
  return *this;
}

Page& Page::entry(std::string_view label, std::string_view text, int label_columns, int indent, Style style) {
  const std::string blanks(static_cast<std::size_t>(indent), ' ');
  const std::string first = blanks + padded(label, label_columns) + (width_of(label) >= label_columns ? "  " : "");
  lines(first, std::string(static_cast<std::size_t>(indent + label_columns), ' '), text, style);
  return *this;
}

Page& Page::item(std::string_view mark, std::string_view text, int indent, Style style) {
  const std::string blanks(static_cast<std::size_t>(indent), ' ');
  const std::string first = blanks + std::string(mark) + " ";
  lines(first, std::string(static_cast<std::size_t>(width_of(first)), ' '), text, style);
  return *this;
}

Page& Page::blank() {
  out_ += "\n";
  return *this;
}

Page& Page::table(const std::vector<std::string>& head, const std::vector<std::vector<std::string>>& rows, int indent) {
  std::vector<int> widths;
  for (const auto& cell : head) widths.push_back(width_of(cell));
  for (const auto& row : rows) {
    for (std::size_t i = 0; i < row.size() && i < widths.size(); ++i) widths[i] = std::max(widths[i], width_of(row[i]));
  }
  const auto row_text = [&](const std::vector<std::string>& row) {
    std::string first(static_cast<std::size_t>(indent), ' ');
    for (std::size_t i = 0; i + 1 < row.size(); ++i) first += padded(row[i], widths[i] + 2);
    const std::string rest(static_cast<std::size_t>(width_of(first)), ' ');
    lines(first, rest, row.empty() ? "" : row.back(), Style::kPlain);
  };
  row_text(head);
  for (const auto& row : rows) row_text(row);
  return *this;
}

Page& Page::raw(std::string_view line) {
  out_ += std::string(line) + "\n";
  return *this;
}

}  // namespace lathbook::cli
