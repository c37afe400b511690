#include "papers/sheet.h"

#include <cairo-pdf.h>
#include <fmt/format.h>
#include <pango/pangocairo.h>

#include <algorithm>
#include <charconv>
#include <cmath>
#include <stdexcept>

namespace lathbook::papers {
namespace {

constexpr double kSideMm = 17;
constexpr double kTopMm = 16;
constexpr double kFootMm = 25;  ///< kept free at the bottom for the foot
constexpr double kCellGapMm = 2.2;
constexpr double kLeading = 1.36;
constexpr Colour kRule{0.62, 0.59, 0.54};

/// A text or a drawing in its place on a page, with the structure it belongs to.
struct Ink {
  int page = 0;
  int group = 0;  ///< a table or list; 0 = none. Neighbours of one group share one element.
  const char* group_tag = "";
  int row = 0;  ///< a row of a table, an item of a list; 0 = none
  const char* row_tag = "";
  const char* tag = "P";
  std::shared_ptr<PangoLayout> layout;
  int first_line = 0;
  int end_line = 0;
  double x = 0;  ///< points
  double y = 0;
  double leading = 0;
  double rule_y = 0;  ///< a rule under a row; 0 = none
  double rule_from = 0;
  double rule_to = 0;
  int bookmark_level = 0;  ///< 1 title, 2 heading; 0 = none
  std::string bookmark;
  Draw draw;
  double draw_width_mm = 0;
  double draw_height_mm = 0;
};

struct Font {
  const char* family;
  double size_pt;
  bool bold;
};

struct Cell {
  std::string text;
  Font font;
  double x = 0;
  double width = 0;
  const char* tag = "P";
};

std::shared_ptr<PangoContext> make_context() {
  std::shared_ptr<PangoContext> context(pango_font_map_create_context(pango_cairo_font_map_get_default()),
                                        &g_object_unref);
  // Positions must not depend on a screen: no hinting, no rounding to whole points.
  cairo_font_options_t* options = cairo_font_options_create();
  cairo_font_options_set_hint_style(options, CAIRO_HINT_STYLE_NONE);
  cairo_font_options_set_hint_metrics(options, CAIRO_HINT_METRICS_OFF);
  cairo_font_options_set_antialias(options, CAIRO_ANTIALIAS_GRAY);
  pango_cairo_context_set_font_options(context.get(), options);
  cairo_font_options_destroy(options);
  pango_cairo_context_set_resolution(context.get(), 72);
  pango_context_set_round_glyph_positions(context.get(), FALSE);
  pango_context_set_language(context.get(), pango_language_from_string("en-GB"));
  return context;
}

/// Fontconfig answers any name with some font; only the family it answers with tells whether the font is there.
reason::Faults missing_fonts(PangoContext* context) {
  static constexpr std::pair<const char*, const char*> kNeeded[] = {{kSerif, "fonts-sil-gentiumplus"},
                                                                    {kSans, "fonts-open-sans"}};
  reason::Faults faults;
  for (const auto& [family, package] : kNeeded) {
    PangoFontDescription* wanted = pango_font_description_new();
    pango_font_description_set_family_static(wanted, family);
    pango_font_description_set_size(wanted, 10 * PANGO_SCALE);
    PangoFont* font = pango_context_load_font(context, wanted);
    bool there = false;
    if (font != nullptr) {
      PangoFontDescription* got = pango_font_describe(font);
      there = std::string_view(pango_font_description_get_family(got)) == family;
      pango_font_description_free(got);
      g_object_unref(font);
    }
    pango_font_description_free(wanted);
    if (!there) {
      faults.push_back({"font", family, "is not installed, so no paper can be made",
                        fmt::format("the Debian package {}", package), reason::FaultKind::kMissing});
    }
  }
  return faults;
}

}  // namespace

double width_mm(Size size) { return size == Size::kA4 ? 210 : 215.9; }
double height_mm(Size size) { return size == Size::kA4 ? 297 : 279.4; }

struct Sheet::Impl {
  Setup setup;
  std::shared_ptr<PangoContext> context = make_context();
  std::vector<Ink> inks;
  std::vector<bool> bare;  ///< by page
  int page = 0;
  int groups = 0;
  int rows = 0;
  double y = 0;
  double left = kSideMm * kPointsPerMm;
  double right = 0;
  double bottom = 0;

