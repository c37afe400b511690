// waste
#include <fmt/format.h>

#include <cmath>
#include <nlohmann/json.hpp>
#include <ostream>

#include "book/money.h"
#include "cli/commands.h"
#include "cli/text.h"
#include "cli/words.h"
#include "service/answers.h"
#include "service/open_book.h"
#include "service/waste_answer.h"

namespace lathbook::cli {
namespace {

using reason::FaultKind;

std::string money(const check::House& house, double minor) {
  return book::money_text(static_cast<book::Money>(std::llround(minor)), house.book().about.currency);
}

void show_run(Page& page, const check::House& house, const service::WasteRun& run) {
  const auto& book = house.book();
  page.heading(fmt::format("{} to {}", run.vehicle ? book.vehicles[*run.vehicle].name : "a vehicle",
                           run.site ? book.sites[*run.site].name : "a site"));
  const auto trips = run.plan.trips.size();
  if (trips == 0) {
    page.paragraph("Takes none of it.", 2);
  } else {
    page.paragraph(fmt::format("{} {}{}{}, {} to {}.", trips, trips == 1 ? "trip" : "trips",
                               run.plan.proved_fewest ? " (no fewer will do)"
                                                      : fmt::format(" (at least {} are needed)", run.plan.at_least),
                               run.months > 1 ? fmt::format(" over {} months", run.months) : "",
                               money(house, run.cost.low_minor), money(house, run.cost.high_minor)),
                   2);
  }
  int number = 0;
  for (const auto& trip : run.plan.trips) {
    std::vector<std::string> parts;
    for (const auto& line : trip.pieces)
      parts.push_back(fmt::format("{} × {} {}", line.count, line.id, waste::word(line.how)));
    page.item(fmt::format("{:>2}.", ++number),
              fmt::format("{}; {:.0f} kg at most", fmt::join(parts, ", "), trip.mass_kg), 2);
  }
  for (const auto& no : run.plan.will_not_go)
    page.item("–", fmt::format("{} will not go: {}. It would take {}.", no.id, no.why, no.would_take), 2);
  if (trips == 0) return;
  for (const auto& one : run.view.conditions) page.item("–", one, 2);
  for (const auto& one : run.view.ask) page.item("?", "ask your site " + one, 2, Style::kQuiet);
}

std::string waste_text(const check::House& house, const service::WasteAnswer& answer, bool colour) {
  const auto& book = house.book();
  Page page(colour);
  page.title("How it leaves the house");
  for (const auto& one : answer.pieces) {
    const auto& piece = book.pieces[one.piece];
    page.blank();
    page.entry(piece.id.text, fmt::format("{}{}", piece.name, piece.count > 1 ? fmt::format(" × {}", piece.count) : ""),
               5, 0, Style::kStrong);
    page.paragraph(fmt::format("{}. {} {:.0f} to {:.0f} kg each.", waste::word(one.disposal.way), one.disposal.why,
                               one.mass.low_kg, one.mass.high_kg),
                   5);
    if (one.disposal.way != waste::Way::kOrdinary)
      page.paragraph(fmt::format("{} {}; {}.", one.disposal.code, one.disposal.code_means, one.disposal.transport), 5,
                     Style::kQuiet);
  }
  const auto& wrap = answer.wrapping;
  if (wrap.polythene_m2 > 0 || wrap.bags > 0) {
    page.heading("To buy");
    for (const auto& line : wrap.shopping) {
      if (line.number > 0)
        page.item(fmt::format("{:>3}", line.number), fmt::format("{} ({})", line.what, line.note), 2);
    }
  }
  for (std::size_t i = 0; i < answer.runs.size() && i < 2; ++i) show_run(page, house, answer.runs[i]);
  page.heading("A carrier");
  for (const auto& offer : answer.carriers) {
    page.item("–",
              fmt::format("{}{}{}", book.parties[offer.party].name,
                          offer.price ? fmt::format(": {}", money(house, static_cast<double>(*offer.price))) : "",
                          offer.lead_days ? fmt::format(", in about {:g} days", *offer.lead_days) : ""),
              2);
  }
  for (const auto& one : answer.pieces) {
    if (one.disposal.way != waste::Way::kLicensedCarrier) continue;
    page.item("–", fmt::format("{} must go this way.", book.pieces[one.piece].id.text), 2);
  }
  bool marks = false;
  for (const auto& one : answer.pieces) {
    if (one.disposal.way == waste::Way::kOrdinary || marks) continue;
    marks = true;
    page.heading("What to write on it, and the papers");
    for (const auto& mark : one.disposal.marks) page.item("–", mark, 2);
    page.item("–", "You: " + one.disposal.householder_papers, 2);
    page.item("–", "A paid trade or carrier: " + one.disposal.trade_papers, 2);
  }
  for (const auto& next : answer.next) page.blank().paragraph(next, 0, Style::kQuiet);
  page.blank().paragraph("Nothing is cut or broken to fit. Local codes and the site's own word come first.", 0,
                         Style::kQuiet);
  return page.text();
}

}  // namespace

int run_waste(const Request& request, const World& world) {
  const auto words = sort_words(request.words, request.book);
  if (!words.rest.empty() || !words.fields.empty()) {
    return fail(world, {{"", words.rest.empty() ? words.fields[0] : words.rest[0], "is one word too many",
                         "only the book's file", FaultKind::kUsage}});
  }
  const auto path = find_book(words);
  if (!path.ok()) return fail(world, path.faults());
  const auto opened = service::OpenBook::open(*path, store::Mode::kReadOnly);
  if (!opened.ok()) return fail(world, opened.faults());
  const auto knowledge = service::knowledge_for(opened->book());
  if (!knowledge.ok()) return fail(world, knowledge.faults());
  const auto house = check::House::build(opened->book(), *knowledge);
  if (!house.ok()) return fail(world, house.faults());
  service::WasteQuestion question;
  question.vehicle = request.options.at("vehicle");
  question.site = request.options.at("site");
  if (!request.options.at("nation").empty()) question.nation = request.options.at("nation");
  const auto answer = service::waste_answer(*house, question);
  if (!answer.ok()) return fail(world, answer.faults());
  if (const auto& file = request.options.at("svg"); !file.empty()) {
    if (const auto done = write_whole(file, service::waste_svg(*house, *answer), request.flags.at("replace"));
        !done.ok())
      return fail(world, done.faults());
  }
  world.out << (request.json ? service::waste_json(*house, *answer).dump(2) + "\n"
                             : waste_text(*house, *answer, request.use_colour));
  return 0;
}

}  // namespace lathbook::cli
