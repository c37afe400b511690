// `touches` and `route` as JSON.
#include <fmt/format.h>

#include <cmath>
#include <set>
#include <unordered_map>
#include <unordered_set>

#include "book/json.h"
#include "calc/topics.h"
#include "fabric/plan.h"
#include "fabric/route.h"
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

fabric::Spot spot_of(const Json& from) {
  const auto& point = from["point"];
  return {{from["room"].get<std::string>()},
          *book::Face::parse(from["face"].get_ref<const std::string&>()),
          {point[0].get<double>(), point[1].get<double>()}};
}

Json spot_json(const fabric::Spot& spot) {
  return {
      {"room", spot.room.text}, {"face", spot.face.text()}, {"point", {rounded(spot.at.x_m), rounded(spot.at.y_m)}}};
}

Json route_json(const fabric::Route& route, const fabric::Service& service) {
  Json holes = Json::array();
  for (const auto& hole : route.holes) {
    holes.push_back({{"from", spot_json(hole.from)},
                     {"to", spot_json(hole.to)},
                     {"through", fabric::word(hole.fabric)},
                     {"thickness_m", rounded(hole.thickness_m)},
                     {"diameter_mm", rounded(service.diameter_m * 1000)},
                     {"cost", rounded(hole.cost)}});
  }
  Json path = Json::array();
  for (const auto& spot : route.path) path.push_back(spot_json(spot));
  return {{"length_m", rounded(route.length_m)},
          {"bends", route.bends},
          {"holes", std::move(holes)},
          {"cost", rounded(route.cost)},
          {"path", std::move(path)}};
}

fabric::Service service_of(const Json& input) {
  const auto kind = input.value("service", std::string("cable"));
  fabric::Service service;
  service.kind = kind == "pipe"   ? fabric::ServiceKind::kPipe
                 : kind == "duct" ? fabric::ServiceKind::kDuct
                                  : fabric::ServiceKind::kCable;
  const bool duct = service.kind == fabric::ServiceKind::kDuct;
  const double usual_mm = duct ? 100 : service.kind == fabric::ServiceKind::kPipe ? 15 : 10;
  service.diameter_m = input.value("diameter_mm", usual_mm) / 1000;
  service.bend_radius_m = input.contains("bend_radius_mm") ? input["bend_radius_mm"].get<double>() / 1000
                          : duct                           ? service.diameter_m
                                                           : 0;
  return service;
}

fabric::Weights weights_of(const Json& input) {
  fabric::Weights weights;
  if (!input.contains("weights")) return weights;
  const auto& given = input["weights"];
  for (const auto& [name, field] :
       {std::pair("per_m", &fabric::Weights::per_m), std::pair("per_bend", &fabric::Weights::per_bend),
        std::pair("hole_partition", &fabric::Weights::hole_partition),
        std::pair("hole_wall", &fabric::Weights::hole_wall), std::pair("hole_floor", &fabric::Weights::hole_floor),
        std::pair("hole_per_mm", &fabric::Weights::hole_per_mm),
        std::pair("open_ground_per_m", &fabric::Weights::open_ground_per_m)}) {
    weights.*field = given.value(name, weights.*field);
  }
  return weights;
}

/// Which materials may not be met: all but those whose standing releases them.
reason::Result<std::vector<bool>> blocking(const Json& input, const std::vector<book::Material>& materials) {
  std::vector<bool> blocks(materials.size(), true);
  if (!input.contains("standings")) return blocks;
  std::unordered_map<std::string, std::size_t> index;
  for (std::size_t i = 0; i < materials.size(); ++i) index.emplace(materials[i].id.text, i);
  reason::Faults faults;
  std::unordered_set<std::string> seen;
  const auto& standings = input["standings"];
  for (std::size_t i = 0; i < standings.size(); ++i) {
    const auto id = standings[i]["material"].get<std::string>();
    const auto found = index.find(id);
    const auto where = fmt::format("/standings/{}/material", i);
    if (found == index.end()) {
      faults.push_back({where, id, "is not a material given", "the id of one in `materials`"});
    } else if (!seen.insert(id).second) {
      faults.push_back({where, id, "is named twice", "each material once"});
    } else {
      const auto& word = standings[i]["standing"].get_ref<const std::string&>();
      blocks[found->second] = word != "no asbestos detected" && word != "proven later than the ban";
    }
  }
  if (!faults.empty()) return faults;
  return blocks;
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

reason::Result<Json> route(const Json& input) {
  const auto house = drawn(input);
  if (!house.ok()) return house.faults();
  const auto blocks = blocking(input, house->materials);
  if (!blocks.ok()) return blocks.faults();
  fabric::RouteRequest request;
  request.from = spot_of(input["from"]);
  request.to = spot_of(input["to"]);
  request.service = service_of(input);
  request.weights = weights_of(input);
  request.count = input.value("count", request.count);
  request.uncertainty_m = input.value("uncertainty_m", request.uncertainty_m);
  const fabric::MaterialIndex index(house->plan, house->materials);
  const auto found = fabric::find_routes(house->plan, index, *blocks, request, fabric::Naming::kPointer);
  if (!found.ok()) return found.faults();
  Json routes = Json::array();
  for (const auto& one : found->routes) routes.push_back(route_json(one, request.service));
  Json answer{{"routes", std::move(routes)}, {"reasons", reasons_json(found->reasons)}};
  if (!found->routes.empty()) return answer;
  Json blocked_by = Json::array();
  for (const auto& one : found->blocked_by) {
    blocked_by.push_back(
        {{"material", house->materials[one.material].id.text}, {"opens", route_json(one.opens, request.service)}});
  }
  answer["blocked_by"] = std::move(blocked_by);
  answer["open_if_all_released"] = found->open_if_all_released;
  return answer;
}

}  // namespace lathbook::calc
