// The pack for a buyer or a tenant.
#include <fmt/format.h>

#include "book/money.h"
#include "book/words.h"
#include "papers/papers.h"

namespace lathbook::papers {
namespace {

void results(Sheet& sheet, const book::Book& book) {
  sheet.heading("What the laboratory said");
  std::vector<Cells> rows;
  for (const auto& result : book.results) {
    const auto* sample = book::find(book.samples, result.sample);
    rows.push_back({result.sample.text,
                    sample == nullptr ? "" : fmt::format("{}: {}", sample->material.text, sample->spot),
                    result.found ? "asbestos found: " + fibres_text(result.fibres) : "none detected", result.method,
                    result.reported_on ? result.reported_on->text() : ""});
  }
  if (rows.empty()) {
    sheet.paragraph("Nothing has been tested. What is suspect counts as asbestos.");
    return;
  }
  sheet.table({{"Sample", 0.6}, {"Material and spot", 2.2}, {"Result", 1.8}, {"Method", 1.4}, {"Reported", 0.9}}, rows);
}

void decisions(Sheet& sheet, const Source& source) {
  const auto& book = source.house.book();
  sheet.heading("What was decided and done");
  std::vector<Cells> rows;
  const bool costs = !source.without.contains(Section::kCosts);
  for (const auto& action : book.actions) {
    std::string state = "not begun";
    if (action.started_on) state = "begun " + action.started_on->text();
    if (action.done_on) state = "done " + action.done_on->text();
    if (!action.done_on && action.due_on) state += ", due " + action.due_on->text();
    const auto index = source.house.find_material(action.material);
    Cells row{fmt::format("{} {}", action.material.text, index ? book.materials[*index].name : ""),
              std::string(book::word(action.kind)), state};
    if (costs) row.push_back(action.cost ? book::money_text(*action.cost, book.about.currency) : "");
    rows.push_back(std::move(row));
  }
  std::vector<Column> columns{{"Material", 2.5}, {"Decision", 1}, {"State", 2}};
  if (costs) columns.push_back({"Cost", 0.9});
  if (rows.empty()) {
    sheet.paragraph("Nothing has been decided yet.");
  } else {
    sheet.table(columns, rows);
  }
  std::vector<Cells> certificates;
  for (const auto& certificate : book.certificates) {
    std::string materials;
    for (const auto& id : certificate.materials) materials += (materials.empty() ? "" : ", ") + id.text;
    certificates.push_back({certificate.id.text, materials, certificate.issued_on ? certificate.issued_on->text() : "",
                            certificate.document.text});
  }
  if (!certificates.empty()) {
    sheet.subheading("Certificates after removal");
    sheet.table({{"", 0.6}, {"For", 2}, {"Issued", 1}, {"Document in the book", 1.4}}, certificates);
  }
}

void events(Sheet& sheet, const Source& source) {
  sheet.heading("When something was disturbed");
  const auto& book = source.house.book();
  std::vector<Cells> rows;
  for (const auto& event : book.events) {
    if (event.imagined) continue;
    std::string materials;
    for (const auto& id : event.materials) materials += (materials.empty() ? "" : ", ") + id.text;
    rows.push_back({event.id.text, event.title, event.started_at, materials});
  }
  if (rows.empty()) {
    sheet.paragraph("No such event is written down.");
    return;
  }
  sheet.table({{"", 0.5}, {"What happened", 3}, {"When", 1.2}, {"Materials", 1.2}}, rows);
  for (const auto& happened : source.happened) {
    const auto& event = book.events[happened.event];
    sheet.subheading(fmt::format("{}: estimates of the air then, and of what it left on the floors", event.id.text));
    if (!happened.came_to.ok()) {
      sheet.paragraph("Not enough is written down for an estimate. That is no sign that it came to little.");
      continue;
    }
    std::vector<Cells> left;
    const auto range = [](const event::Band& band) {
      return fmt::format("{} to {}", rough(band.low), rough(band.high));
    };
    for (std::size_t r = 0; r < happened.came_to->answer.rooms.size(); ++r) {
      const auto& room = happened.came_to->answer.rooms[r];
      left.push_back({book.rooms[happened.came_to->taken.room_of.at(r)].name, range(room.four_hours),
                      range(room.load_f_per_cm2), range(room.week_f_per_ml_h)});
    }
    sheet.table({{"Room", 2},
                 {"Worst four hours, f/ml", 1.3},
                 {"Left on the floor, f/cm²", 1.3},
                 {"A week of 16 h a day adds, f/ml·h", 1.6}},
                left);
    sheet.paragraph(
        fmt::format("Nine in ten of {} draws; nobody measured it, and cleaning or air tests since are not in it.",
                    happened.came_to->answer.draws),
        Look::kSmall);
  }
  sheet.paragraph(
      "Who was there and what they may have breathed is their own and not part of this pack: an exposure record each "
      "is made apart.",
      Look::kSmall);
}

void parties(Sheet& sheet, const book::Book& book) {
  sheet.heading("Firms that know the house");
  std::vector<Cells> rows;
  for (const auto& party : book.parties) {
    rows.push_back(
        {party.name, party.role, party.licence, party.licence_expires_on ? party.licence_expires_on->text() : ""});
  }
  if (rows.empty()) {
    sheet.paragraph("None is written down.");
  } else {
    sheet.table({{"Name", 2}, {"What they are", 1.4}, {"Licence or accreditation", 2}, {"Runs out", 1}}, rows);
  }
}

void papers_kept(Sheet& sheet, const Source& source) {
  const auto& book = source.house.book();
  const bool photos = !source.without.contains(Section::kPhotos);
  sheet.heading(photos ? "Papers and photos kept in the book" : "Papers kept in the book");
  std::vector<Cells> rows;
  for (const auto& document : book.documents) {
    if (!photos && document.media_type.starts_with("image/")) continue;
    rows.push_back({document.id.text, document.title, document.kind, document.dated ? document.dated->text() : ""});
  }
  if (rows.empty()) {
    sheet.paragraph("None.");
  } else {
    sheet.table({{"", 0.6}, {"Title", 3}, {"Kind", 1.4}, {"Dated", 1}}, rows);
  }
}

}  // namespace

Files handover(const Source& source) {
  const auto& book = source.house.book();
  auto sheet = sheet_for(source, "Handover pack", "An estimate is not medical advice.");
  sheet.title(fmt::format("{}: what is known of asbestos in it", book.about.title));
  sheet.paragraph(fmt::format(
      "For whoever lives in the house next, or works on it. It says what had been written down by {} and no more. What "
      "is "
      "suspect and untested counts as asbestos until a laboratory result that covers it says otherwise. A room with "
      "nothing listed has not been found clear.",
      source.today.text()));
  std::string left;
  for (const auto& [section, name] : {std::pair{Section::kHealth, "health"},
                                      {Section::kCosts, "costs"},
                                      {Section::kPeople, "people"},
                                      {Section::kPhotos, "photos"}}) {
    if (source.without.contains(section)) left += (left.empty() ? "" : ", ") + std::string(name);
  }
  if (!left.empty()) sheet.paragraph(fmt::format("Left out of this pack by whoever made it: {}.", left), Look::kStrong);
  add_plans(sheet, source);
  add_register(sheet, source);
  results(sheet, book);
  decisions(sheet, source);
  if (!source.without.contains(Section::kHealth)) events(sheet, source);
  if (!source.without.contains(Section::kPeople)) parties(sheet, book);
  papers_kept(sheet, source);
  sheet.heading("Handed on");
  sheet.lines_to_fill({{"By", 2}, {"To", 2}, {"Date", 1}});
  auto pdf = sheet.pdf();
  if (!pdf.ok()) return pdf.faults();
  return std::vector<File>{{"handover.pdf", std::move(*pdf)}};
}

}  // namespace lathbook::papers
