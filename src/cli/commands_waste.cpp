// waste
#include <fmt/format.h>
#include <fmt/ranges.h>

#include <algorithm>
#include <cmath>
#include <nlohmann/json.hpp>
#include <ostream>

#include "book/money.h"
#include "cli/cited.h"
#include "cli/commands.h"
#include "cli/open_house.h"
#include "cli/text.h"
#include "cli/words.h"
#include "service/answers.h"
#include "service/waste_answer.h"

namespace lathbook::cli {
namespace {

using reason::FaultKind;

std::string money(const check::House& house, double minor) {
  return book::money_text(static_cast<book::Money>(std::llround(minor)), house.book().about.currency);
}

std::string trips_text(int trips) { return trips == 1 ? "1 trip" : fmt::format("{} trips", trips); }

std::string days_text(waste::DayRange days) {
  if (days.high <= 1) return "in a day";
  if (days.low == days.high) return fmt::format("in {} days", days.low);
  return fmt::format("in {} to {} days from the first", days.low, days.high);
}

/// Below 10 kg a tenth matters.
std::string kilograms(double low, double high) {
  return high < 10 ? fmt::format("{:.1f} to {:.1f} kg", low, high) : fmt::format("{:.0f} to {:.0f} kg", low, high);
}

void show_run(Page& page, const check::House& house, const service::WasteAnswer& answer, const service::WasteRun& run) {
  const auto& book = house.book();
  page.heading(fmt::format("{} to {}", run.vehicle ? book.vehicles[*run.vehicle].name : "a vehicle",
                           run.site ? book.sites[*run.site].name : "a site"));
  const auto trips = static_cast<int>(run.plan.trips.size());
  if (trips == 0) {
    page.paragraph("Takes none of it.", 2);
  } else {
    page.paragraph(fmt::format("{} {}, {}{}: {} to {} for what goes this way.", trips_text(trips),
                               run.plan.proved_fewest ? "(no fewer will do)"
                                                      : fmt::format("(at least {} are needed)", run.plan.at_least),
                               days_text(run.days), run.people > 1 ? fmt::format(", {} people", run.people) : "",
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
  for (const auto& bag : run.bags) {
    std::vector<std::string> parts;
    for (const auto& [id, count] : bag.holds.pieces) parts.push_back(fmt::format("{} × {}", count, id));
    page.item("–", fmt::format("{} holds {}.", bag.id, fmt::join(parts, ", ")), 2);
  }
  for (const auto& no : run.plan.will_not_go)
    page.item("–", fmt::format("{} will not go: {}. It would take {}.", no.id, no.why, no.would_take), 2);
  if (trips == 0) return;
  if (!run.left.empty()) {
    const auto* offer = service::cheapest(answer);
    page.item(
        "–",
        fmt::format("{} {} left for a carrier{}.", fmt::join(run.left, ", "), run.left.size() == 1 ? "is" : "are",
                    offer == nullptr
                        ? std::string(", whose price is not known")
                        : fmt::format(": with {}, {} to {} in all", money(house, static_cast<double>(*offer->price)),
                                      money(house, run.cost.low_minor + static_cast<double>(*offer->price)),
                                      money(house, run.cost.high_minor + static_cast<double>(*offer->price)))),
        2);
  }
  for (const auto& one : run.view.conditions) page.item("–", one, 2);
  for (const auto& one : run.view.ask) page.item("?", "ask your site " + one, 2, Style::kQuiet);
}

void show_carriers(Page& page, const check::House& house, const service::WasteAnswer& answer) {
  const auto& book = house.book();
  page.heading("A carrier");
  for (const auto& offer : answer.carriers) {
    page.item("–",
              fmt::format("{}, coming once{}{}", book.parties[offer.party].name,
                          offer.price ? fmt::format(": {}{}", money(house, static_cast<double>(*offer.price)),
                                                    offer.quote.empty() ? "" : fmt::format(" by quote {}", offer.quote))
                                      : std::string(": ask for its price"),
                          offer.lead_days ? fmt::format(", in about {:g} days", *offer.lead_days) : ""),
              2);
  }
  for (const auto& one : answer.pieces) {
    if (one.disposal.way != waste::Way::kLicensedCarrier) continue;
    page.item("–", fmt::format("{} must go this way.", book.pieces[one.piece].id.text), 2);
  }
}

/// What is written on each piece, and whose papers it needs; alike pieces together.
void show_marks(Page& page, const check::House& house, const service::WasteAnswer& answer) {
  const auto& book = house.book();
  std::vector<std::pair<const waste::Disposal*, std::vector<std::string>>> alike;
  for (const auto& one : answer.pieces) {
    if (one.disposal.way == waste::Way::kOrdinary) continue;
    auto same =
        std::ranges::find_if(alike, [&](const auto& other) { return other.first->marks == one.disposal.marks; });
    if (same == alike.end()) same = alike.insert(same, {&one.disposal, {}});
    same->second.push_back(book.pieces[one.piece].id.text);
  }
  if (alike.empty()) return;
  page.heading("What to write on it, and the papers");
  for (const auto& [disposal, ids] : alike) {
    page.paragraph(fmt::format("{}:", fmt::join(ids, ", ")), 2);
    for (const auto& mark : disposal->marks) page.item("–", mark, 2);
  }
  page.paragraph("Papers:", 2);
  page.item("–", "You: " + alike.front().first->householder_papers, 2);
  page.item("–", "A paid trade or carrier: " + alike.front().first->trade_papers, 2);
}

std::string waste_text(const check::House& house, const service::WasteAnswer& answer, bool colour) {
  const auto& book = house.book();
  Page page(colour);
  page.title("How it leaves the house");
  reason::Reasons reasons;
  for (const auto& one : answer.pieces) {
    const auto& piece = book.pieces[one.piece];
    page.blank();
    page.entry(piece.id.text, fmt::format("{}{}", piece.name, piece.count > 1 ? fmt::format(" × {}", piece.count) : ""),
               5, 0, Style::kStrong);
    page.paragraph(fmt::format("{}. {} {} each.", waste::word(one.disposal.way), one.disposal.why,
                               kilograms(one.mass.low_kg, one.mass.high_kg)),
                   5);
    if (one.disposal.way != waste::Way::kOrdinary)
      page.paragraph(fmt::format("{} {}; {}.", one.disposal.code, one.disposal.code_means, one.disposal.transport), 5,
                     Style::kQuiet);
    for (const auto& why : one.disposal.reasons) {
      if (why.text != one.disposal.why) reasons.push_back(why);
    }
  }
  const auto& wrap = answer.wrapping;
  if (wrap.polythene_m2 > 0 || wrap.bags > 0) {
    page.heading("To buy");
    for (const auto& line : wrap.shopping) {
      if (line.number > 0)
        page.item(fmt::format("{:>3}", line.number), fmt::format("{} ({})", line.what, line.note), 2);
    }
    if (!wrap.heavy.empty())
      page.paragraph(fmt::format("{}: heavier than two people should lift by hand.", fmt::join(wrap.heavy, ", ")), 2);
    reasons.insert(reasons.end(), wrap.reasons.begin(), wrap.reasons.end());
  }
  for (std::size_t i = 0; i < answer.runs.size() && i < 2; ++i) show_run(page, house, answer, answer.runs[i]);
  if (!answer.runs.empty()) {
    const auto& plan = answer.runs.front().plan;
    reasons.insert(reasons.end(), plan.reasons.begin(), plan.reasons.end());
  }
  show_carriers(page, house, answer);
  show_marks(page, house, answer);
  cited(page, reasons);
  for (const auto& next : answer.next) page.blank().paragraph(with_command(next.text, next.command), 0, Style::kQuiet);
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
  const auto opened = open_house(words);
  if (!opened.ok()) return fail(world, opened.faults());
  const auto& house = opened->house;
  service::WasteQuestion question;
  question.vehicle = request.options.at("vehicle");
  question.site = request.options.at("site");
  if (!request.options.at("nation").empty()) question.nation = request.options.at("nation");
  const auto answer = service::waste_answer(house, question);
  if (!answer.ok()) return fail(world, answer.faults());
  if (const auto& file = request.options.at("svg"); !file.empty()) {
    if (const auto done = write_whole(file, service::waste_svg(house, *answer), request.flags.at("replace"));
        !done.ok())
      return fail(world, done.faults());
  }
  world.out << (request.json ? service::waste_json(house, *answer).dump(2) + "\n"
                             : waste_text(house, *answer, request.use_colour));
  return 0;
}

}  // namespace lathbook::cli
