// What removers are asked to price, so that their quotes can be laid beside each other.
#include <fmt/format.h>

#include <algorithm>

#include "book/money.h"
#include "book/words.h"
#include "papers/papers.h"

namespace lathbook::papers {
namespace {

/// Decided to be removed and still there; where nothing is decided, what the scores suggest removing.
bool to_be_removed(const Source& source, std::size_t index) {
  if (!counts_as_asbestos(source.house, index)) return false;
  bool decided = false;
  for (const auto& action : source.house.book().actions) {
    if (action.material != source.house.book().materials[index].id || action.done_on) continue;
    if (action.kind == book::ActionKind::kRemove) return true;
    decided = true;
  }
  return !decided && source.assessed[index] && source.assessed[index]->advice.kind == book::ActionKind::kRemove;
}

/// Its own paper: no firm should be shown another's price.
Files quotes_received(const Source& source) {
  const auto& book = source.house.book();
  if (book.quotes.empty() || source.without.contains(Section::kCosts)) return std::vector<File>{};
  std::vector<Cells> rows;
  for (const auto& quote : book.quotes) {
    std::string pieces;
    for (const auto& id : quote.materials) {
      const auto index = source.house.find_material(id);
      pieces += fmt::format("{}{} {}", pieces.empty() ? "" : "\n", id.text, index ? book.materials[*index].name : "");
    }
    std::string left;
    for (std::size_t i = 0; i < book.materials.size(); ++i) {
      const auto& id = book.materials[i].id;
      if (!to_be_removed(source, i) ||
          std::find(quote.materials.begin(), quote.materials.end(), id) != quote.materials.end())
        continue;
      left += (left.empty() ? "" : ", ") + id.text;
    }
    pieces += left.empty() ? "\nAll that is to be removed." : fmt::format("\nNot in it: {}.", left);
    const auto* party = book::find(book.parties, quote.party);
    std::string who = quote.party.text;
    std::string licence = "not written down";
    if (party != nullptr) {
      if (!source.without.contains(Section::kPeople)) who = party->name;
      if (!party->licence.empty()) licence = party->licence;
      if (party->licence_expires_on) {
        licence += fmt::format(", to {}{}", party->licence_expires_on->text(),
                               *party->licence_expires_on < source.today ? " (run out)" : "");
      }
    }
    const bool over = quote.valid_to && *quote.valid_to < source.today;
    rows.push_back({quote.id.text, who, licence, pieces, book::money_text(quote.amount, book.about.currency),
                    quote.valid_to ? quote.valid_to->text() + (over ? " (run out)" : "") : "not said", quote.notes});
  }
  auto sheet = sheet_for(source, "Quotes received", "For the owner: not to be shown to other firms.");
  sheet.title("Quotes received");
  sheet.paragraph(
      "Beside each other as written down. Before comparing amounts, see that each covers the same pieces, the analyst, "
      "the "
      "waste and making good; a licence is looked up with the authority, not taken from the paper.");
  sheet.table(
      {{"", 0.45}, {"From", 1.5}, {"Licence", 1.5}, {"For", 1.9}, {"Amount", 0.9}, {"Good until", 1}, {"Notes", 1.4}},
      rows);
  auto pdf = sheet.pdf();
  if (!pdf.ok()) return pdf.faults();
  return std::vector<File>{{"quotes.pdf", std::move(*pdf)}};
}

}  // namespace

Files scope(const Source& source) {
  const auto& house = source.house;
  const auto& book = house.book();
  std::vector<Cells> rows;
  std::vector<Cells> blanks;
  for (std::size_t i = 0; i < book.materials.size(); ++i) {
    if (!to_be_removed(source, i)) continue;
    const auto& material = book.materials[i];
    const auto& known = house.known(i);
    std::string access = material.overhead_or_hard_to_reach ? "overhead or hard to reach" : "within reach";
    access += fmt::format("; damage {}", book::word(house.damage_of(material)));
    std::string standing = first_upper(standing_text(house, i));
    if (!known.belief.found_fibres.empty()) standing += ": " + fibres_text(known.belief.found_fibres);
    const auto extent = extent_text(material);
    rows.push_back(
        {material.id.text, fmt::format("{}\n{}", material.name, known.family->name),
         fmt::format("{}\n{}", place_text(book, material.place), extent.empty() ? "extent to be measured" : extent),
         access, fmt::format("{}\nTests: {}", standing, tested_text(book, material.id))});
    blanks.push_back({material.id.text + "\n ", "", "", "", ""});
  }
  auto files = quotes_received(source);
  if (!files.ok() || rows.empty()) return files;
  auto sheet = sheet_for(source, "Scope for removal",
                         "Whether the work needs a licence is for the remover to say, from what is found on site.");
  sheet.title("Scope: what is to be removed");
  sheet.paragraph(
      "For firms that are asked for a price. Please look at the pieces on site before quoting; extents are the owner's "
      "own measurements.");
  sheet.heading("Pieces");
  sheet.table(
      {{"", 0.5}, {"Material", 1.8}, {"Place and extent", 1.7}, {"Access and state", 1.5}, {"Standing and tests", 2}},
      rows);
  sheet.heading("The quote is to state");
  const auto& rules = house.knowledge().rules;
  std::vector<std::string> classes;
  for (const auto outcome : {law::Outcome::kLicensed, law::Outcome::kNotifiable, law::Outcome::kNonLicensed}) {
    if (!rules.name_of(outcome).empty()) classes.push_back(rules.name_of(outcome));
  }
  const auto last = classes.back();
  classes.pop_back();
  const auto clearance_line = [&](const law::Clearance& one) {
    std::vector<std::string> stages;
    for (const auto& stage : one.rules.stages) stages.push_back(stage.name);
    return fmt::format(
        "For licensed work: that {}, who is not the remover's own, gives {} ({}), and who pays for it, a second visit "
        "included.",
        one.rules.by, one.rules.certificate, fmt::join(stages, "; "));
  };
  std::vector<std::string> lines = {
      fmt::format("For each piece: whether the work is {} or {}, and why.", fmt::join(classes, ", "), last),
      "The licence with its number and the day it runs out, and the insurance, where the work needs a licence.",
      "The method: enclosure or none, wetting, hand tools or other, how the pieces are kept whole.",
      fmt::format("Who gives notice of the work to {}, and the earliest start after it.", rules.words.authority),
      "How long the rooms are closed, and what has to be moved out before by whom."};
  for (const auto& one : rules.clearance) lines.push_back(clearance_line(one));
  lines.push_back(fmt::format("Waste: by whose registered carrier, to where, and that {} is handed over.",
                              rules.words.waste_paper));
  lines.emplace_back("What is left behind: which surfaces are made good, and by whom.");
  lines.emplace_back("What is not in the price, and the price of a further find.");
  for (const auto& line : lines) sheet.item("–", line);
  sheet.heading("Prices, to be filled in");
  sheet.table(
      {{"Piece", 0.6}, {"Class of work", 1.4}, {"Price without tax", 1.2}, {"Days on site", 1}, {"Remarks", 2.4}},
      blanks);
  sheet.table({{"For all together", 2}, {"Price", 1}, {"Remarks", 2.4}}, {{"Setting up, once\n ", "", ""},
                                                                          {"Analyst and certificate\n ", "", ""},
                                                                          {"Waste\n ", "", ""},
                                                                          {"All pieces at one go\n ", "", ""}});
  sheet.lines_to_fill({{"Firm", 2}, {"Licence number and expiry", 2}, {"Signature", 1.5}, {"Date; good until", 1.5}});
  auto pdf = sheet.pdf();
  if (!pdf.ok()) return pdf.faults();
  files->insert(files->begin(), {"scope.pdf", std::move(*pdf)});
  return files;
}

}  // namespace lathbook::papers