  explicit Impl(Setup given) : setup(std::move(given)) {
    right = (width_mm(setup.size) - kSideMm) * kPointsPerMm;
    bottom = (height_mm(setup.size) - kFootMm) * kPointsPerMm;
    start_page();
  }

  void start_page() {
    page = static_cast<int>(bare.size());
    bare.push_back(false);
    y = kTopMm * kPointsPerMm;
  }
  /// A new page that takes along what was set from `first` on, unless that is all there is on the page.
  void start_page_with(std::size_t first) {
    const double top = kTopMm * kPointsPerMm;
    if (first < inks.size() && inks[first].y <= top) return;
    const double up = first < inks.size() ? inks[first].y - top : 0;
    const double below = y;
    start_page();
    for (auto i = first; i < inks.size(); ++i) {
      inks[i].page = page;
      inks[i].y -= up;
      if (inks[i].rule_y > 0) inks[i].rule_y -= up;
    }
    if (first < inks.size()) y = below - up;
  }
  /// The headings just set: none stands alone at the foot of a page.
  [[nodiscard]] std::size_t headings_just_set() const {
    auto first = inks.size();
    while (first > 0 && inks[first - 1].page == page && is_heading(inks[first - 1])) --first;
    return first;
  }
  /// The last heading on this page and all that follows it.
  [[nodiscard]] std::size_t last_section() const {
    auto first = inks.size();
    while (first > 0 && inks[first - 1].page == page) {
      --first;
      if (is_heading(inks[first])) return first;
    }
    return inks.size();
  }
  /// The table or list just set, as far as it is on this page.
  [[nodiscard]] std::size_t last_group() const {
    auto first = inks.size();
    while (first > 0 && inks[first - 1].page == page && inks[first - 1].group == inks.back().group &&
           inks.back().group != 0)
      --first;
    return first;
  }
  [[nodiscard]] static bool is_heading(const Ink& ink) { return std::string_view(ink.tag).starts_with("H"); }
  [[nodiscard]] bool page_empty() const { return y <= kTopMm * kPointsPerMm; }

  [[nodiscard]] Font text_font() const { return {kSans, setup.text_pt, false}; }

  [[nodiscard]] std::shared_ptr<PangoLayout> layout_of(const Cell& cell) const {
    std::shared_ptr<PangoLayout> layout(pango_layout_new(context.get()), &g_object_unref);
    PangoFontDescription* font = pango_font_description_new();
    pango_font_description_set_family_static(font, cell.font.family);
    pango_font_description_set_absolute_size(font, cell.font.size_pt * PANGO_SCALE);
    pango_font_description_set_weight(font, cell.font.bold ? PANGO_WEIGHT_BOLD : PANGO_WEIGHT_NORMAL);
    pango_layout_set_font_description(layout.get(), font);
    pango_font_description_free(font);
    const auto text = reason::dates_in_words(cell.text, setup.dates);
    pango_layout_set_text(layout.get(), text.c_str(), static_cast<int>(text.size()));
    pango_layout_set_width(layout.get(), static_cast<int>(cell.width * PANGO_SCALE));
    pango_layout_set_wrap(layout.get(), PANGO_WRAP_WORD_CHAR);
    return layout;
  }

  struct RowStyle {
    int group = 0;
    const char* group_tag = "";
    const char* row_tag = "";
    bool rule = false;
    double after = 0;  ///< points
    int bookmark_level = 0;
    std::function<void()> on_new_page;
  };

