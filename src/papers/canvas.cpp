#include "papers/canvas.h"

#include <pango/pangocairo.h>

#include <memory>
#include <string>

namespace lathbook::papers {
namespace {

using Layout = std::unique_ptr<PangoLayout, decltype(&g_object_unref)>;

Layout layout_of(PangoContext* context, std::string_view words, const TextStyle& style, double width_mm) {
  Layout layout(pango_layout_new(context), &g_object_unref);
  PangoFontDescription* font = pango_font_description_new();
  pango_font_description_set_family_static(font, style.serif ? kSerif : kSans);
  pango_font_description_set_absolute_size(font, style.size_pt * PANGO_SCALE);
  pango_font_description_set_weight(font, style.bold ? PANGO_WEIGHT_BOLD : PANGO_WEIGHT_NORMAL);
  pango_layout_set_font_description(layout.get(), font);
  pango_font_description_free(font);
  pango_layout_set_text(layout.get(), words.data(), static_cast<int>(words.size()));
  if (width_mm > 0) {
    pango_layout_set_width(layout.get(), static_cast<int>(width_mm * kPointsPerMm * PANGO_SCALE));
    pango_layout_set_wrap(layout.get(), PANGO_WRAP_WORD_CHAR);
  }
  pango_layout_set_alignment(layout.get(), style.align == Align::kLeft     ? PANGO_ALIGN_LEFT
                                           : style.align == Align::kCentre ? PANGO_ALIGN_CENTER
                                                                           : PANGO_ALIGN_RIGHT);
  return layout;
}

std::pair<double, double> size_mm(PangoLayout* layout) {
  int width = 0;
  int height = 0;
  pango_layout_get_size(layout, &width, &height);
  return {width / kPointsPerMm / PANGO_SCALE, height / kPointsPerMm / PANGO_SCALE};
}

}  // namespace

void Canvas::line(Mm from, Mm to, double width_mm, std::span<const double> dashes_mm) {
  cairo_set_source_rgb(cairo_, kInk.red, kInk.green, kInk.blue);
  cairo_set_line_width(cairo_, width_mm);
  cairo_set_dash(cairo_, dashes_mm.data(), static_cast<int>(dashes_mm.size()), 0);
  cairo_move_to(cairo_, from.x, from.y);
  cairo_line_to(cairo_, to.x, to.y);
  cairo_stroke(cairo_);
  cairo_set_dash(cairo_, nullptr, 0, 0);
}

void Canvas::box(Mm corner, double width_mm, double height_mm, Colour fill) {
  cairo_set_source_rgb(cairo_, fill.red, fill.green, fill.blue);
  cairo_rectangle(cairo_, corner.x, corner.y, width_mm, height_mm);
  cairo_fill(cairo_);
}

void Canvas::frame(Mm corner, double width_mm, double height_mm, double line_mm, std::span<const double> dashes_mm) {
  cairo_set_source_rgb(cairo_, kInk.red, kInk.green, kInk.blue);
  cairo_set_line_width(cairo_, line_mm);
  cairo_set_dash(cairo_, dashes_mm.data(), static_cast<int>(dashes_mm.size()), 0);
  cairo_rectangle(cairo_, corner.x, corner.y, width_mm, height_mm);
  cairo_stroke(cairo_);
  cairo_set_dash(cairo_, nullptr, 0, 0);
}

void Canvas::path(std::span<const Mm> points) {
  cairo_new_path(cairo_);
  for (const auto& point : points) cairo_line_to(cairo_, point.x, point.y);
  if (points.size() > 2) cairo_close_path(cairo_);
}

void Canvas::jpeg(Mm corner, double width_mm, double height_mm, const photo::Picture& picture) {
  // Cairo takes the bytes for the PDF as they are; the pixels of the surface are never looked at.
  cairo_surface_t* surface = cairo_image_surface_create(CAIRO_FORMAT_RGB24, picture.width_px, picture.height_px);
  auto* copy = new std::string(picture.jpeg);
  cairo_surface_set_mime_data(
      surface, CAIRO_MIME_TYPE_JPEG, reinterpret_cast<const unsigned char*>(copy->data()), copy->size(),
      [](void* bytes) { delete static_cast<std::string*>(bytes); }, copy);
  cairo_save(cairo_);
  cairo_translate(cairo_, corner.x, corner.y);
  cairo_scale(cairo_, width_mm / picture.width_px, height_mm / picture.height_px);
  cairo_set_source_surface(cairo_, surface, 0, 0);
  // Not cairo_paint: with it Cairo 1.16 fails an assertion of its own when it writes the structure tree.
  cairo_rectangle(cairo_, 0, 0, picture.width_px, picture.height_px);
  cairo_fill(cairo_);
  cairo_restore(cairo_);
  cairo_surface_destroy(surface);
}

std::pair<double, double> Canvas::text(Mm at, std::string_view words, const TextStyle& style, double width_mm) {
  const auto layout = layout_of(context_, words, style, width_mm);
  const auto [width, height] = size_mm(layout.get());
  const double block = width_mm > 0 ? width_mm : width;
  const double left = at.x - (style.align == Align::kLeft ? 0 : style.align == Align::kCentre ? block / 2 : block);
  cairo_save(cairo_);
  cairo_translate(cairo_, left, at.y);
  cairo_scale(cairo_, 1 / kPointsPerMm, 1 / kPointsPerMm);
  cairo_set_source_rgb(cairo_, style.colour.red, style.colour.green, style.colour.blue);
  cairo_move_to(cairo_, 0, 0);
  pango_cairo_show_layout(cairo_, layout.get());
  cairo_restore(cairo_);
  cairo_new_path(cairo_);
  return {width, height};
}

std::pair<double, double> Canvas::measure(std::string_view words, const TextStyle& style, double width_mm) const {
  return size_mm(layout_of(context_, words, style, width_mm).get());
}

}  // namespace lathbook::papers
