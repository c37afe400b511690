// A piece of paper to draw on, in millimetres from its upper left corner, y down.
//
// A thin hand over Cairo and Pango: what plans, labels and codes are drawn with. Text is laid out by Pango and stays
// text in the PDF (searchable, with its font embedded as a subset).
#pragma once

#include <cairo.h>
#include <pango/pango.h>

#include <span>
#include <string_view>
#include <utility>

#include "photo/photo.h"

namespace lathbook::papers {

inline constexpr double kPointsPerMm = 72.0 / 25.4;
inline constexpr const char* kSerif = "Gentium Plus";
inline constexpr const char* kSans = "Open Sans";

struct Mm {
  double x = 0;
  double y = 0;
};

struct Colour {
  double red = 0;
  double green = 0;
  double blue = 0;
};
inline constexpr Colour kInk{0.10, 0.09, 0.08};
inline constexpr Colour kWhite{1, 1, 1};

enum class Align { kLeft, kCentre, kRight };

struct TextStyle {
  double size_pt = 8;
  bool bold = false;
  bool serif = false;
  Align align = Align::kLeft;
  Colour colour = kInk;
};

class Canvas {
 public:
  /// `cairo` has millimetres as its unit; `context` measures text in points.
  Canvas(cairo_t* cairo, PangoContext* context, double width_mm, double height_mm)
      : cairo_(cairo), context_(context), width_mm_(width_mm), height_mm_(height_mm) {}

  [[nodiscard]] double width_mm() const { return width_mm_; }
  [[nodiscard]] double height_mm() const { return height_mm_; }
  [[nodiscard]] cairo_t* cairo() const { return cairo_; }

  void line(Mm from, Mm to, double width_mm, std::span<const double> dashes_mm = {});
  void box(Mm corner, double width_mm, double height_mm, Colour fill);
  void frame(Mm corner, double width_mm, double height_mm, double line_mm, std::span<const double> dashes_mm = {});
  /// Makes a path of a polygon; closed unless it has two points.
  void path(std::span<const Mm> points);

  /// A JPEG as it is, with its upper left corner at `corner`; its bytes go into the PDF untouched.
  void jpeg(Mm corner, double width_mm, double height_mm, const photo::Picture& picture);

  /// Text with its upper edge at `at`, wrapped to `width_mm` (0 = one line). `at.x` is the left edge, the middle or
  /// the right edge of the block, as aligned. Answers its width and height in mm.
  std::pair<double, double> text(Mm at, std::string_view words, const TextStyle& style, double width_mm = 0);
  [[nodiscard]] std::pair<double, double> measure(std::string_view words, const TextStyle& style,
                                                  double width_mm = 0) const;

 private:
  cairo_t* cairo_;
  PangoContext* context_;
  double width_mm_;
  double height_mm_;
};

}  // namespace lathbook::papers
