// Sample labels and the sheet that goes with the samples. Nothing on them says whose they are.
#include <fmt/format.h>
#include <qrencode.h>

#include <memory>

#include "book/words.h"
#include "papers/papers.h"

namespace lathbook::papers {
namespace {

/// A sheet of sticky labels: common sizes of the trade, 70 × 37 mm on A4 and 66.7 × 25.4 mm on Letter.
struct Grid {
  int columns;
  int rows;
  double left_mm;
  double top_mm;
  double width_mm;
  double height_mm;
  double pitch_x_mm;
  double pitch_y_mm;
};

Grid grid_of(Size size) {
  if (size == Size::kA4) return {3, 8, 0, 0.5, 70, 37, 70, 37};
  return {3, 10, 4.76, 12.7, 66.68, 25.4, 69.85, 25.4};
}

void draw_code(Canvas& canvas, const std::string& content, Mm corner, double side_mm) {
  const std::unique_ptr<QRcode, decltype(&QRcode_free)> code(QRcode_encodeString8bit(content.c_str(), 0, QR_ECLEVEL_M),
                                                             &QRcode_free);
  if (!code) return;
  // Four modules of quiet around it, as the standard wants.
  const double module = side_mm / (code->width + 8);
  auto* cairo = canvas.cairo();
  cairo_set_source_rgb(cairo, 0, 0, 0);
  for (int y = 0; y < code->width; ++y) {
    for (int x = 0; x < code->width; ++x) {
      if ((code->data[y * code->width + x] & 1) == 0) continue;
      cairo_rectangle(cairo, corner.x + (x + 4) * module, corner.y + (y + 4) * module, module, module);
    }
  }
  cairo_fill(cairo);
}

void draw_label(Canvas& canvas, const Grid& grid, Mm corner, const book::Sample& sample, const std::string& place,
                const char* bag, reason::DateOrder dates) {
  const double pad = 4;
  const double code = grid.height_mm - 2 * pad + 2;
  draw_code(canvas, sample.id.text, {corner.x + grid.width_mm - code - pad + 2, corner.y + pad - 1}, code);
  const double width = grid.width_mm - code - 2 * pad;
  const bool low = grid.height_mm < 30;
  Mm at{corner.x + pad, corner.y + pad - (low ? 1.5 : 0)};
  at.y += canvas.text(at, sample.id.text, {low ? 12.0 : 16.0, true, true, Align::kLeft, kInk}).second;
  at.y +=
      canvas.text(at, "Suspected asbestos. Sealed: do not open.", {6.4, true, false, Align::kLeft, kInk}, width).second;
  std::string words = fmt::format("{}{}", sample.material.text, place);
  at.y += canvas.text(at, words, {6.2, false, false, Align::kLeft, kInk}, width).second;
  canvas.text({at.x, at.y},
              fmt::format("{} bag · taken {}", bag,
                          sample.taken_on ? reason::in_words(*sample.taken_on, dates) : "____________"),
              {6.2, false, false, Align::kLeft, kInk}, width);
}

/// Samples still on their way: without a result.
std::vector<const book::Sample*> open_samples(const book::Book& book) {
  std::vector<const book::Sample*> open;
  for (const auto& sample : book.samples) {
    bool answered = false;
    for (const auto& result : book.results) answered = answered || result.sample == sample.id;
    if (!answered) open.push_back(&sample);
  }
  return open;
}

}  // namespace

Files sample_labels(const Source& source) {
  const auto& book = source.house.book();
  const auto samples = open_samples(book);
  if (samples.empty()) return std::vector<File>{};
  const auto grid = grid_of(source.size);
  auto sheet = sheet_for(source, "Sample labels");
  const int a_page = grid.columns * grid.rows;
  const int all = static_cast<int>(samples.size()) * 2;
  const auto dates = source.house.knowledge().rules.words.date;
  for (int first = 0; first < all; first += a_page) {
    sheet.bare_page([&book, samples, grid, first, all, a_page, dates](Canvas& canvas) {
      for (int i = first; i < all && i < first + a_page; ++i) {
        const auto& sample = *samples[static_cast<std::size_t>(i / 2)];
        const auto* material = book::find(book.materials, sample.material);
        const int slot = i - first;
        draw_label(canvas, grid,
                   {grid.left_mm + (slot % grid.columns) * grid.pitch_x_mm,
                    grid.top_mm + (slot / grid.columns) * grid.pitch_y_mm},
                   sample, material == nullptr ? "" : ", " + place_text(book, material->place),
                   i % 2 == 0 ? "inner" : "outer", dates);
      }
    });
  }
  auto pdf = sheet.pdf();
  if (!pdf.ok()) return pdf.faults();
  return std::vector<File>{{"sample-labels.pdf", std::move(*pdf)}};
}

Files custody(const Source& source) {
  const auto& house = source.house;
  const auto& book = house.book();
  const auto samples = open_samples(book);
  if (samples.empty()) return std::vector<File>{};
  auto sheet =
      sheet_for(source, "Sample custody sheet", "Sealed bags are opened by the laboratory and by nobody else.");
  sheet.title("Samples and who held them");
  sheet.paragraph(
      "Goes with the samples. Each is in a sealed bag inside a second sealed bag; both bear the number below and its "
      "code. Whoever takes them over counts them, looks at the seals, and signs.");
  sheet.heading("Samples");
  std::vector<Cells> rows;
  for (const auto* sample : samples) {
    const auto* material = book::find(book.materials, sample->material);
    std::string what;
    if (material != nullptr) {
      const auto* family = house.knowledge().catalogue.find_family(material->family);
      what = fmt::format("{}{}", family == nullptr ? "" : family->name + ", ", place_text(book, material->place));
    }
    rows.push_back({sample->id.text, fmt::format("{}: {}", sample->material.text, what), sample->spot,
                    sample->taken_on ? sample->taken_on->text() : "", sample->laboratory_ref, ""});
  }
  sheet.table(
      {{"No.", 0.6}, {"Material", 2.4}, {"Spot", 2}, {"Taken", 1}, {"Laboratory's number", 1.2}, {"Seal whole", 0.8}},
      rows);
  sheet.paragraph(
      fmt::format("{} samples. Asked for: is there asbestos, and of which types; for each sample by itself, "
                  "with the method used.",
                  samples.size()));
  sheet.heading("Handed over");
  for (int i = 0; i < 3; ++i)
    sheet.lines_to_fill({{"Given by", 2}, {"Taken by", 2}, {"Date and time", 1.4}, {"Number of bags", 1}});
  auto pdf = sheet.pdf();
  if (!pdf.ok()) return pdf.faults();
  return std::vector<File>{{"custody.pdf", std::move(*pdf)}};
}

}  // namespace lathbook::papers
