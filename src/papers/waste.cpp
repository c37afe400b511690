#include <fmt/format.h>

#include "book/words.h"
#include "papers/papers.h"
#include "waste/disposal.h"

namespace lathbook::papers {
namespace {

std::string mass_text(const waste::Mass& mass, int count) {
  const auto all = [count](double kg) { return kg * count; };
  if (mass.likely_kg <= 0) return "not known";
  if (mass.written_down) return fmt::format("{:g} kg, as written down", all(mass.likely_kg));
  return fmt::format("{:.0f} kg ({:.0f} to {:.0f})", all(mass.likely_kg), all(mass.low_kg), all(mass.high_kg));
}

}  // namespace

Files waste_sheet(const Source& source) {
  const auto& house = source.house;
  const auto& book = house.book();
  std::vector<Cells> rows;
  std::vector<std::pair<std::string, waste::Disposal>> notes;
  for (const auto& piece : book.pieces) {
    if (piece.gone_on) continue;
    const auto index = house.find_material(piece.material);
    if (!index) {
      rows.push_back({piece.id.text, piece.name, fmt::format("{}", piece.count), "", "",
                      "from no material of this book: counts as asbestos until it is known what it is"});
      continue;
    }
    const auto& material = book.materials[*index];
    const auto& known = house.known(*index);
    const bool released = !known.family->suspect || book::releases(known.belief.standing);
    auto way = waste::disposal(*known.family, piece.whole, house.damage_of(material), released,
                               known.belief.found_fibres, book.about.region, source.waste);
    std::string size = fmt::format("{:g} m × {:g} m × {:g} mm", piece.length_m, piece.width_m, piece.thickness_mm);
    size += piece.whole ? "\nwhole" : "\nbroken, or debris";
    size += piece.wrapped ? ", wrapped" : ", not wrapped yet";
    std::string call = fmt::format("{}\n{}", known.family->name, standing_text(house, *index));
    if (!way.code.empty()) call += fmt::format("\n{}", way.code);
    if (!way.transport.empty()) call += fmt::format("\n{}", way.transport);
    rows.push_back({piece.id.text, fmt::format("{}\nfrom {} {}", piece.name, material.id.text, material.name),
                    fmt::format("{}", piece.count), size, mass_text(waste::mass_of(piece, *known.family), piece.count),
                    call, first_upper(waste::word(way.way))});
    notes.emplace_back(piece.id.text, std::move(way));
  }
  if (rows.empty()) return std::vector<File>{};
  auto sheet = sheet_for(source, "Waste sheet", "The site's or the carrier's own conditions come before this sheet.");
  sheet.title("Waste to go");
  sheet.paragraph(
      "For the site or the carrier. Pieces stay whole: nothing is broken to fit. Masses are worked out from size and "
      "kind, with their range, unless written down.");
  sheet.table({{"", 0.45},
               {"Piece", 1.7},
               {"No.", 0.4},
               {"Size and state", 1.5},
               {"Mass, all", 1.1},
               {"What it is", 1.7},
               {"How it goes", 1.2}},
              rows);
  for (const auto& [id, way] : notes) {
    sheet.subheading(fmt::format("{}: {}", id, waste::word(way.way)));
    sheet.paragraph(way.why);
    if (!way.code.empty()) sheet.paragraph(fmt::format("{}: {}", way.code, way.code_means));
    for (const auto& mark : way.marks) sheet.item("–", mark);
    if (!way.householder_papers.empty()) sheet.paragraph("Householder's papers: " + way.householder_papers);
    if (!way.trade_papers.empty()) sheet.paragraph("Carrier's papers: " + way.trade_papers);
  }
  sheet.heading("Handed over");
  sheet.lines_to_fill({{"Given by", 2}, {"Taken by (name, firm, carrier's number)", 3}, {"Date and time", 1.4}});
  sheet.lines_to_fill(
      {{fmt::format("Number of {}", house.knowledge().rules.words.waste_paper), 2}, {"Number of pieces counted", 1}});
  auto pdf = sheet.pdf();
  if (!pdf.ok()) return pdf.faults();
  return std::vector<File>{{"waste.pdf", std::move(*pdf)}};
}

}  // namespace lathbook::papers
