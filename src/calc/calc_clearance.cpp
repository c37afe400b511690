// `air-count` and `clearance` as JSON.
#include <fmt/format.h>

#include <algorithm>

#include "calc/topics.h"
#include "clearance/certificate.h"
#include "clearance/count.h"
#include "law/pack.h"

namespace lathbook::calc {
namespace {

std::optional<double> optional_number(const Json& from, const char* field) {
  if (!from.contains(field)) return std::nullopt;
  return from[field].get<double>();
}

std::optional<reason::Date> optional_date(const Json& from, const char* field) {
  if (!from.contains(field)) return std::nullopt;
  return reason::Date::parse(from[field].get_ref<const std::string&>());
}

clearance::Count count_of(const Json& from) {
  clearance::Count count;
  count.fibres = from["fibres"];
  count.fields = from["fields"];
  count.litres = from["litres"];
  count.graticule_um = from.value("graticule_um", count.graticule_um);
  count.filter_mm = from.value("filter_mm", count.filter_mm);
  count.blank_fibres = optional_number(from, "blank_fibres");
  count.blank_fields = optional_number(from, "blank_fields");
  return count;
}

}  // namespace

reason::Result<Json> air_count(const Json& input) {
  const auto counted = clearance::air_count(count_of(input));
  if (!counted.ok()) return counted.faults();
  return Json{{"f_per_ml", counted->f_per_ml},
              {"reported", counted->reported},
              {"quantification_limit_f_per_ml", counted->quantification_limit_f_per_ml},
              {"low", counted->between_laboratories.low},
              {"high", counted->between_laboratories.high},
              {"poisson_low", counted->chance.low},
              {"poisson_high", counted->chance.high},
              {"fibres_per_mm2", counted->fibres_per_mm2},
              {"reasons", reasons_json(counted->reasons)}};
}

reason::Result<Json> clearance_check(const Json& input) {
  clearance::Stated stated;
  stated.area_m2 = input["area_m2"];
  stated.height_m = input["height_m"];
  for (const auto& from : input["samples"]) {
    stated.samples.push_back({.count = count_of(from),
                              .flow_l_per_min = optional_number(from, "flow_l_per_min"),
                              .minutes = optional_number(from, "minutes"),
                              .f_per_ml = optional_number(from, "f_per_ml")});
  }
  if (input.contains("stages")) stated.stages = input["stages"].get<std::vector<std::string>>();
  stated.work_finished_on = optional_date(input, "work_finished_on");
  stated.issued_on = optional_date(input, "issued_on");
  stated.accreditation_expires_on = optional_date(input, "accreditation_expires_on");

  if (input.contains("independent")) stated.independent = input["independent"].get<bool>();

  const auto rules = input.value("rules", "gb");
  const auto* pack = law::find_pack(rules);
  if (pack == nullptr || pack->clearance.empty()) {
    return reason::Fault{"/rules", rules, "are no rules that say how a room is cleared",
                         fmt::format("{}", fmt::join(law::pack_ids(), ", "))};
  }
  const auto wanted = input.value("after", pack->clearance.front().id);
  const auto after = std::find_if(pack->clearance.begin(), pack->clearance.end(),
                                  [&](const law::Clearance& one) { return one.id == wanted; });
  if (after == pack->clearance.end()) {
    std::vector<std::string_view> ids;
    for (const auto& one : pack->clearance) ids.push_back(one.id);
    return reason::Fault{"/after", wanted, "is no kind of clearance of these rules",
                         fmt::format("{}", fmt::join(ids, ", "))};
  }
  const auto checked = clearance::check(stated, after->rules);
  if (!checked.ok()) return checked.faults();
  Json faults = Json::array();
  for (const auto& one : checked->findings) {
    faults.push_back({{"where", one.where}, {"what", one.what}, {"means", one.means}, {"ask", one.ask}});
  }
  Json samples = Json::array();
  for (const auto& one : checked->counts) samples.push_back({{"f_per_ml", one.f_per_ml}, {"reported", one.reported}});
  return Json{{"pass", checked->pass},
              {"samples_needed", checked->samples_needed},
              {"faults", std::move(faults)},
              {"samples", std::move(samples)},
              {"reasons", reasons_json(checked->reasons)}};
}

}  // namespace lathbook::calc
