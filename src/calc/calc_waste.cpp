// `load-plan` and `wrap` as JSON.
#include "calc/loads.h"
#include "calc/topics.h"
#include "waste/load.h"
#include "waste/wrap.h"

namespace lathbook::calc {
namespace {

waste::LoadPiece piece_of(const Json& from) {
  return {.id = from["id"],
          .length_m = from["length_m"],
          .width_m = from["width_m"],
          .thickness_m = from["thickness_m"],
          .mass_kg = from["mass_kg"],
          .count = from.value("count", 1)};
}

template <class T>
std::optional<T> optional_of(const Json& from, const char* field) {
  if (!from.contains(field)) return std::nullopt;
  return from[field].get<T>();
}

}  // namespace

reason::Result<Json> load_plan(const Json& input) {
  std::vector<waste::LoadPiece> pieces;
  const double gap = input.value("gap_m", 0.0);
  for (const auto& from : input["pieces"]) {
    auto piece = piece_of(from);
    piece.length_m += 2 * gap;
    piece.width_m += 2 * gap;
    piece.thickness_m += 2 * gap;
    pieces.push_back(std::move(piece));
  }
  const Json& from = input["vehicle"];
  waste::LoadVehicle vehicle;
  vehicle.inside = {from["length_m"], from["width_m"], from["height_m"]};
  vehicle.payload_kg = from["payload_kg"];
  vehicle.door_width_m = optional_of<double>(from, "door_width_m");
  vehicle.door_height_m = optional_of<double>(from, "door_height_m");
  const Json limits = input.value("site", Json::object());
  waste::SiteLimits site;
  site.pieces = optional_of<int>(limits, "pieces");
  site.mass_kg = optional_of<double>(limits, "mass_kg");
  site.length_m = optional_of<double>(limits, "length_m");
  site.width_m = optional_of<double>(limits, "width_m");
  site.height_m = optional_of<double>(limits, "height_m");
  site.visits_per_month = optional_of<int>(limits, "visits_per_month");

  const auto planned = waste::load_plan(pieces, vehicle, site);
  if (!planned.ok()) return planned.faults();
  Json answer = loads_json(*planned);
  answer["reasons"] = reasons_json(planned->reasons);
  if (planned->months) answer["months"] = *planned->months;
  return answer;
}

reason::Result<Json> wrap(const Json& input) {
  std::vector<waste::WrapPiece> pieces;
  for (const auto& from : input["pieces"]) pieces.push_back({piece_of(from), from.value("whole", true)});
  waste::WrapSettings settings;
  settings.layers = input.value("layers", settings.layers);
  settings.overlap_m = input.value("overlap_m", settings.overlap_m);
  settings.bag_volume_m3 = input.value("bag_volume_m3", settings.bag_volume_m3);
  settings.carry_kg = input.value("carry_kg", settings.carry_kg);
  const auto wrapped = waste::wrap(pieces, settings);
  if (!wrapped.ok()) return wrapped.faults();
  Json shopping = Json::array();
  for (const auto& line : wrapped->shopping) {
    shopping.push_back({{"what", line.what}, {"number", line.number}, {"note", line.note}});
  }
  return Json{{"polythene_m2", wrapped->polythene_m2},
              {"tape_m", wrapped->tape_m},
              {"bags", wrapped->bags},
              {"wrapped_thickness_added_m", wrapped->wrapped_thickness_added_m},
              {"shopping", std::move(shopping)},
              {"heavy", wrapped->heavy},
              {"reasons", reasons_json(wrapped->reasons)}};
}

}  // namespace lathbook::calc
