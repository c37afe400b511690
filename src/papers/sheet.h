// Lays words, tables and drawings out on pages and answers them as a PDF.
//
// Everything that is text is rows of cells, broken into lines by Pango (a word too long for its column is broken, never
// cut). A row that fits on a page is not split; a longer one goes on overleaf at a line. Tables repeat their head. Each
// page bears the cautions, the house, the date, the book's revision and "page i of n" in its foot.
//
// The PDF has a title, a language, bookmarks for the headings, a structure tree (H1, H2, P, L, Table, Figure) and every
// font embedded as a subset. The same sheet gives the same bytes: the only date in it is the one given. A fault names
// what is missing: a font, or what Cairo reports. Figures have no alternative text (Cairo 1.16 cannot write it); a
// caption says the same in words. Checked with qpdf and poppler in tests/tools/papers_check.py.
#pragma once

#include <functional>
#include <memory>
#include <string>
#include <string_view>
#include <vector>

#include "papers/canvas.h"
#include "reason/date.h"
#include "reason/date_words.h"
#include "reason/fault.h"

namespace lathbook::papers {

enum class Size { kA4, kLetter };
[[nodiscard]] double width_mm(Size size);
[[nodiscard]] double height_mm(Size size);

enum class Look { kText, kSmall, kStrong };

struct Setup {
  Size size = Size::kA4;
  std::string title;  ///< of the document
  std::string house;
  reason::Date date;
  std::int64_t revision = 0;
  std::string cautions;  ///< in the foot of every page
  double text_pt = 9.2;  ///< of running text; the rest follows it
  /// Every day in a text that is set is written in this order (reason::dates_in_words).
  reason::DateOrder dates = reason::DateOrder::kDayMonthYear;
};

struct Column {
  std::string title;
  double share = 1;  ///< of the width, beside the other columns'
};
using Cells = std::vector<std::string>;
using Draw = std::function<void(Canvas&)>;

/// A photo and the words under it.
struct Shown {
  std::shared_ptr<const photo::Picture> picture;
  std::string caption;
};

class Sheet {
 public:
  explicit Sheet(Setup setup);
  ~Sheet();
  Sheet(Sheet&&) noexcept;
  Sheet& operator=(Sheet&&) = delete;

  Sheet& title(std::string_view text);
  Sheet& heading(std::string_view text);
  Sheet& subheading(std::string_view text);
  Sheet& paragraph(std::string_view text, Look look = Look::kText);
  Sheet& item(std::string_view mark, std::string_view text);
  Sheet& table(const std::vector<Column>& columns, const std::vector<Cells>& rows);
  /// A drawing as wide as the text; `caption` says in words what it shows.
  Sheet& figure(double height_mm, Draw draw, std::string_view caption);
  /// Photos side by side, three a row, each with its caption below.
  Sheet& photos(const std::vector<Shown>& shown);
  /// A line to sign or write on, with words under it.
  Sheet& lines_to_fill(const std::vector<Column>& lines);
  Sheet& gap(double mm);
  /// A new page unless there is this much room left.
  Sheet& keep(double mm);
  /// A page of its own without head or foot, for labels: `draw` has the whole page, true to the millimetre.
  Sheet& bare_page(Draw draw);

  [[nodiscard]] int pages() const;
  [[nodiscard]] reason::Result<std::string> pdf() const;

 private:
  struct Impl;
  std::unique_ptr<Impl> impl_;
};

/// The PDF with `/Lang` and the wish to show its title in its catalogue, as an incremental update (ISO 32000-1 7.5.6).
[[nodiscard]] std::string with_language(std::string pdf, std::string_view language);

}  // namespace lathbook::papers
