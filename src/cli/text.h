// Lays text out for a terminal: 80 columns, Unicode-aware, colour only as an addition to words.
#pragma once

#include <string>
#include <string_view>
#include <vector>

namespace lathbook::cli {

inline constexpr int kColumns = 80;

/// Columns a UTF-8 text takes on a terminal (UAX #11).
[[nodiscard]] int width_of(std::string_view text);

/// `text` padded with blanks to `columns` (never cut).
[[nodiscard]] std::string padded(std::string_view text, int columns);

/// How a stretch of text is set off. On a terminal without colour every style is plain text.
enum class Style { kPlain, kTitle, kStrong, kQuiet };

/// A page of text that grows line by line.
class Page {
 public:
  explicit Page(bool colour, int columns = kColumns) : colour_(colour), columns_(columns) {}

  /// A title of its own line, with a rule under it.
  Page& title(std::string_view text);
  /// A heading, with a blank line before it.
  Page& heading(std::string_view text);
  /// A paragraph, wrapped (UAX #14), every line after `indent` blanks.
  Page& paragraph(std::string_view text, int indent = 0, Style style = Style::kPlain);
  /// "label  text", the text wrapped beside the label.
  Page& entry(std::string_view label, std::string_view text, int label_columns, int indent = 2,
              Style style = Style::kPlain);
  /// "– text" or "3. text", wrapped and hanging.
  Page& item(std::string_view mark, std::string_view text, int indent = 2, Style style = Style::kPlain);
  Page& blank();
  /// Rows under headings; columns as wide as their cells, the last one wrapped.
  Page& table(const std::vector<std::string>& head, const std::vector<std::vector<std::string>>& rows, int indent = 0);
  /// A line as it is.
  Page& raw(std::string_view line);

  [[nodiscard]] const std::string& text() const { return out_; }

 private:
  void lines(std::string_view first_prefix, std::string_view rest_prefix, std::string_view text, Style style);
  [[nodiscard]] std::string styled(std::string_view text, Style style) const;

  bool colour_;
  int columns_;
  std::string out_;
};

/// "Write it down: lathbook add …": what is to be done, and the command that does it where there is one.
[[nodiscard]] std::string with_command(std::string text, std::string_view command);

/// The lines of `text` broken to fit `columns`; a word longer than that is broken too, never cut.
[[nodiscard]] std::vector<std::string> wrapped(std::string_view text, int columns);

}  // namespace lathbook::cli