  /// The one primitive: cells side by side, line by line.
  void row(const std::vector<Cell>& cells, const RowStyle& style) {
    std::vector<std::shared_ptr<PangoLayout>> layouts;
    double leading = 0;
    int lines = 1;
    for (const auto& cell : cells) {
      layouts.push_back(layout_of(cell));
      leading = std::max(leading, cell.font.size_pt * kLeading);
      lines = std::max(lines, pango_layout_get_line_count(layouts.back().get()));
    }
    const int on_a_page = static_cast<int>((bottom - kTopMm * kPointsPerMm) / leading) - 4;
    if (y + lines * leading > bottom && lines <= on_a_page) turn(style);
    ++rows;
    for (int done = 0; done < lines;) {
      const int room = static_cast<int>((bottom - y + 0.01) / leading);
      if (room < 1) {
        turn(style);
        ++rows;
        continue;
      }
      const int end = std::min(lines, done + room);
      bool ruled = false;
      for (std::size_t i = 0; i < cells.size(); ++i) {
        const int own = pango_layout_get_line_count(layouts[i].get());
        if (done >= own) continue;
        Ink ink;
        ink.page = page;
        ink.group = style.group;
        ink.group_tag = style.group_tag;
        ink.row = *style.row_tag != '\0' ? rows : 0;
        ink.row_tag = style.row_tag;
        ink.tag = cells[i].tag;
        ink.layout = layouts[i];
        ink.first_line = done;
        ink.end_line = std::min(end, own);
        ink.x = cells[i].x;
        ink.y = y;
        ink.leading = leading;
        if (style.rule && end == lines && !ruled) {
          ruled = true;
          ink.rule_y = y + (end - done) * leading + style.after * 0.55;
          ink.rule_from = left;
          ink.rule_to = right;
        }
        if (done == 0 && i == 0 && style.bookmark_level > 0) {
          ink.bookmark_level = style.bookmark_level;
          ink.bookmark = cells[i].text;
        }
        inks.push_back(std::move(ink));
      }
      y += (end - done) * leading;
      done = end;
    }
    y += style.after;
  }

  void turn(const RowStyle& style) {
    start_page();
    if (style.on_new_page) style.on_new_page();
  }

  void one(std::string_view text, Font font, const char* tag, double before, double after, int bookmark = 0) {
    if (!page_empty()) y += before;
    RowStyle style;
    style.after = after;
    style.bookmark_level = bookmark;
    row({{std::string(text), font, left, right - left, tag}}, style);
  }

  void draw_ink(cairo_t* cairo, const Ink& ink) const {
    if (ink.draw) {
      cairo_save(cairo);
      cairo_translate(cairo, ink.x, ink.y);
      cairo_scale(cairo, kPointsPerMm, kPointsPerMm);
      Canvas canvas(cairo, context.get(), ink.draw_width_mm, ink.draw_height_mm);
      ink.draw(canvas);
      cairo_restore(cairo);
      return;
    }
    cairo_set_source_rgb(cairo, kInk.red, kInk.green, kInk.blue);
    for (int i = ink.first_line; i < ink.end_line; ++i) {
      cairo_move_to(cairo, ink.x, ink.y + (i - ink.first_line) * ink.leading + ink.leading * 0.76);
      pango_cairo_show_layout_line(cairo, pango_layout_get_line_readonly(ink.layout.get(), i));
    }
  }

