#include "service/event_answers.h"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>
#include <nlohmann/json.hpp>

#include "book/words.h"
#include "catalogue/air_data.h"
#include "catalogue/risk_data.h"
#include "dose/risk.h"
#include "dose/words.h"
#include "event/from_book.h"

namespace lathbook::service {
namespace {

Json band_json(const event::Band& band) { return {{"low", band.low}, {"middle", band.middle}, {"high", band.high}}; }

Json reasons_json(const reason::Reasons& reasons) {
  Json list = Json::array();
  for (const auto& one : reasons) list.push_back({{"text", one.text}, {"source", one.source}});
  return list;
}

constexpr int kAgeUnknown = 30;  // what most of the models are stated for
constexpr double kBriefYears = 0.01;

/// Every model for one person: the dose as a brief spell at their age.
Json risk_json(const event::PersonAnswer& dose, const book::Person& person, std::optional<book::Fibre> fibre,
               int year) {
  dose::Question question;
  question.fibre = fibre;
  const int age = std::clamp(person.birth_year ? year - *person.birth_year : kAgeUnknown, 0, 100);
  question.alive_at = age;
  if (person.sex) question.sex = *person.sex == "female" ? catalogue::Sex::kFemale : catalogue::Sex::kMale;
  question.smoker = person.smoker;
  // Tremolite and the other rarer amphiboles have no slopes of their own: amosite's stand in.
  if (fibre && *fibre != book::Fibre::kChrysotile && *fibre != book::Fibre::kCrocidolite)
    question.fibre = book::Fibre::kAmosite;
  const auto& data = catalogue::shipped_risk_data();
  const auto at = [&](double f_per_ml_h) {
    question.exposures = {{static_cast<double>(age), age + kBriefYears, f_per_ml_h / (1920 * kBriefYears), 1920}};
    auto all = dose::all_models(question, data);
    if (!all.ok()) throw std::logic_error("a dose the models do not take: " + all.faults().front().text());
    return std::move(*all);
  };
  const auto low = at(dose.breathed_f_per_ml_h.low);
  const auto middle = at(dose.breathed_f_per_ml_h.middle);
  const auto high = at(dose.breathed_f_per_ml_h.high);
  Json models = Json::array();
  double least = 1e300;
  double most = 0;
  for (std::size_t m = 0; m < middle.size(); ++m) {
    models.push_back({{"model", dose::kModelWords[m]},
                      {"low_per_million", low[m].total_per_million},
                      {"middle_per_million", middle[m].total_per_million},
                      {"high_per_million", high[m].total_per_million},
                      {"mesothelioma_per_million", middle[m].mesothelioma_per_million},
                      {"lung_per_million", middle[m].lung_per_million},
                      {"in_words", dose::range_in_words(low[m].total_per_million, high[m].total_per_million)},
                      {"reasons", reasons_json(middle[m].reasons)}});
    least = std::min(least, low[m].total_per_million);
    most = std::max(most, high[m].total_per_million);
  }
  return {{"age", age},
          {"age_known", person.birth_year.has_value()},
          {"models", std::move(models)},
          {"low_per_million", least},
          {"high_per_million", most},
          {"in_words", dose::range_in_words(least, most)}};
}

}  // namespace

reason::Result<Json> event_json(const book::Book& book, std::string_view event_id, const event::Settings& settings) {
  const auto found =
      std::find_if(book.events.begin(), book.events.end(), [&](const auto& one) { return one.id.text == event_id; });
  if (found == book.events.end()) {
    std::string ids;
    for (const auto& one : book.events) ids += (ids.empty() ? "" : ", ") + one.id.text;
    return reason::Fault{"", fmt::format("\"{}\"", event_id), "is not an event of this book",
                         ids.empty() ? "no event is written down yet" : ids, reason::FaultKind::kUsage};
  }
  const auto& air = catalogue::shipped_air_data();
  const auto taken = event::from_book(book, *found, air, catalogue::shipped());
  if (!taken.ok()) return taken.faults();
  const auto answer = event::uncertain(taken->scene, air, catalogue::shipped(), settings);
  if (!answer.ok()) return answer.faults();

  int year = 0;
  if (const auto day = reason::Date::parse(std::string_view(found->started_at).substr(0, 10))) year = day->year();
  Json rooms = Json::array();
  for (std::size_t r = 0; r < answer->rooms.size(); ++r) {
    const auto& room = answer->rooms[r];
    const auto& drawn = book.rooms[taken->room_of.at(r)];
    Json levels = Json::array();
    for (const auto& band : room.f_per_ml) levels.push_back(band_json(band));
    rooms.push_back({{"id", room.id},
                     {"name", drawn.name},
                     {"f_per_ml", std::move(levels)},
                     {"mean_10min_max", band_json(room.ten_minutes)},
                     {"mean_4h_max", band_json(room.four_hours)},
                     {"chance_over_10min_limit", room.chance_over_ten_minute_limit},
                     {"chance_over_4h_limit", room.chance_over_control_limit},
                     {"minutes_until_below_0.01", band_json(room.minutes_until_clearance)},
                     {"chance_not_below_0.01", room.chance_not_within_clearance},
                     {"minutes_until_below_0.0005", band_json(room.minutes_until_background)},
                     {"chance_not_below_0.0005", room.chance_not_within_background},
                     {"load_f_per_cm2", band_json(room.load_f_per_cm2)},
                     {"week_adds_f_per_ml_h", band_json(room.week_f_per_ml_h)}});
  }
  Json people = Json::array();
  for (const auto& one : answer->people) {
    const auto& person = *book::find(book.people, book::PersonId{one.id});
    people.push_back({{"id", one.id},
                      {"name", person.name},
                      {"breathed_f_per_ml_h", band_json(one.breathed_f_per_ml_h)},
                      {"without_mask_f_per_ml_h", band_json(one.without_mask_f_per_ml_h)},
                      {"f_per_ml_yr_working", band_json(one.working_years)},
                      {"f_per_ml_yr_continuous", band_json(one.continuous_years)},
                      {"mean_10min_max", band_json(one.ten_minutes)},
                      {"mean_4h_max", band_json(one.four_hours)},
                      {"risk", risk_json(one, person, taken->scene.fibre, year)}});
  }
  Json matters = Json::array();
  for (const auto& one : answer->matters) {
    std::string what = one.unknown.what;
    for (const auto& person : book.people) {
      const auto at = what.find(person.id.text);
      const bool whole = at != std::string::npos &&
                         (at + person.id.text.size() == what.size() || what[at + person.id.text.size()] == ' ');
      if (whole) what.replace(at, person.id.text.size(), person.name);
    }
    matters.push_back(
        {{"id", one.unknown.id}, {"what", what}, {"correlation", one.correlation}, {"source", one.unknown.source}});
  }
  Json changes = Json::array();
  for (const auto& one : answer->changes) changes.push_back({{"what", one.what}, {"ratio", one.ratio}});
  Json context = Json::array();
  for (const auto& one : air.context) {
    context.push_back(
        {{"what", one.what}, {"breathed_f_per_ml_h", one.f_per_ml * one.hours}, {"source", one.backing.source}});
  }
  Json everyday = Json::array();
  for (const auto& one : air.everyday)
    everyday.push_back({{"what", one.what}, {"per_million", one.per_million}, {"source", one.backing.source}});
  auto reasons = answer->reasons;
  for (const auto& text : taken->assumed) reasons.push_back({text, "book"});
  return Json{{"event", found->id.text},
              {"title", found->title},
              {"started_at", found->started_at},
              {"imagined", found->imagined},
              {"fibre", taken->scene.fibre ? Json(book::word(*taken->scene.fibre)) : Json("mixed")},
              {"times_min", answer->times_min},
              {"work_end_min", answer->work_end_min},
              {"rooms", std::move(rooms)},
              {"people", std::move(people)},
              {"asked", answer->asked},
              {"matters", std::move(matters)},
              {"changes", std::move(changes)},
              {"context", std::move(context)},
              {"everyday", std::move(everyday)},
              {"disagree", reasons_json(dose::why_models_disagree())},
              {"draws", answer->draws},
              {"error", answer->error},
              {"stopped", answer->stopped},
              {"cautions",
               {"An estimate from what is known of such work in general; nobody measured this air.",
                "It is not medical advice; a doctor can note it in your record.",
                "Local codes and licensed practice come first."}},
              {"reasons", reasons_json(reasons)}};
}

reason::Result<Json> first_response_json(std::string_view family, catalogue::Amount amount) {
  const auto& known = catalogue::shipped();
  const catalogue::Family* row = nullptr;
  if (!family.empty()) {
    row = catalogue::family_called(known, family);
    if (row == nullptr) {
      std::string near;
      for (const auto& id : catalogue::near_families(known, family)) near += (near.empty() ? "" : ", ") + id;
      return reason::Fault{"--family", fmt::format("\"{}\"", family), "is no family of product known here",
                           near.empty() ? "an id of the catalogue, or leave it out" : near, reason::FaultKind::kUsage};
    }
  }
  Json steps = Json::array();
  for (const auto& one : catalogue::first_response(catalogue::shipped_first_response(), row, amount)) {
    steps.push_back({{"id", one.id}, {"text", one.text}, {"source", one.backing.source}});
  }
  return Json{{"family", row == nullptr ? Json(nullptr) : Json(row->id)},
              {"name", row == nullptr ? Json("not known: taken for the loosest kind") : Json(row->name)},
              {"amount", amount == catalogue::Amount::kLarge ? "large" : "small"},
              {"steps", std::move(steps)}};
}

}  // namespace lathbook::service
