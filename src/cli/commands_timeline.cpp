// timeline
#include <fmt/format.h>

#include <algorithm>
#include <nlohmann/json.hpp>
#include <ostream>
#include <sstream>

#include "book/money.h"
#include "cli/cited.h"
#include "cli/commands.h"
#include "cli/open_house.h"
#include "cli/text.h"
#include "cli/words.h"
#include "service/answers.h"
#include "service/timeline_answer.h"

namespace lathbook::cli {
namespace {

using reason::FaultKind;

/// "2026-12-20/2027-01-04,…" as periods.
std::vector<timeline::Period> periods_of(const std::string& text, const char* option, const char* why,
                                         reason::Faults& faults) {
  std::vector<timeline::Period> out;
  std::istringstream in(text);
  for (std::string part; std::getline(in, part, ',');) {
    const auto slash = part.find('/');
    const auto from = reason::Date::parse(part.substr(0, slash));
    const auto to = slash == std::string::npos ? from : reason::Date::parse(part.substr(slash + 1));
    if (!from || !to || *to < *from) {
      faults.push_back({option, part, "is no stretch of days", "YYYY-MM-DD/YYYY-MM-DD, several with commas between",
                        FaultKind::kUsage});
    } else {
      out.push_back({*from, *to, why});
    }
  }
  return out;
}

std::string timeline_page(const check::House& house, const service::TimelineAnswer& answer, bool colour) {
  const auto& book = house.book();
  Page page(colour);
  page.title("When each job can start");
  if (!answer.rows.empty()) {
    std::istringstream chart(service::timeline_text(answer));
    for (std::string line; std::getline(chart, line);) page.raw(line);
  }
  page.heading("Jobs");
  for (const auto& row : answer.rows) {
    if (!row.job) continue;
    const auto& job = book.jobs[*row.job];
    std::string text = fmt::format("{}: earliest {}", job.title, row.planned.start.text());
    if (row.range.start.low != row.range.start.high) {
      text += fmt::format(" ({} if all goes well, {} at the latest; nine times in ten by {})",
                          row.range.start.low.text(), row.range.start.high.text(), row.range.start.p90.text());
    }
    if (job.wanted_on && *job.wanted_on < row.planned.start)
      text += fmt::format(". Wanted on {}: too early by {} days", job.wanted_on->text(),
                          job.wanted_on->days_until(row.planned.start));
    if (!row.planned.held_by_ids.empty()) {
      std::vector<std::string> names;
      for (const auto& other : answer.rows) {
        if (std::ranges::count(row.planned.held_by_ids, other.activity.id) > 0) names.push_back(other.activity.name);
      }
      text += fmt::format(". Waits for: {}", fmt::join(names, ", "));
    }
    if (row.planned.held_by == timeline::HeldBy::kClosed) text += ". Waits for open days";
    page.entry(job.id.text, text + ".", 5);
  }
  if (answer.bundling) {
    page.heading("Calling removers in together, should every test find asbestos");
    for (const auto& visit : answer.bundling->visits) {
      std::vector<std::string> names;
      for (const auto& id : visit.removals) {
        const auto* material = book::find(book.materials, book::MaterialId{id});
        names.push_back(fmt::format("{} ({})", id, material == nullptr ? "" : material->name));
      }
      const auto* firm = book::find(book.parties, book::PartyId{visit.firm});
      page.item("–",
                fmt::format("{}, {}: {}", firm == nullptr ? visit.firm : firm->name,
                            visit.removals.size() == 1 ? "a visit of its own" : "in one visit", fmt::join(names, "; ")),
                2);
    }
    page.paragraph(
        fmt::format("{} with waiting; {} if each came alone.",
                    book::money_text(static_cast<book::Money>(answer.bundling->cost), book.about.currency),
                    book::money_text(static_cast<book::Money>(answer.bundling->cost_each_alone), book.about.currency)),
        2);
  }
  cited(page, answer.reasons);
  for (const auto& next : answer.next) page.blank().paragraph(next, 0, Style::kQuiet);
  return page.text();
}

}  // namespace

int run_timeline(const Request& request, const World& world) {
  const auto words = sort_words(request.words, request.book);
  reason::Faults faults;
  if (!words.rest.empty() || !words.fields.empty()) {
    faults.push_back({"", words.rest.empty() ? words.fields[0] : words.rest[0], "is one word too many",
                      "only the book's file", FaultKind::kUsage});
  }
  service::TimelineQuestion question{.today = *reason::Date::parse(request.today), .away = {}, .dry = {}};
  question.away = periods_of(request.options.at("away"), "--away", "away", faults);
  question.dry = periods_of(request.options.at("dry"), "--dry", "dry", faults);
  if (!faults.empty()) return fail(world, faults);
  const auto opened = open_house(words);
  if (!opened.ok()) return fail(world, opened.faults());
  const auto& house = opened->house;
  const auto answer = service::timeline_answer(house, question);
  if (!answer.ok()) return fail(world, answer.faults());
  const bool replace = request.flags.at("replace");
  if (const auto& file = request.options.at("ics"); !file.empty()) {
    const auto done =
        write_whole(file, service::timeline_ics(*answer, opened->path.stem().string(), world.now), replace);
    if (!done.ok()) return fail(world, done.faults());
  }
  if (const auto& file = request.options.at("svg"); !file.empty()) {
    const auto done = write_whole(file, service::timeline_svg(house, *answer), replace);
    if (!done.ok()) return fail(world, done.faults());
  }
  world.out << (request.json ? service::timeline_json(house, *answer).dump(2) + "\n"
                             : timeline_page(house, *answer, request.use_colour));
  return 0;
}

}  // namespace lathbook::cli
