// event
#include <fmt/format.h>

#include <algorithm>
#include <cmath>
#include <nlohmann/json.hpp>
#include <ostream>
#include <thread>

#include "catalogue/catalogue.h"
#include "cli/cited.h"
#include "cli/commands.h"
#include "cli/text.h"
#include "cli/words.h"
#include "service/event_answers.h"
#include "service/open_book.h"

namespace lathbook::cli {
namespace {

using reason::FaultKind;
using service::Json;

/// Two figures, never rounded to nothing: "0.0031", "12", "1,600".
std::string amount(double x) {
  if (!(x > 0)) return "0";
  const double unit = std::pow(10.0, std::floor(std::log10(x)) - 1);
  const double rounded = std::round(x / unit) * unit;
  if (rounded >= 1e6) return fmt::format("{:.1e}", rounded);
  if (rounded < 1e-5) return fmt::format("{:.1e}", rounded);
  if (rounded >= 10) {
    std::string digits = fmt::format("{:.0f}", rounded);
    for (int at = static_cast<int>(digits.size()) - 3; at > 0; at -= 3)
      digits.insert(static_cast<std::size_t>(at), ",");
    return digits;
  }
  return fmt::format("{:.{}f}", rounded, std::max(0, 1 - static_cast<int>(std::floor(std::log10(rounded)))));
}

std::string band(const Json& one) {
  return fmt::format("{} ({} to {})", amount(one["middle"]), amount(one["low"]), amount(one["high"]));
}

std::string span_of_time(double minutes) {
  if (minutes < 1) return "at once";
  if (minutes < 100) return fmt::format("{:.0f} min", minutes);
  if (minutes < 48 * 60) return fmt::format("{:.0f} h", minutes / 60);
  return fmt::format("{:.0f} days", minutes / 1440);
}

std::string times(const Json& one, const Json& not_reached) {
  std::string text = fmt::format("{} to {}", span_of_time(one["low"]), span_of_time(one["high"]));
  if (not_reached.get<double>() > 0.05) text += " or longer";
  return text;
}

std::string percent_of(double share) {
  if (share <= 0) return "under 1 %";
  if (share < 0.01) return "under 1 %";
  if (share > 0.99) return "over 99 %";
  return fmt::format("{:.0f} %", 100 * share);
}

void sources(Page& page, const Json& told) {
  reason::Reasons reasons;
  for (const auto& one : told) reasons.push_back({one["text"].get<std::string>(), one["source"].get<std::string>()});
  cited(page, reasons);
}

std::string now_text(const Json& answer, bool colour) {
  Page page(colour);
  page.title("What to do now");
  page.paragraph(
      fmt::format("Product: {}. Amount: {}.", answer["name"].get<std::string>(),
                  answer["amount"] == "small" ? "a few holes or crumbs (--large for more)" : "more than a few crumbs"));
  page.blank();
  int number = 0;
  for (const auto& step : answer["steps"])
    page.item(fmt::format("{:>2}.", ++number), step["text"].get<std::string>(), 0);
  page.blank().paragraph(
      "To write it down: lathbook add event title=… started_at=…, and then its cuts, stays and masks.", 0,
      Style::kQuiet);
  page.heading("Take care");
  page.item("–", "Local codes and licensed practice come first.");
  page.item("–", "This is not medical advice.");
  return page.text();
}

std::string event_text(const Json& answer, bool colour) {
  Page page(colour);
  page.title(fmt::format("{}  {}", answer["event"].get<std::string>(), answer["title"].get<std::string>()));
  page.paragraph(fmt::format(
      "{}{}. Each figure is the middle of what is plausible, with the range that nine in ten draws fall in.",
      answer["imagined"].get<bool>() ? "Imagined, " : "", answer["started_at"].get<std::string>()));

  page.heading("In the air, fibres per ml");
  std::vector<std::vector<std::string>> rows;
  std::vector<std::string> columns = {"room", "worst 10 minutes", "worst 4 hours"};
  bool eight = false;
  for (const auto& room : answer["rooms"]) {
    rows.push_back({room["name"], band(room["mean_10min_max"]), band(room["mean_4h_max"])});
    eight = room.contains("mean_8h_max");
    if (eight) rows.back().push_back(band(room["mean_8h_max"]));
  }
  if (eight) columns.emplace_back("worst 8 hours");
  page.table(columns, rows, 2);
  const auto& limits = answer["limits"];
  std::vector<std::string> told;
  for (const auto& one : limits)
    told.push_back(fmt::format("{:g} over {}", one["f_per_ml"].get<double>(), one["name"].get<std::string>()));
  page.paragraph(fmt::format("{} for work in {}: {}. {} not mark where harm begins.",
                             told.size() == 1 ? "Limit" : "Limits", answer["limits_of"].get<std::string>(),
                             fmt::join(told, ", "), told.size() == 1 ? "It does" : "They do"),
                 2);
  for (const auto& room : answer["rooms"]) {
    const auto chances = room["chances_over"].get<std::vector<double>>();
    if (std::all_of(chances.begin(), chances.end(), [](double chance) { return chance < 0.05; })) continue;
    std::vector<std::string> shares;
    for (const double chance : chances) shares.push_back(percent_of(chance));
    page.item("–", fmt::format("{}: chance of having passed {} {}.", room["name"].get<std::string>(),
                               shares.size() == 1 ? "it" : "them", fmt::join(shares, " and ")));
  }

  page.heading("How long until it is back, from the end of the work");
  rows.clear();
  for (const auto& room : answer["rooms"]) {
    rows.push_back({room["name"], times(room["minutes_until_below_0.01"], room["chance_not_below_0.01"]),
                    times(room["minutes_until_below_0.0005"], room["chance_not_below_0.0005"])});
  }
  page.table({"room", "below 0.01", "below 0.0005"}, rows, 2);

  page.heading("Left on the floor, and what a week of living with it adds");
  rows.clear();
  for (const auto& room : answer["rooms"]) {
    rows.push_back({room["name"], band(room["load_f_per_cm2"]), band(room["week_adds_f_per_ml_h"])});
  }
  page.table({"room", "floor, f/cm²", "a week of 16 h a day, f/ml·h"}, rows, 2);

  for (const auto& person : answer["people"]) {
    page.heading(fmt::format("{}: what was breathed", person["name"].get<std::string>()));
    page.entry("breathed", band(person["breathed_f_per_ml_h"]) + " f/ml·h", 14);
    if (person["breathed_f_per_ml_h"] != person["without_mask_f_per_ml_h"])
      page.entry("with no mask", band(person["without_mask_f_per_ml_h"]) + " f/ml·h", 14);
    page.entry("as years",
               fmt::format("{} f/ml·yr of 1,920 h; {} of 8,760 h", band(person["f_per_ml_yr_working"]),
                           band(person["f_per_ml_yr_continuous"])),
               14);
    const auto& risk = person["risk"];
    page.paragraph(fmt::format("Added chance of dying of mesothelioma or lung cancer some day, {}: {} over all models.",
                               risk["age_known"].get<bool>() ? fmt::format("at {} years old", risk["age"].get<int>())
                                                             : std::string("taken as 30 years old"),
                               risk["in_words"].get<std::string>()),
                   2);
    for (const auto& model : risk["models"])
      page.item("–", fmt::format("{}: {}", model["name"].get<std::string>(), model["in_words"].get<std::string>()), 4);
  }

  if (answer["people"].empty()) {
    page.blank().paragraph(
        fmt::format("Nobody is written down as having been there: lathbook add person name=…, then lathbook add "
                    "{}/stays person=PE1 room=… from_min=0 to_min=30.",
                    answer["event"].get<std::string>()));
  }
  page.heading("Beside it");
  for (const auto& one : answer["context"])
    page.item("–", fmt::format("{}: {} f/ml·h", one["what"].get<std::string>(), amount(one["breathed_f_per_ml_h"])));
  for (const auto& one : answer["everyday"])
    page.item("–", fmt::format("{}: {} in a million", one["what"].get<std::string>(), amount(one["per_million"])));

  page.heading("Why the models disagree");
  for (const auto& one : answer["disagree"]) page.item("–", one["text"].get<std::string>());

  page.heading(fmt::format("What matters most for {}", answer["asked"].get<std::string>()));
  int shown = 0;
  for (const auto& one : answer["matters"]) {
    if (std::abs(one["correlation"].get<double>()) < 0.02) continue;
    if (++shown > 6) break;
    page.item("–", fmt::format("{} ({:+.2f})", one["what"].get<std::string>(), one["correlation"].get<double>()));
  }
  page.paragraph(
      "In brackets the rank correlation: the further from 0, the more it matters; below 0, more of it means less.", 2,
      Style::kQuiet);
  if (!answer["changes"].empty()) {
    page.heading("What would have changed it");
    for (const auto& one : answer["changes"]) {
      const double ratio = one["ratio"];
      page.item("–", fmt::format("{}: {}", one["what"].get<std::string>(),
                                 ratio < 0.98   ? fmt::format("{} of it", percent_of(ratio))
                                 : ratio > 1.02 ? fmt::format("{:.1f} times as much", ratio)
                                                : std::string("about the same")));
    }
  }
  sources(page, answer["reasons"]);
  page.heading("Take care");
  for (const auto& one : answer["cautions"]) page.item("–", one.get<std::string>());
  page.item("–", "lathbook event --now says what to do in the first ten minutes.");
  return page.text();
}

}  // namespace

int run_event(const Request& request, const World& world) {
  const auto given = [&](const char* key) {
    const auto found = request.options.find(key);
    return found == request.options.end() ? std::string() : found->second;
  };
  const auto flag = [&](const char* key) {
    const auto found = request.flags.find(key);
    return found != request.flags.end() && found->second;
  };
  if (flag("now")) {
    if (!request.words.empty()) {
      return fail(world, {{"", request.words.front(), "is one word too many with --now", "--family FAMILY, --large",
                           FaultKind::kUsage}});
    }
    const auto answer = service::first_response_json(
        given("family"), flag("large") ? catalogue::Amount::kLarge : catalogue::Amount::kSmall);
    if (!answer.ok()) return fail(world, answer.faults());
    world.out << (request.json ? answer->dump(2) + "\n" : now_text(*answer, request.use_colour));
    return 0;
  }
  event::Settings settings;
  settings.workers = std::max(1U, std::thread::hardware_concurrency());
  for (const auto& [key, least, most] :
       {std::tuple("draws", 512ULL, 1048576ULL), std::tuple("seed", 0ULL, 9007199254740992ULL)}) {
    const auto text = given(key);
    if (text.empty()) continue;
    const bool whole = text.size() <= 16 && text.find_first_not_of("0123456789") == std::string::npos;
    const auto value = whole ? std::stoull(text) : 0;
    if (!whole || value < least || value > most) {
      return fail(world, {{fmt::format("--{}", key), text, "is not a number that can be used",
                           fmt::format("a whole number from {} to {}", least, most), FaultKind::kUsage}});
    }
    if (std::string_view(key) == "draws") settings.draws = value;
    if (std::string_view(key) == "seed") settings.seed = value;
  }
  const auto words = sort_words(request.words, request.book);
  if (words.rest.size() > 1 || !words.fields.empty()) {
    return fail(world, {{"", words.rest.size() > 1 ? words.rest[1] : words.fields[0], "is one word too many",
                         "an event such as E1, or none for the list", FaultKind::kUsage}});
  }
  const auto path = find_book(words);
  if (!path.ok()) return fail(world, path.faults());
  const auto opened = service::OpenBook::open(*path, store::Mode::kReadOnly);
  if (!opened.ok()) return fail(world, opened.faults());
  const auto& book = opened->book();
  if (words.rest.empty()) {
    Json list = Json::array();
    for (const auto& one : book.events)
      list.push_back(
          {{"id", one.id.text}, {"title", one.title}, {"started_at", one.started_at}, {"imagined", one.imagined}});
    if (request.json) {
      world.out << list.dump(2) << "\n";
      return 0;
    }
    Page page(request.use_colour);
    page.title(fmt::format("Events: {}", book.about.title));
    if (book.events.empty())
      page.paragraph(
          "Nothing is written down. lathbook add event title=… started_at=… and then its cuts, stays and masks.");
    for (const auto& one : book.events) page.entry(one.id.text, fmt::format("{} ({})", one.title, one.started_at), 5);
    page.blank();
    page.paragraph("Something just happened? lathbook event --now");
    world.out << page.text();
    return 0;
  }
  const auto answer = service::event_json(book, words.rest.front(), settings);
  if (!answer.ok()) return fail(world, answer.faults());
  world.out << (request.json ? answer->dump(2) + "\n" : event_text(*answer, request.use_colour));
  return 0;
}

}  // namespace lathbook::cli
