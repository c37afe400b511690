#include "service/answers.h"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>
#include <nlohmann/json.hpp>

#include "book/words.h"
#include "law/classify.h"
#include "law/evidence_for.h"

namespace lathbook::service {
namespace {

using reason::Fault;
using reason::Result;

Json reasons_json(const reason::Reasons& reasons) {
  Json list = Json::array();
  for (const auto& one : reasons) list.push_back({{"text", one.text}, {"source", one.source}});
  return list;
}

Json fibres_json(const catalogue::FibreShares& shares) {
  Json out = Json::object();
  for (const auto& [fibre, text] : book::words<book::Fibre>()) {
    out[std::string(text)] = shares[static_cast<std::size_t>(fibre)];
  }
  return out;
}

Json spot_json(const fabric::Spot& spot) {
  const auto to_mm = [](double m) { return std::round(m * 1000) / 1000; };
  return {{"room", spot.room.text}, {"face", spot.face.text()}, {"point", {to_mm(spot.at.x_m), to_mm(spot.at.y_m)}}};
}

Json route_json(const check::OtherRoute& other) {
  const auto to_mm = [](double m) { return std::round(m * 1000) / 1000; };
  Json holes = Json::array();
  for (const auto& hole : other.route.holes) {
    holes.push_back({{"from", spot_json(hole.from)},
                     {"to", spot_json(hole.to)},
                     {"through", std::string(fabric::word(hole.fabric))},
                     {"thickness_m", to_mm(hole.thickness_m)}});
  }
  Json path = Json::array();
  for (const auto& spot : other.route.path) path.push_back(spot_json(spot));
  Json look_at = Json::array();
  for (const auto& one : other.look_at) look_at.push_back({{"room", one.room.text}, {"face", one.face.text()}});
  return {{"length_m", to_mm(other.route.length_m)},
          {"extra_m", to_mm(other.extra_m)},
          {"extra_holes", other.extra_holes},
          {"diameter_mm", to_mm(other.diameter_m) * 1000},
          {"bends", other.route.bends},
          {"holes", std::move(holes)},
          {"path", std::move(path)},
          {"look_at", std::move(look_at)}};
}

/// A job not yet done that cannot start because of the material.
bool is_in_the_way(const check::House& house, std::size_t material) {
  check::Checker checker(house);
  for (std::size_t i = 0; i < house.book().jobs.size(); ++i) {
    const auto& job = house.book().jobs[i];
    const auto touches = fabric::touches(house.plan(), house.materials(), job.cuts);
    const bool met = std::any_of(touches.begin(), touches.end(),
                                 [&](const fabric::Touch& touch) { return touch.material_index == material; });
    if (job.done_on || !met) continue;
    const auto answer = checker.job(i);
    for (const auto& touched : answer.touched) {
      if (touched.material == material && touched.work && touched.work->may == law::May::kNo) return true;
    }
  }
  return false;
}

/// Knocks are likely where children live and the piece is within their reach, or where the person scored it so.
bool often_knocked(const check::House& house, const book::Material& material) {
  if (material.priority && material.priority->disturbance.size() > 1 && material.priority->disturbance[1] >= 3)
    return true;
  const bool within_reach =
      material.place.face.kind == book::FaceKind::kWall || material.place.face.kind == book::FaceKind::kFloor;
  const bool children = std::any_of(house.book().people.begin(), house.book().people.end(),
                                    [](const book::Person& person) { return person.role == "child"; });
  const auto* room = book::find(house.book().rooms, material.place.room);
  return within_reach && children && !material.overhead_or_hard_to_reach && room != nullptr &&
         room->kind == book::RoomKind::kRoom;
}

}  // namespace

Fault unknown_rules(const book::Book& book) {
  return {"about rules", book.about.rules, "is not a rule pack of this program",
          fmt::format("{}", fmt::join(law::pack_ids(), ", "))};
}

Result<check::Knowledge> knowledge_for(const book::Book& book) {
  const auto* rules = law::find_pack(book.about.rules);
  if (rules == nullptr) return unknown_rules(book);
  return check::Knowledge{catalogue::shipped(), law::evidence_for(*rules), *rules};
}

std::optional<MaterialSheet> material_sheet(const check::House& house, std::size_t index, reason::Date today) {
  const auto& material = house.book().materials[index];
  const auto& known = house.known(index);
  if (known.released() || !known.suspect) return std::nullopt;  // what holds no asbestos is not scored
  const auto damage = house.damage_of(material);
  auto score = assess::material_score({*known.family, damage, material.surface, known.belief.found_fibres});
  if (!score.ok()) return std::nullopt;
  std::optional<assess::PriorityScore> priority;
  if (material.priority) {
    if (auto scored = assess::priority_score(*material.priority); scored.ok()) priority = std::move(*scored);
  }
  const auto* room = book::find(house.book().rooms, material.place.room);
  const bool knocked = often_knocked(house, material);
  auto advice = assess::recommend(
      {*known.family, score->band, damage, material.surface, false, is_in_the_way(house, index), knocked,
       room != nullptr && (room->kind == book::RoomKind::kGarage || room->kind == book::RoomKind::kOutbuilding)});
  assess::LookQuestion look{material.last_inspected, std::nullopt, score->band, knocked};
  for (const auto& inspection : house.book().inspections) {
    if (inspection.material == material.id && (!look.last_look || *look.last_look < inspection.on))
      look.last_look = inspection.on;
  }
  for (const auto& event : house.book().events) {
    const bool disturbed = !event.imagined && std::find(event.materials.begin(), event.materials.end(), material.id) !=
                                                  event.materials.end();
    const auto on = reason::Date::parse(std::string_view(event.started_at).substr(0, 10));
    if (disturbed && on && (!look.last_event || *look.last_event < *on)) look.last_event = on;
  }
  return MaterialSheet{std::move(*score), std::move(priority), std::move(advice), assess::next_look(look, today)};
}

Json check_json(const check::House& house, const check::Answer& answer) {
  const auto& book = house.book();
  const auto& job = *book::find(book.jobs, answer.job);
  Json out = {{"job", answer.job.text},
              {"title", job.title},
              {"by", std::string(book::word(job.by))},
              {"verdict", check::verdict_words(answer.verdict, job.by)},
              {"exit_status", check::exit_status(answer.verdict)},
              {"sentence", answer.sentence},
              {"class", answer.work ? Json(std::string(law::word(answer.work->outcome))) : Json(nullptr)},
              {"called", answer.work ? Json(law::as_work(*answer.work)) : Json(nullptr)},
              {"precautions", answer.precautions},
              {"cautions", answer.cautions},
              {"reasons", reasons_json(answer.reasons)}};
  Json duties = Json::array();
  if (answer.work) {
    for (const auto& duty : answer.work->duties)
      duties.push_back({{"text", duty.text}, {"source", duty.backing.source}});
  }
  out["duties"] = std::move(duties);
  Json touches = Json::array();
  for (const auto& touched : answer.touched) {
    const auto& material = book.materials[touched.material];
    const auto& known = house.known(touched.material);
    Json one = {{"material", material.id.text},
                {"name", material.name},
                {"family", material.family},
                {"room", material.place.room.text},
                {"side", std::string(fabric::word(touched.side))},
                {"certainty", std::string(fabric::word(touched.certainty))},
                {"distance_m", touched.distance_m},
                {"released", touched.released},
                {"tasks", touched.tasks}};
    if (known.family->suspect) {
      one["standing"] = std::string(book::word(known.belief.standing));
      one["probability"] = known.belief.probability;
      one["low"] = known.belief.low;
      one["high"] = known.belief.high;
    }
    if (touched.work) {
      one["class"] = std::string(law::word(touched.work->outcome));
      one["called"] = law::as_work(*touched.work);
      one["may"] = std::string(law::word(touched.work->may));
    }
    touches.push_back(std::move(one));
  }
  out["touches"] = std::move(touches);
  Json unwritten = Json::array();
  for (const auto& one : answer.unwritten) unwritten.push_back({{"room", one.room.text}, {"face", one.face.text()}});
  out["unwritten"] = std::move(unwritten);
  Json not_cleared = Json::array();
  for (const auto& one : answer.not_cleared) {
    not_cleared.push_back({{"room", one.room.text},
                           {"material", house.book().materials[one.material].id.text},
                           {"why", one.why},
                           {"ask", one.ask}});
    if (!one.action.empty()) not_cleared.back()["action"] = one.action.text;
    if (!one.event.empty()) not_cleared.back()["event"] = one.event.text;
    if (!one.certificate.text.empty()) not_cleared.back()["certificate"] = one.certificate.text;
  }
  out["not_cleared"] = std::move(not_cleared);
  static constexpr const char* kWays[] = {"write down", "test", "go round", "await removal", "remove", "bring in"};
  Json ways = Json::array();
  for (const auto& way : answer.ways) {
    Json one = {{"kind", kWays[static_cast<int>(way.kind)]}, {"text", way.text}};
    if (way.cost) one["cost"] = *way.cost;
    if (way.days_from) one["days"] = {*way.days_from, way.days_to.value_or(*way.days_from)};
    if (way.chance_clear) one["chance_clear"] = *way.chance_clear;
    Json materials = Json::array();
    for (const auto& id : way.materials) materials.push_back(id.text);
    one["materials"] = std::move(materials);
    if (way.other_route) one["route"] = route_json(*way.other_route);
    if (!way.command.empty()) one["command"] = way.command;
    if (way.at) one["at"] = {{"room", way.at->room.text}, {"face", way.at->face.text()}};
    ways.push_back(std::move(one));
  }
  out["ways_on"] = std::move(ways);
  return out;
}

Json material_json(const check::House& house, std::size_t index, reason::Date today) {
  const auto& material = house.book().materials[index];
  const auto& known = house.known(index);
  Json out = {{"id", material.id.text},
              {"name", material.name},
              {"family", material.family},
              {"room", material.place.room.text},
              {"face", material.place.face.text()},
              {"suspect", known.suspect},
              {"released", known.released()}};
  if (!known.family->suspect) return out;
  const auto& belief = known.belief;
  out["standing"] = std::string(book::word(belief.standing));
  out["probability"] = belief.probability;
  out["low"] = belief.low;
  out["high"] = belief.high;
  out["fibres"] = fibres_json(belief.fibres);
  out["clear_samples"] = belief.clear_samples;
  out["samples_needed"] = belief.samples_needed;
  out["may_take_sample"] = house.may_take_sample(index);
  auto reasons = belief.reasons;
  if (const auto sheet = material_sheet(house, index, today)) {
    const auto& factors = sheet->score.factors;
    out["material_score"] = {{"product", factors.product},  {"damage", factors.damage},
                             {"surface", factors.surface},  {"fibre", factors.fibre},
                             {"total", sheet->score.total}, {"band", std::string(assess::word(sheet->score.band))}};
    if (sheet->priority) out["priority_score"] = sheet->priority->total.value();
    out["advice"] = std::string(book::word(sheet->advice.kind));
    out["next_look"] = sheet->next_look.on.text();
    reason::append(reasons, sheet->score.reasons);
    reason::append(reasons, sheet->advice.reasons);
    reason::append(reasons, sheet->next_look.reasons);
  }
  out["reasons"] = reasons_json(reasons);
  return out;
}

Json overview_json(const check::House& house) {
  const auto& book = house.book();
  Json standings = Json::object();
  for (std::size_t i = 0; i < book.materials.size(); ++i) {
    const auto& known = house.known(i);
    if (!known.suspect) continue;
    auto& count = standings[std::string(book::word(known.belief.standing))];
    count = count.is_null() ? 1 : count.get<int>() + 1;
  }
  return {{"title", book.about.title},      {"currency", book.about.currency},  {"rules", book.about.rules},
          {"storeys", book.storeys.size()}, {"rooms", book.rooms.size()},       {"materials", book.materials.size()},
          {"jobs", book.jobs.size()},       {"standings", std::move(standings)}};
}

std::string percent(double probability) {
  if (probability <= 0) return "0\u00A0%";
  if (probability >= 1) return "100\u00A0%";
  if (probability < 0.01) return "under 1\u00A0%";
  if (probability > 0.99) return "over 99\u00A0%";
  return fmt::format("{:.0f}\u00A0%", probability * 100);
}

std::string percent_with_range(const evidence::Belief& belief) {
  const auto likely = percent(belief.probability);
  const auto low = percent(belief.low);
  const auto high = percent(belief.high);
  return low == likely && high == likely ? likely : fmt::format("{} ({} to {})", likely, low, high);
}

}  // namespace lathbook::service
