// `aerodynamic`, `air` and `dose` as JSON.
#include <algorithm>
#include <vector>

#include "air/aerodynamic.h"
#include "air/solution.h"
#include "calc/topics.h"
#include "dose/breathed.h"
#include "reason/units.h"

namespace lathbook::calc {
namespace {

std::vector<air::Flow> flows_of(const Json& list) {
  std::vector<air::Flow> out;
  for (const auto& one : list) out.push_back({one["from"], one["to"], one["m3_per_h"]});
  return out;
}

std::vector<air::Rate> rates_of(const Json& phase, const char* field) {
  std::vector<air::Rate> out;
  if (!phase.contains(field)) return out;
  for (const auto& one : phase[field]) out.push_back({one["zone"], one["per_h"]});
  return out;
}

air::Scene scene_of(const Json& input) {
  air::Scene scene;
  for (const auto& one : input["zones"]) {
    scene.zones.push_back({one["id"], one["volume_m3"], one["floor_m2"], one.value("start_f_per_ml", 0.0),
                           one.value("start_load_f_per_cm2", 0.0)});
  }
  scene.flows = flows_of(input["flows"]);
  scene.outdoor_f_per_ml = input.value("outdoor_f_per_ml", 0.0);
  for (const auto& one : input["classes"]) scene.classes.push_back({one["id"], one["share"], one["settling_m_per_s"]});
  for (const auto& one : input["phases"]) {
    air::Phase phase;
    phase.minutes = one["minutes"];
    if (one.contains("sources")) {
      for (const auto& source : one["sources"]) phase.sources.push_back({source["zone"], source["f_per_min"]});
    }
    if (one.contains("flows")) phase.flows = flows_of(one["flows"]);
    if (one.contains("filtration")) {
      for (const auto& filter : one["filtration"])
        phase.filtration.push_back({filter["zone"], filter["m3_per_h"], filter["efficiency"]});
    }
    phase.resuspension = rates_of(one, "resuspension");
    phase.surface_removal = rates_of(one, "surface_removal");
    scene.phases.push_back(std::move(phase));
  }
  if (input.contains("report_every_min")) scene.report_every_min = input["report_every_min"].get<double>();
  scene.below_f_per_ml = input.value("below_f_per_ml", scene.below_f_per_ml);
  return scene;
}

constexpr double kFourHours = 4.0;
constexpr double kTenMinutes = 10.0 / 60;

}  // namespace

reason::Result<Json> aerodynamic(const Json& input) {
  air::Particle particle;
  particle.diameter_um = input["diameter_um"];
  particle.density_g_per_cm3 = input["density_g_per_cm3"];
  const bool has_length = input.contains("length_um");
  const std::string shape = input.value("shape", has_length ? "fibre" : "sphere");
  if (shape == "fibre" && !has_length)
    return reason::Fault{"/length_um", "", "is missing for a fibre", "a length in um"};
  if (shape == "fibre") particle.length_um = input["length_um"].get<double>();
  const air::AirState state{input.value("temperature_c", 20.0), input.value("pressure_kpa", 101.325)};
  const auto fall = air::fall_of(particle, state);
  if (!fall.ok()) return fall.faults();
  Json out = {{"slip", fall->slip},
              {"aerodynamic_diameter_um", fall->aerodynamic_diameter_um},
              {"settling_m_per_s", fall->settling_m_per_s},
              {"viscosity_pa_s", air::viscosity_pa_s(state)},
              {"mean_free_path_um", air::mean_free_path_um(state)},
              {"reasons", reasons_json(fall->reasons)}};
  if (fall->across_um) out["across_um"] = *fall->across_um;
  if (fall->along_um) out["along_um"] = *fall->along_um;
  if (fall->timbrell_um) out["timbrell_um"] = *fall->timbrell_um;
  return out;
}

reason::Result<Json> air_levels(const Json& input) {
  const auto scene = scene_of(input);
  const auto solved = air::Solution::of(scene);
  if (!solved.ok()) return solved.faults();
  const auto times = solved->report_times_min();
  const auto levels = solved->report_levels(times);
  Json zones = Json::array();
  for (std::size_t i = 0; i < scene.zones.size(); ++i) {
    const std::vector<air::Leg> all{{i, 0, solved->total_h()}};
    Json level = Json::array();
    for (Eigen::Index t = 0; t < levels.cols(); ++t) level.push_back(levels(static_cast<Eigen::Index>(i), t));
    const auto below = solved->hours_until_below(i, scene.below_f_per_ml);
    zones.push_back({{"id", scene.zones[i].id},
                     {"f_per_ml", std::move(level)},
                     {"integral_f_per_ml_h", solved->phase_integrals_f_per_ml_h(i)},
                     {"mean_4h_max", solved->largest_mean(all, kFourHours)},
                     {"mean_10min_max", solved->largest_mean(all, kTenMinutes)},
                     {"minutes_until_below", below ? Json(units::minutes(*below)) : Json(nullptr)},
                     {"load_f_per_cm2", solved->end_load_f_per_cm2(i)}});
  }
  const auto& balance = solved->balance();
  return Json{{"times_min", times},
              {"zones", std::move(zones)},
              {"balance",
               {{"emitted", balance.emitted},
                {"exhausted", balance.exhausted},
                {"deposited", balance.deposited},
                {"airborne", balance.airborne},
                {"removed", balance.removed},
                {"relative_error", balance.relative_error},
                {"at_start", balance.at_start},
                {"from_outdoors", balance.from_outdoors}}},
              {"reasons", reasons_json(solved->reasons())}};
}

reason::Result<Json> breathed_dose(const Json& input) {
  const auto scene = scene_of(input["air"]);
  auto faults = reason::within("/air", air::check(scene));
  double total_min = 0;
  for (const auto& phase : scene.phases) total_min += phase.minutes;
  struct Person {
    std::string id;
    std::vector<dose::Stay> stays;
    std::vector<dose::Mask> masks;
  };
  std::vector<Person> people;
  for (const auto& one : input["people"]) {
    const std::string where = "/people/" + std::to_string(people.size());
    Person person{one["id"], {}, {}};
    for (std::size_t i = 0; i < one["stays"].size(); ++i) {
      const auto& stay = one["stays"][i];
      const std::string zone = stay["zone"];
      const auto found =
          std::find_if(scene.zones.begin(), scene.zones.end(), [&](const auto& z) { return z.id == zone; });
      if (found == scene.zones.end() && zone != air::kOutdoors) {
        faults.push_back({where + "/stays/" + std::to_string(i) + "/zone", zone, "is no zone of the air",
                          "a zone's id or outdoors"});
      }
      // Outdoors is the zone after the last.
      person.stays.push_back({static_cast<std::size_t>(found - scene.zones.begin()), stay["from_min"], stay["to_min"]});
    }
    if (one.contains("masks")) {
      for (const auto& mask : one["masks"])
        person.masks.push_back({mask["from_min"], mask["to_min"], mask["protection"], mask["worn"]});
    }
    for (auto& fault : dose::check(person.stays, person.masks, total_min, where)) faults.push_back(std::move(fault));
    people.push_back(std::move(person));
  }
  if (!faults.empty()) return faults;
  const auto solved = air::Solution::of(scene);
  if (!solved.ok()) return reason::within("/air", solved.faults());

  Json out = Json::array();
  for (auto& person : people) {
    double breathed = 0;
    double bare = 0;
    std::vector<air::Leg> legs;
    for (const auto& stretch : dose::stretches(person.stays, person.masks)) {
      const double from_h = units::hours(stretch.from_min);
      const double to_h = units::hours(stretch.to_min);
      const bool outdoors = stretch.zone == scene.zones.size();
      double level_hours = scene.outdoor_f_per_ml * (to_h - from_h);
      if (!outdoors) {
        legs.push_back({stretch.zone, from_h, to_h});
        level_hours = solved->breathed_f_per_ml_h(std::span(&legs.back(), 1));
      }
      bare += level_hours;
      breathed += level_hours / stretch.factor;
    }
    out.push_back({{"id", person.id},
                   {"breathed_f_per_ml_h", breathed},
                   {"f_per_ml_yr_working", dose::working_years(breathed)},
                   {"f_per_ml_yr_continuous", dose::continuous_years(breathed)},
                   {"mean_4h_max", solved->largest_mean(legs, kFourHours)},
                   {"mean_10min_max", solved->largest_mean(legs, kTenMinutes)},
                   {"without_mask_f_per_ml_h", bare}});
  }
  auto reasons = solved->reasons();
  reasons.push_back({"A mask of protection PF worn for a share w of the time lets 1 - w + w/PF through", "arithmetic"});
  reasons.push_back({"A working year is 1,920 h, a continuous year 8,760 h", "anses-2009"});
  reasons.push_back(
      {"The 4 h and 10 min means are of the air round the person, as limits for people at work are, whatever the mask",
       "car-2012-reg-2"});
  return Json{{"people", std::move(out)}, {"reasons", reasons_json(reasons)}};
}

}  // namespace lathbook::calc
