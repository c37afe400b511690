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
#include "event/in_book.h"
#include "law/pack.h"
#include "service/answers.h"

namespace lathbook::service {
namespace {

Json band_json(const event::Band& band) { return {{"low", band.low}, {"middle", band.middle}, {"high", band.high}}; }

Json reasons_json(const reason::Reasons& reasons) {
  Json list = Json::array();
  for (const auto& one : reasons) list.push_back({{"text", one.text}, {"source", one.source}});
  return list;
}

Json risk_json(const event::PersonRisk& risk) {
  Json models = Json::array();
  for (const auto& one : risk.models) {
    models.push_back({{"model", dose::kModelWords[static_cast<std::size_t>(one.model)]},
                      {"name", dose::name_of(one.model)},
                      {"low_per_million", one.low.total_per_million},
                      {"middle_per_million", one.middle.total_per_million},
                      {"high_per_million", one.high.total_per_million},
                      {"mesothelioma_per_million", one.middle.mesothelioma_per_million},
                      {"lung_per_million", one.middle.lung_per_million},
                      {"in_words", dose::range_in_words(one.low.total_per_million, one.high.total_per_million)},
                      {"reasons", reasons_json(one.middle.reasons)}});
  }
  return {{"age", risk.age},
          {"age_known", risk.age_known},
          {"models", std::move(models)},
          {"low_per_million", risk.low_per_million},
          {"high_per_million", risk.high_per_million},
          {"in_words", dose::range_in_words(risk.low_per_million, risk.high_per_million)}};
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
  const auto* rules = law::find_pack(book.about.rules);
  if (rules == nullptr) return unknown_rules(book);
  const auto& air = catalogue::shipped_air_data();
  auto held_against = settings;
  held_against.limits = rules->air_limits;
  held_against.limits_of = rules->name;
  const auto whole =
      event::in_book(book, *found, {air, catalogue::shipped_risk_data(), catalogue::shipped()}, held_against);
  if (!whole.ok()) return whole.faults();
  const auto* taken = &whole->taken;
  const auto* answer = &whole->answer;

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
                     {"chances_over", room.chances_over},
                     {"minutes_until_below_0.01", band_json(room.minutes_until_clearance)},
                     {"chance_not_below_0.01", room.chance_not_within_clearance},
                     {"minutes_until_below_0.0005", band_json(room.minutes_until_background)},
                     {"chance_not_below_0.0005", room.chance_not_within_background},
                     {"load_f_per_cm2", band_json(room.load_f_per_cm2)},
                     {"week_adds_f_per_ml_h", band_json(room.week_f_per_ml_h)}});
    if (room.eight_hours) rooms.back()["mean_8h_max"] = band_json(*room.eight_hours);
  }
  Json limits = Json::array();
  for (const auto& one : rules->air_limits) {
    limits.push_back(
        {{"name", one.name}, {"f_per_ml", one.f_per_ml}, {"minutes", one.minutes}, {"source", one.backing.source}});
  }
  Json people = Json::array();
  for (std::size_t p = 0; p < answer->people.size(); ++p) {
    const auto& one = answer->people[p];
    const auto& person = *book::find(book.people, book::PersonId{one.id});
    people.push_back({{"id", one.id},
                      {"name", person.name},
                      {"breathed_f_per_ml_h", band_json(one.breathed_f_per_ml_h)},
                      {"without_mask_f_per_ml_h", band_json(one.without_mask_f_per_ml_h)},
                      {"f_per_ml_yr_working", band_json(one.working_years)},
                      {"f_per_ml_yr_continuous", band_json(one.continuous_years)},
                      {"mean_10min_max", band_json(one.ten_minutes)},
                      {"mean_4h_max", band_json(one.four_hours)},
                      {"risk", risk_json(whole->risks[p])}});
    if (one.eight_hours) people.back()["mean_8h_max"] = band_json(*one.eight_hours);
  }
  Json matters = Json::array();
  for (const auto& one : answer->matters) {
    matters.push_back({{"id", one.unknown.id},
                       {"what", event::with_names(one.unknown.what, book)},
                       {"correlation", one.correlation},
                       {"source", one.unknown.source}});
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
              {"limits", std::move(limits)},
              {"limits_of", rules->name},
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

Json first_responses_json() {
  const auto& known = catalogue::shipped();
  const auto& all = catalogue::shipped_first_response();
  Json steps = Json::object();
  for (const auto& one : all) steps[one.id] = {{"text", one.text}, {"source", one.backing.source}};
  Json kinds = Json::array();
  for (const auto binding :
       {catalogue::Binding::kFriable, catalogue::Binding::kPartBound, catalogue::Binding::kFirmlyBound}) {
    Json families = Json::array();
    const catalogue::Family* example = nullptr;
    for (const auto& family : known.families) {
      if (!family.suspect || family.binding != binding) continue;
      families.push_back({{"id", family.id}, {"name", family.name}});
      if (example == nullptr) example = &family;
    }
    if (example == nullptr) continue;
    const auto ids = [&](catalogue::Amount amount) {
      Json list = Json::array();
      for (const auto& one : catalogue::first_response(all, example, amount)) list.push_back(one.id);
      return list;
    };
    kinds.push_back({{"binding", catalogue::word(binding)},
                     {"families", std::move(families)},
                     {"small", ids(catalogue::Amount::kSmall)},
                     {"large", ids(catalogue::Amount::kLarge)}});
  }
  return {{"steps", std::move(steps)}, {"kinds", std::move(kinds)}};
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
