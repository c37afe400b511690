// `touches` and `route` as JSON.
#include <fmt/format.h>

#include <cmath>
#include <set>
#include <unordered_set>

#include "book/json.h"
#include "calc/topics.h"
#include "fabric/plan.h"
#include "fabric/touch.h"
#include "fabric/validate.h"

namespace lathbook::calc {
namespace {

/// What both topics take: the book's own shapes, read and found sound.
struct Drawn {
  fabric::Plan plan;
  std::vector<book::Material> materials;
  std::vector<book::Cut> cuts;
};

/// To a nanometre, so that 0.08 reads as 0.08.
double rounded(double value_m) { return std::round(value_m * 1e9) / 1e9; }

void used_twice(const Json& items, std::string_view list, reason::Faults& faults) {
  std::unordered_set<std::string> seen;
  for (std::size_t i = 0; i < items.size(); ++i) {
    const auto& id = items[i]["id"].get_ref<const std::string&>();
    if (!seen.insert(id).second)
      faults.push_back({fmt::format("/{}/{}/id", list, i), id, "is used twice", "each id once"});
  }
}

reason::Result<Drawn> drawn(const Json& input) {
  reason::Faults faults;
  std::vector<book::Storey> storeys;
  for (const auto& one : input["storeys"]) storeys.push_back(book::storey_from_json(one));
  std::vector<book::Room> rooms;
  for (const auto& one : input["rooms"]) rooms.push_back(book::room_from_json(one));
  std::vector<book::Opening> openings;
  if (input.contains("openings")) {
    for (const auto& one : input["openings"]) openings.push_back(book::opening_from_json(one));
  }
  used_twice(input["storeys"], "storeys", faults);
  used_twice(input["materials"], "materials", faults);
  auto plan = fabric::Plan::build(storeys, rooms, openings, fabric::Naming::kPointer);
  if (!plan.ok()) {
    faults.insert(faults.end(), plan.faults().begin(), plan.faults().end());
    return faults;
  }
  Drawn out{std::move(*plan), {}, {}};
  const auto check = [&](const book::Place& place, const std::string& where) {
    for (auto& fault : fabric::check_place(out.plan, place, where, fabric::Naming::kPointer))
      faults.push_back(std::move(fault));
  };
  for (const auto& one : input["materials"]) {
    out.materials.push_back(book::material_from_json(one));
    check(out.materials.back().place, fmt::format("/materials/{}", out.materials.size() - 1));
  }
  if (input.contains("cuts")) {
    for (const auto& one : input["cuts"]) {
      out.cuts.push_back(book::cut_from_json(one));
      check(out.cuts.back().place, fmt::format("/cuts/{}", out.cuts.size() - 1));
    }
  }
  if (!faults.empty()) return faults;
  return out;
}

}  // namespace

reason::Result<Json> touches(const Json& input) {
  const auto house = drawn(input);
  if (!house.ok()) return house.faults();
  const double uncertainty_m = input.value("uncertainty_m", fabric::kUncertaintyM);
  const auto met = fabric::touches(house->plan, house->materials, house->cuts, uncertainty_m);
  Json list = Json::array();
  for (const auto& touch : met) {
    list.push_back({{"cut", touch.cut},
                    {"material", touch.material.text},
                    {"certainty", fabric::word(touch.certainty)},
                    {"side", fabric::word(touch.side)},
                    {"distance_m", rounded(touch.distance_m)}});
  }
  reason::Reasons reasons{{fmt::format("Anything may lie up to {:g} m from where it is drawn: closer than that is "
                                       "possible, overlapping as drawn is definite.",
                                       uncertainty_m),
                           "judgement"}};
  std::set<std::string> told;
  for (const auto& touch : met) {
    if (touch.side == fabric::Side::kNear) continue;
    const auto& cut = house->cuts[touch.cut].place;
    const auto& place = house->materials[touch.material_index].place;
    auto text = fmt::format("{} of {} lies behind {} of {}.", place.face.text(), place.room.text, cut.face.text(),
                            cut.room.text);
    if (told.insert(text).second) reasons.push_back({std::move(text), "arithmetic"});
  }
  return Json{{"touches", std::move(list)}, {"reasons", reasons_json(reasons)}};
}

}  // namespace lathbook::calc
