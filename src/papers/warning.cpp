// The label of the country's rules. With `letter_a` it is the one that REACH (EC) 1907/2006, Annex XVII, appendix 7
// prescribes and the Control of Asbestos Regulations 2012, schedule 2 take over: height H of at least 5 cm, 2.5 cm
// wide; the upper 40 % of H a white letter a on black, the lower 60 % the standard wording in white or black on red,
// clearly legible; "contains crocidolite/blue asbestos" in place of "contains asbestos" where there is crocidolite.
#include "papers/warning.h"

#include <fmt/format.h>

#include <algorithm>
#include <vector>

#include "papers/papers.h"

namespace lathbook::papers {
namespace {

constexpr Colour kBlack{0, 0, 0};
constexpr Colour kRed{0.85, 0, 0.05};  // the regulation says red and no more

struct Wanted {
  std::string id;
  std::string place;
  bool crocidolite = false;
};

/// A label of words alone: the heading in white on black, the lines under it in black.
void draw_lines(Canvas& canvas, Mm corner, double width, double height_mm, const law::WarningLabel& label) {
  const double scale = height_mm / kLabelLeastHeightMm;
  const double band = height_mm * 0.24;
  canvas.box(corner, width, height_mm, kWhite);
  canvas.box(corner, width, band, kBlack);
  for (const auto& [from, to] : {std::pair(Mm{0, 0}, Mm{width, 0}), std::pair(Mm{0, height_mm}, Mm{width, height_mm}),
                                 std::pair(Mm{0, 0}, Mm{0, height_mm}), std::pair(Mm{width, 0}, Mm{width, height_mm})})
    canvas.line({corner.x + from.x, corner.y + from.y}, {corner.x + to.x, corner.y + to.y}, 0.4);
  const double middle = corner.x + width / 2;
  const double inner = width - 2.4 * scale;
  canvas.text({middle, corner.y + 1.2 * scale}, label.heading, {9 * scale, true, false, Align::kCentre, kWhite}, inner);
  double y = corner.y + band + 2 * scale;
  const TextStyle plain{7 * scale, true, false, Align::kCentre, kBlack};
  for (const auto& line : label.lines) y += canvas.text({middle, y}, line, plain, inner).second + 1.4 * scale;
}

}  // namespace

void draw_warning_label(Canvas& canvas, Mm corner, double height_mm, const law::WarningLabel& label, bool crocidolite) {
  const double width = height_mm * kLabelWidthShare;
  const double upper = height_mm * kLabelUpperShare;
  if (!label.letter_a) {
    draw_lines(canvas, corner, width, height_mm, label);
    return;
  }
  canvas.box(corner, width, upper, kBlack);
  canvas.box({corner.x, corner.y + upper}, width, height_mm - upper, kRed);
  const double middle = corner.x + width / 2;
  const double scale = height_mm / kLabelLeastHeightMm;
  const TextStyle letter{46 * scale, true, false, Align::kCentre, kWhite};
  const double letter_height = canvas.measure("a", letter).second;
  // The letter's body sits below the middle of its line box.
  canvas.text({middle, corner.y + upper / 2 - letter_height * 0.585}, "a", letter);

  const double inner = width - 2.4 * scale;
  const TextStyle strong{8.2 * scale, true, false, Align::kCentre, kWhite};
  const TextStyle strong_small{6.4 * scale, true, false, Align::kCentre, kWhite};
  const TextStyle plain{5.6 * scale, true, false, Align::kCentre, kWhite};
  double y = corner.y + upper + 1.0 * scale;
  y += canvas.text({middle, y}, label.heading, strong, inner).second;
  for (const auto& line : label.lines) {
    const bool contains = line == label.contains;
    const auto& words = contains && crocidolite ? label.contains_crocidolite : line;
    y += canvas.text({middle, y}, words, contains ? (crocidolite ? strong_small : strong) : plain, inner).second;
    y += (contains ? 0.7 : 0.5) * scale;
  }
}

Files warning_labels(const Source& source) {
  const auto& house = source.house;
  const auto& book = house.book();
  std::vector<Wanted> wanted;
  for (std::size_t i = 0; i < book.materials.size(); ++i) {
    if (!counts_as_asbestos(house, i)) continue;
    const auto& found = house.known(i).belief.found_fibres;
    wanted.push_back({book.materials[i].id.text, place_text(book, book.materials[i].place),
                      std::find(found.begin(), found.end(), book::Fibre::kCrocidolite) != found.end()});
  }
  if (wanted.empty()) return std::vector<File>{};
  constexpr double kLeft = 15;
  constexpr double kTop = 44;
  constexpr double kPitchX = 45;
  constexpr double kPitchY = 68;
  constexpr std::size_t kColumns = 4;
  constexpr std::size_t kRows = 3;
  auto sheet = sheet_for(source, "Warning labels");
  for (std::size_t first = 0; first < wanted.size(); first += kColumns * kRows) {
    sheet.bare_page([wanted, first, label = house.knowledge().rules.label](Canvas& canvas) {
      canvas.text({kLeft, 12}, "Warning labels, 25 mm by 50 mm", {13, true, true, Align::kLeft, kInk});
      canvas.text(
          {kLeft, 19},
          "One for each material that counts as asbestos; the line under a label says which and is cut off. Print "
          "at full size (100 %) and hold a ruler to the line: 100 mm. Stick it beside the material, never press "
          "or rub on it.",
          {8, false, false, Align::kLeft, kInk}, 180);
      canvas.line({kLeft, 36}, {kLeft + 100, 36}, 0.3);
      canvas.line({kLeft, 34.5}, {kLeft, 37.5}, 0.3);
      canvas.line({kLeft + 100, 34.5}, {kLeft + 100, 37.5}, 0.3);
      for (std::size_t i = first; i < wanted.size() && i < first + kColumns * kRows; ++i) {
        const auto slot = i - first;
        const Mm corner{kLeft + static_cast<double>(slot % kColumns) * kPitchX,
                        kTop + static_cast<double>(slot / kColumns) * kPitchY};
        draw_warning_label(canvas, corner, kLabelLeastHeightMm, label, wanted[i].crocidolite);
        canvas.text({corner.x, corner.y + kLabelLeastHeightMm + 1},
                    fmt::format("{}  {}", wanted[i].id, wanted[i].place), {7, false, false, Align::kLeft, kInk},
                    kPitchX - 4);
      }
    });
  }
  auto pdf = sheet.pdf();
  if (!pdf.ok()) return pdf.faults();
  return std::vector<File>{{"warning-labels.pdf", std::move(*pdf)}};
}

}  // namespace lathbook::papers
