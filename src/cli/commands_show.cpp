// show
#include <fmt/format.h>

#include <algorithm>
#include <map>
#include <nlohmann/json.hpp>
#include <ostream>

#include "book/json.h"
#include "book/words.h"
#include "cli/commands.h"
#include "cli/open_house.h"
#include "cli/text.h"
#include "cli/words.h"
#include "fabric/drawing.h"
#include "service/answers.h"
#include "service/assign.h"
#include "service/target.h"

namespace lathbook::cli {
namespace {

using reason::FaultKind;
using service::Json;

std::string standing_text(const check::Known& known) {
  if (!known.family->suspect) return "no suspect";
  if (!known.suspect) return "removed";
  return std::string(book::word(known.belief.standing));
}

std::string belief_text(const check::Known& known) {
  if (!known.suspect) return "";
  return service::percent_with_range(known.belief);
}

std::string overview(const check::House& house, bool colour) {
  const auto& book = house.book();
  Page page(colour);
  page.title(book.about.title);
  std::map<std::string, std::vector<std::size_t>> by_room;
  std::map<std::string, int> standings;
  for (std::size_t i = 0; i < book.materials.size(); ++i) {
    by_room[book.materials[i].place.room.text].push_back(i);
    ++standings[standing_text(house.known(i))];
  }
  std::vector<std::string> counts;
  for (const auto& [standing, count] : standings) counts.push_back(fmt::format("{} {}", count, standing));
  page.paragraph(fmt::format("{} rooms, {} materials{}{}.", book.rooms.size(), book.materials.size(),
                             counts.empty() ? "" : ": ", fmt::join(counts, ", ")));
  for (const auto& storey : book.storeys) {
    page.heading(fmt::format("{}  {}", storey.id.text, storey.name));
    for (const auto& room : book.rooms) {
      if (room.storey != storey.id) continue;
      const auto years = house.years_of(room.id);
      page.entry(room.id.text,
                 fmt::format("{}{}", room.name,
                             years ? (years->from == years->to ? fmt::format(", {}", years->from)
                                                               : fmt::format(", {}–{}", years->from, years->to))
                                   : ""),
                 5, 2, Style::kStrong);
      for (const auto index : by_room[room.id.text]) {
        const auto& material = book.materials[index];
        page.entry(
            material.id.text,
            fmt::format("{} ({}): {}", material.name, material.place.face.text(), standing_text(house.known(index))), 5,
            7);
      }
    }
  }
  if (book.rooms.empty())
    page.blank().paragraph(
        "Nothing is drawn yet. lathbook add storey …, then lathbook add room …; `lathbook fields room`.");
  for (const auto& conflict : house.conflicts())
    page.blank().paragraph(fmt::format("Results that disagree: {}", conflict.text));
  page.blank().paragraph(
      "lathbook show M1 looks at one thing; lathbook show materials lists a kind; lathbook check answers for the jobs.",
      0, Style::kQuiet);
  return page.text();
}

/// Whatever is written down of an item, as it would be typed.
void fields_of(Page& page, const std::string& kind, const Json& item) {
  for (const auto& field : service::written("/$defs/" + kind, item)) page.entry(field.name, field.value, 20);
  for (const auto& list : service::part_lists(kind)) {
    if (!item.contains(list)) continue;
    page.heading(list);
    const auto pointer = service::parse_target(item["id"].get<std::string>() + "/" + list)->pointer;
    int number = 0;
    for (const auto& one : item[list]) {
      std::vector<std::string> parts;
      for (const auto& field : service::written(pointer, one))
        parts.push_back(fmt::format("{}={}", field.name, field.value));
      page.item(fmt::format("{:>2}.", ++number), fmt::format("{}", fmt::join(parts, "  ")), 1);
    }
  }
}

std::string name_of(const Json& item) {
  for (const char* key : {"name", "title", "label"}) {
    if (item.contains(key)) return item[key].get<std::string>();
  }
  return {};
}

void material_sheet(Page& page, const check::House& house, std::size_t index, reason::Date today) {
  const auto& known = house.known(index);
  page.heading("What may be claimed");
  page.entry("standing", standing_text(known), 20, 2, Style::kStrong);
  if (known.family->suspect) {
    page.entry("belief", belief_text(known) + "; steers testing only, never releases work", 20);
    std::vector<std::string> shares;
    for (const auto& [fibre, text] : book::words<book::Fibre>()) {
      const double share = known.belief.fibres[static_cast<std::size_t>(fibre)];
      if (share >= 0.02) shares.push_back(fmt::format("{} {}", text, service::percent(share)));
    }
    page.entry("if so, fibres", fmt::format("{}", fmt::join(shares, ", ")), 20);
    page.entry("samples", fmt::format("{} clear of {} needed", known.belief.clear_samples, known.belief.samples_needed),
               20);
  }
  if (const auto sheet = service::material_sheet(house, index, today)) {
    const auto& factors = sheet->score.factors;
    page.heading("Condition and advice");
    page.entry(
        "material score",
        fmt::format("{}, {} (product {}, damage {}, surface {}, fibre {})", sheet->score.total,
                    assess::word(sheet->score.band), factors.product, factors.damage, factors.surface, factors.fibre),
        20);
    if (sheet->priority) page.entry("priority score", fmt::format("{:g}", sheet->priority->total.value()), 20);
    page.entry("advice", std::string(book::word(sheet->advice.kind)), 20);
    page.entry("look again", sheet->next_look.on.text(), 20);
    page.heading("Why");
    for (const auto& one : known.belief.reasons) page.item("–", one.text);
    for (const auto* list : {&sheet->score.reasons, &sheet->advice.reasons, &sheet->next_look.reasons}) {
      for (const auto& one : *list) page.item("–", one.text);
    }
  } else if (known.family->suspect) {
    page.heading("Why");
    for (const auto& one : known.belief.reasons) page.item("–", one.text);
  }
}

/// The storeys as a drawing: on the page, or as SVG in a file.
int show_plan(const Request& request, const World& world, const check::House& house) {
  const auto& book = house.book();
  const auto storey = request.options.find("storey");
  std::optional<book::StoreyId> wanted;
  if (storey != request.options.end() && !storey->second.empty()) {
    wanted = book::StoreyId{storey->second};
    if (book::find(book.storeys, *wanted) == nullptr) {
      std::vector<std::string> known;
      for (const auto& one : book.storeys) known.push_back(one.id.text);
      return fail(world, {{"--storey", storey->second, "is not a storey of this book",
                           fmt::format("{}", fmt::join(known, ", ")), FaultKind::kUsage}});
    }
  }
  std::vector<book::Job> jobs = book.jobs;
  std::vector<fabric::Route> routes;
  const auto job = request.options.find("job");
  if (job != request.options.end() && !job->second.empty()) {
    const auto one = std::find_if(book.jobs.begin(), book.jobs.end(),
                                  [&](const book::Job& other) { return other.id.text == job->second; });
    if (one == book.jobs.end()) {
      std::vector<std::string> known;
      for (const auto& other : book.jobs) known.push_back(other.id.text);
      return fail(world, {{"--job", job->second, "is not a job of this book", fmt::format("{}", fmt::join(known, ", ")),
                           FaultKind::kUsage}});
    }
    jobs = {*one};
    check::Checker checker(house);
    const auto index = static_cast<std::size_t>(one - book.jobs.begin());
    for (const auto& way : checker.job(index, check::Routes::kLookFor).ways) {
      if (way.other_route) routes.push_back(way.other_route->route);
    }
  }
  fabric::Drawing drawing{house.plan(), book.about.title, book.materials, {}, {}, jobs, routes, wanted};
  for (std::size_t i = 0; i < book.materials.size(); ++i) {
    drawing.standings.push_back(house.known(i).belief.standing);
    drawing.suspect.push_back(house.known(i).family->suspect);
  }
  const auto file = request.options.find("svg");
  if (file == request.options.end() || file->second.empty()) {
    world.out << fabric::plan_text(drawing);
    Page notes(request.use_colour);
    for (const auto& gap : house.plan().gaps()) notes.blank().paragraph(gap.text(house.plan()));
    world.out << notes.text();
    return 0;
  }
  const auto written = write_whole(file->second, fabric::plan_svg(drawing),
                                   request.flags.contains("replace") && request.flags.at("replace"));
  if (!written.ok()) return fail(world, written.faults());
  world.out << fmt::format("Drawn in {}.\n", file->second);
  return 0;
}

}  // namespace

int run_show(const Request& request, const World& world) {
  const auto words = sort_words(request.words, request.book);
  if (words.rest.size() > 1)
    return fail(world, {{"", fmt::format("\"{}\"", words.rest[1]), "is one word too many",
                         "an id, a kind, plan, or nothing", FaultKind::kUsage}});
  const auto opened = open_house(words);
  if (!opened.ok()) return fail(world, opened.faults());
  const auto& house = opened->house;
  const auto& book = house.book();
  const auto today = reason::Date::parse(request.today).value();

  if (words.rest.empty()) {
    world.out << (request.json ? service::overview_json(house).dump(2) + "\n" : overview(house, request.use_colour));
    return 0;
  }
  const auto& what = words.rest.front();
  if (what == "plan") return show_plan(request, world, house);
  if (const auto* kind = book::find_kind(what)) {
    Json list = Json::array();
    std::vector<std::vector<std::string>> rows;
    for (const auto& record : opened->book->items()) {
      if (record.kind != kind->name) continue;
      const auto body = Json::parse(record.body);
      list.push_back(body);
      auto text = name_of(body);
      if (kind->name == "material") {
        const auto index = house.find_material({record.id}).value();
        text += fmt::format(" ({}, {} {}): {}", body["family"].get<std::string>(), body["room"].get<std::string>(),
                            body["face"].get<std::string>(), standing_text(house.known(index)));
        if (house.known(index).suspect && !house.known(index).released())
          text += fmt::format(", {}", belief_text(house.known(index)));
      } else if (text.empty()) {
        std::vector<std::string> parts;
        for (const auto& field : service::written("/$defs/" + record.kind, body))
          parts.push_back(fmt::format("{} {}", field.name, field.value));
        text = fmt::format("{}", fmt::join(parts, ", "));
      }
      rows.push_back({record.id, std::move(text)});
    }
    if (request.json) {
      world.out << list.dump(2) << "\n";
    } else if (rows.empty()) {
      world.out << fmt::format("No {} yet. `lathbook fields {}` says what one is described by.\n", kind->list,
                               kind->name);
    } else {
      Page page(request.use_colour);
      for (const auto& row : rows) page.entry(row[0], row[1], 6, 0);
      world.out << page.text();
    }
    return 0;
  }
  const bool about = what == "about";
  const auto* kind = about ? nullptr : book::kind_of_id(what);
  const auto item = about             ? opened->book->item("about", "about")
                    : kind != nullptr ? opened->book->item(kind->name, what)
                                      : std::nullopt;
  if (!item) {
    std::vector<std::string_view> kinds;
    for (const auto& one : book::kinds()) kinds.push_back(one.list);
    return fail(world,
                {{"", fmt::format("\"{}\"", what), "is not in this book",
                  fmt::format("an id such as M7; about; or one of {}", fmt::join(kinds, ", ")), FaultKind::kUsage}});
  }
  const std::string kind_name(about ? "about" : kind->name);
  if (kind_name == "material" && request.json) {
    world.out << service::material_json(house, house.find_material({what}).value(), today).dump(2) << "\n";
    return 0;
  }
  if (request.json) {
    world.out << item->dump(2) << "\n";
    return 0;
  }
  Page page(request.use_colour);
  page.title(fmt::format("{}  {}", about ? "about" : what, name_of(*item)));
  fields_of(page, kind_name, *item);
  if (kind_name == "material") material_sheet(page, house, house.find_material({what}).value(), today);
  if (kind_name == "room") {
    for (std::size_t i = 0; i < book.materials.size(); ++i) {
      if (book.materials[i].place.room.text == what)
        page.entry(book.materials[i].id.text,
                   fmt::format("{} ({}): {}", book.materials[i].name, book.materials[i].place.face.text(),
                               standing_text(house.known(i))),
                   20);
    }
  }
  world.out << page.text();
  return 0;
}

}  // namespace lathbook::cli