  void draw_foot(cairo_t* cairo, int number) const {
    cairo_save(cairo);
    cairo_scale(cairo, kPointsPerMm, kPointsPerMm);
    const double width = width_mm(setup.size) - 2 * kSideMm;
    Canvas canvas(cairo, context.get(), width, kFootMm);
    double at = height_mm(setup.size) - kFootMm + 3;
    canvas.line({kSideMm, at}, {kSideMm + width, at}, 0.2);
    const TextStyle small{6.6, false, false, Align::kLeft, kInk};
    at += 1.4;
    const auto used = canvas.text({kSideMm, at}, setup.cautions, small, width);
    at += used.second + 0.8;
    const auto counted = fmt::format("page {} of {}", number, bare.size());
    const double counted_width = canvas.measure(counted, small).first;
    canvas.text({kSideMm, at},
                fmt::format("{} · {} · {} · book revision {}", setup.title, setup.house,
                            reason::in_words(setup.date, setup.dates), setup.revision),
                small, width - counted_width - 4);
    canvas.text({kSideMm + width, at}, counted, {6.6, false, false, Align::kRight, kInk});
    cairo_restore(cairo);
  }
};

Sheet::Sheet(Setup setup) : impl_(std::make_unique<Impl>(std::move(setup))) {}
Sheet::~Sheet() = default;
Sheet::Sheet(Sheet&&) noexcept = default;

Sheet& Sheet::title(std::string_view text) {
  impl_->one(text, {kSerif, impl_->setup.text_pt * 2.1, true}, "H1", 0, 4, 1);
  return *this;
}

Sheet& Sheet::heading(std::string_view text) {
  keep(22);
  impl_->one(text, {kSerif, impl_->setup.text_pt * 1.42, true}, "H2", 9, 3, 2);
  return *this;
}

Sheet& Sheet::subheading(std::string_view text) {
  keep(16);
  impl_->one(text, {kSans, impl_->setup.text_pt * 1.02, true}, "H3", 5, 1.5);
  return *this;
}

Sheet& Sheet::paragraph(std::string_view text, Look look) {
  auto font = impl_->text_font();
  if (look == Look::kSmall) font.size_pt *= 0.86;
  if (look == Look::kStrong) font.bold = true;
  impl_->one(text, font, "P", 0, 3.5);
  return *this;
}

Sheet& Sheet::item(std::string_view mark, std::string_view text) {
  auto& impl = *impl_;
  const auto& last = impl.inks;
  const bool goes_on = !last.empty() && std::string_view(last.back().group_tag) == "L";
  Impl::RowStyle style;
  style.group = goes_on ? last.back().group : ++impl.groups;
  style.group_tag = "L";
  style.row_tag = "LI";
  style.after = 1.6;
  const double hang = 5.5 * kPointsPerMm;
  impl.row({{std::string(mark), impl.text_font(), impl.left, hang, "Lbl"},
            {std::string(text), impl.text_font(), impl.left + hang, impl.right - impl.left - hang, "LBody"}},
           style);
  return *this;
}

Sheet& Sheet::table(const std::vector<Column>& columns, const std::vector<Cells>& rows) {
  auto& impl = *impl_;
  double shares = 0;
  for (const auto& column : columns) shares += column.share;
  const double gap = kCellGapMm * kPointsPerMm;
  const double width = impl.right - impl.left - gap * static_cast<double>(columns.size() - 1);
  std::vector<Cell> shape;
  double x = impl.left;
  for (const auto& column : columns) {
    Cell cell;
    cell.x = x;
    cell.width = width * column.share / shares;
    x += cell.width + gap;
    shape.push_back(cell);
  }
  Impl::RowStyle style;
  style.group = ++impl.groups;
  style.group_tag = "Table";
  style.row_tag = "TR";
  style.rule = true;
  style.after = 3.2;
  const auto small = impl.setup.text_pt * 0.9;
  const auto head = [&impl, shape, columns, style, small] {
    auto cells = shape;
    for (std::size_t i = 0; i < cells.size(); ++i) {
      cells[i].text = columns[i].title;
      cells[i].font = {kSans, small, true};
      cells[i].tag = "TH";
    }
    impl.row(cells, style);
  };
  const auto filled = [&](const Cells& row) {
    auto cells = shape;
    for (std::size_t i = 0; i < cells.size(); ++i) {
      cells[i].text = i < row.size() ? row[i] : "";
      cells[i].font = {kSans, small, false};
      cells[i].tag = "TD";
    }
    return cells;
  };
  // A head is not left behind by its first row; a row longer than a page is split anyway.
  if (!rows.empty()) {
    double both = 2 * small * kLeading + 2 * style.after;
    double tallest = 0;
    for (const auto& cell : filled(rows.front()))
      tallest = std::max(tallest, pango_layout_get_line_count(impl.layout_of(cell).get()) * small * kLeading);
    both = std::max(both + tallest, 18 * kPointsPerMm);
    if (impl.y + both > impl.bottom && both < (impl.bottom - kTopMm * kPointsPerMm) / 2)
      impl.start_page_with(impl.headings_just_set());
  }
  head();
  style.on_new_page = head;
  for (const auto& row : rows) impl.row(filled(row), style);
  impl.y += 3;
  return *this;
}

Sheet& Sheet::figure(double height_mm, Draw draw, std::string_view caption) {
  auto& impl = *impl_;
  keep(height_mm + 6);
  Ink ink;
  ink.page = impl.page;
  ink.tag = "Figure";
  ink.x = impl.left;
  ink.y = impl.y;
  ink.draw = std::move(draw);
  ink.draw_width_mm = (impl.right - impl.left) / kPointsPerMm;
  ink.draw_height_mm = height_mm;
  impl.inks.push_back(std::move(ink));
  impl.y += height_mm * kPointsPerMm + 2;
  if (!caption.empty()) impl.one(caption, {kSans, impl.setup.text_pt * 0.86, false}, "Caption", 0, 4);
  return *this;
}

Sheet& Sheet::photos(const std::vector<Shown>& shown) {
  auto& impl = *impl_;
  constexpr std::size_t kARow = 3;
  const double gap = 4 * kPointsPerMm;
  const double width = (impl.right - impl.left - gap * (kARow - 1)) / kARow;
  const double tallest = width;  // one held upright is made narrower
  for (std::size_t from = 0; from < shown.size(); from += kARow) {
    const auto end = std::min(from + kARow, shown.size());
    double height = 0;
    const auto size_of = [&](const photo::Picture& picture) {
      const double scale = std::min(width / picture.width_px, tallest / picture.height_px);
      return std::pair(picture.width_px * scale, picture.height_px * scale);
    };
    std::vector<Cell> captions;
    for (auto i = from; i < end; ++i) {
      height = std::max(height, size_of(*shown[i].picture).second);
      captions.push_back({shown[i].caption,
                          {kSans, impl.setup.text_pt * 0.82, false},
                          impl.left + static_cast<double>(i - from) * (width + gap),
                          width,
                          "Caption"});
    }
    keep(height / kPointsPerMm + 14);
    for (auto i = from; i < end; ++i) {
      const auto [wide, high] = size_of(*shown[i].picture);
      Ink ink;
      ink.page = impl.page;
      ink.tag = "Figure";
      ink.x = captions[i - from].x;
      ink.y = impl.y + height - high;
      ink.draw_width_mm = wide / kPointsPerMm;
      ink.draw_height_mm = high / kPointsPerMm;
      ink.draw = [picture = shown[i].picture](Canvas& canvas) {
        canvas.jpeg({0, 0}, canvas.width_mm(), canvas.height_mm(), *picture);
      };
      impl.inks.push_back(std::move(ink));
    }
    impl.y += height + 3;
    Impl::RowStyle style;
    style.after = 7;
    impl.row(captions, style);
  }
  return *this;
}

Sheet& Sheet::lines_to_fill(const std::vector<Column>& lines) {
  auto& impl = *impl_;
  // Nobody signs a page that says nothing: the last section, or table, comes along when it is short.
  if (impl.y + 16 * kPointsPerMm > impl.bottom) {
    const auto is_short = [&impl](std::size_t first) {
      return first < impl.inks.size() && impl.y - impl.inks[first].y < (impl.bottom - kTopMm * kPointsPerMm) / 3;
    };
    auto along = impl.last_section();
    if (!is_short(along)) along = impl.last_group();
    impl.start_page_with(is_short(along) ? along : impl.inks.size());
  }
  impl.y += 9 * kPointsPerMm;
  double shares = 0;
  for (const auto& line : lines) shares += line.share;
  const double gap = 5 * kPointsPerMm;
  const double width = impl.right - impl.left - gap * static_cast<double>(lines.size() - 1);
  std::vector<Cell> cells;
  double x = impl.left;
  for (const auto& line : lines) {
    const double own = width * line.share / shares;
    cells.push_back({line.title, {kSans, impl.setup.text_pt * 0.82, false}, x, own, "P"});
    x += own + gap;
  }
  const double at = impl.y - 1;
  const auto first = impl.inks.size();
  impl.row(cells, {});
  for (std::size_t i = first; i < impl.inks.size(); ++i) {
    auto& ink = impl.inks[i];
    ink.rule_y = at;
    ink.rule_from = ink.x;
    ink.rule_to = ink.x + cells[i - first].width;
  }
  impl.y += 2;
  return *this;
}

Sheet& Sheet::gap(double mm) {
  if (!impl_->page_empty()) impl_->y += mm * kPointsPerMm;
  return *this;
}

Sheet& Sheet::keep(double mm) {
  if (!impl_->page_empty() && impl_->y + mm * kPointsPerMm > impl_->bottom) impl_->start_page();
  return *this;
}

Sheet& Sheet::bare_page(Draw draw) {
  auto& impl = *impl_;
  if (!impl.page_empty()) impl.start_page();
  impl.bare[static_cast<std::size_t>(impl.page)] = true;
  Ink ink;
  ink.page = impl.page;
  ink.tag = "P";
  ink.draw = std::move(draw);
  ink.draw_width_mm = width_mm(impl.setup.size);
  ink.draw_height_mm = height_mm(impl.setup.size);
  impl.inks.push_back(std::move(ink));
  impl.y = impl.bottom;
  return *this;
}

int Sheet::pages() const { return static_cast<int>(impl_->bare.size()); }

reason::Result<std::string> Sheet::pdf() const {
  const auto& impl = *impl_;
  if (auto faults = missing_fonts(impl.context.get()); !faults.empty()) return faults;
  std::string bytes;
  const auto write = [](void* to, const unsigned char* data, unsigned length) {
    static_cast<std::string*>(to)->append(reinterpret_cast<const char*>(data), length);
    return CAIRO_STATUS_SUCCESS;
  };
  cairo_surface_t* surface = cairo_pdf_surface_create_for_stream(
      write, &bytes, width_mm(impl.setup.size) * kPointsPerMm, height_mm(impl.setup.size) * kPointsPerMm);
  cairo_pdf_surface_set_metadata(surface, CAIRO_PDF_METADATA_TITLE,
                                 fmt::format("{} · {}", impl.setup.title, impl.setup.house).c_str());
  cairo_pdf_surface_set_metadata(surface, CAIRO_PDF_METADATA_CREATOR, "Lathbook");
  cairo_pdf_surface_set_metadata(surface, CAIRO_PDF_METADATA_CREATE_DATE,
                                 (impl.setup.date.text() + "T00:00:00Z").c_str());
  cairo_t* cairo = cairo_create(surface);

  int title_bookmark = CAIRO_PDF_OUTLINE_ROOT;
  std::size_t next = 0;
  for (int page = 0; page < static_cast<int>(impl.bare.size()); ++page) {
    const Ink* before = nullptr;
    const auto close = [&](const Ink* following) {
      if (before == nullptr) return;
      const bool same_group = following != nullptr && following->group == before->group;
      if (before->row != 0 && !(same_group && following->row == before->row)) cairo_tag_end(cairo, before->row_tag);
      if (before->group != 0 && !same_group) cairo_tag_end(cairo, before->group_tag);
    };
    for (; next < impl.inks.size() && impl.inks[next].page == page; ++next) {
      const auto& ink = impl.inks[next];
      close(&ink);
      const bool same_group = before != nullptr && before->group == ink.group;
      if (ink.group != 0 && !same_group) cairo_tag_begin(cairo, ink.group_tag, nullptr);
      if (ink.row != 0 && !(same_group && before->row == ink.row)) cairo_tag_begin(cairo, ink.row_tag, nullptr);
      if (ink.bookmark_level > 0) {
        const auto to = fmt::format("page={} pos=[{:.2f} {:.2f}]", page + 1, ink.x, ink.y);
        const int id =
            cairo_pdf_surface_add_outline(surface, ink.bookmark_level == 1 ? CAIRO_PDF_OUTLINE_ROOT : title_bookmark,
                                          ink.bookmark.c_str(), to.c_str(), CAIRO_PDF_OUTLINE_FLAG_OPEN);
        if (ink.bookmark_level == 1) title_bookmark = id;
      }
      cairo_tag_begin(cairo, ink.tag, nullptr);
      impl.draw_ink(cairo, ink);
      cairo_tag_end(cairo, ink.tag);
      before = &ink;
    }
    close(nullptr);
    // Rules and the foot are no part of what is read out: outside every element.
    for (const auto& ink : impl.inks) {
      if (ink.page != page || ink.rule_y <= 0) continue;
      cairo_set_source_rgb(cairo, kRule.red, kRule.green, kRule.blue);
      cairo_set_line_width(cairo, 0.5);
      cairo_move_to(cairo, ink.rule_from, ink.rule_y);
      cairo_line_to(cairo, ink.rule_to, ink.rule_y);
      cairo_stroke(cairo);
    }
    if (!impl.bare[static_cast<std::size_t>(page)]) impl.draw_foot(cairo, page + 1);
    cairo_show_page(cairo);
  }
  cairo_destroy(cairo);
  cairo_surface_finish(surface);
  const auto status = cairo_surface_status(surface);
  cairo_surface_destroy(surface);
  if (status != CAIRO_STATUS_SUCCESS) {
    return reason::Fault{impl.setup.title, "", fmt::format("cannot be drawn: {}", cairo_status_to_string(status)), "",
                         reason::FaultKind::kFile};
  }
  return with_language(std::move(bytes), "en-GB");
}

std::string with_language(std::string pdf, std::string_view language) {
  const auto broken = [] { return std::logic_error("the PDF is not of the form Cairo writes"); };
  const auto number_after = [&](std::string_view mark, std::size_t from) {
    const auto at = pdf.find(mark, from);
    if (at == std::string::npos) throw broken();
    std::size_t digit = at + mark.size();
    while (digit < pdf.size() && (pdf[digit] == ' ' || pdf[digit] == '\n')) ++digit;
    std::size_t number = 0;
    std::from_chars(pdf.data() + digit, pdf.data() + pdf.size(), number);
    return number;
  };
  const auto start = pdf.rfind("startxref");
  const auto trailer = pdf.rfind("trailer");
  if (start == std::string::npos || trailer == std::string::npos) throw broken();
  const auto previous = number_after("startxref", start);
  const auto size = number_after("/Size", trailer);
  const auto root = number_after("/Root", trailer);
  const auto info = number_after("/Info", trailer);
  const auto open = pdf.rfind(fmt::format("\n{} 0 obj", root));
  const auto inside = open == std::string::npos ? open : pdf.find("<<", open);
  const auto end = inside == std::string::npos ? inside : pdf.find("endobj", inside);
  if (end == std::string::npos) throw broken();
  auto catalogue = pdf.substr(inside, end - inside);
  // Cairo writes the structure tree but not the mark that says the document is tagged.
  const bool tagged = catalogue.find("/StructTreeRoot") != std::string::npos;
  catalogue.insert(2, fmt::format(" /Lang ({})\n   /ViewerPreferences << /DisplayDocTitle true >>\n  {}", language,
                                  tagged ? " /MarkInfo << /Marked true >>\n  " : ""));
  if (pdf.back() != '\n') pdf += '\n';
  const auto object_at = pdf.size();
  pdf += fmt::format("{} 0 obj\n{}endobj\n", root, catalogue);
  const auto xref_at = pdf.size();
  pdf += fmt::format("xref\n{} 1\n{:010d} 00000 n \n", root, object_at);
  pdf += fmt::format("trailer\n<< /Size {} /Root {} 0 R /Info {} 0 R /Prev {} >>\nstartxref\n{}\n%%EOF\n", size, root,
                     info, previous, xref_at);
  return pdf;
}

}  // namespace lathbook::papers
