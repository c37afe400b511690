#include "catalogue/air_data.h"

#include <algorithm>
#include <stdexcept>

#include "assets/assets.h"
#include "catalogue/reader.h"

namespace lathbook::catalogue {
namespace {

Lognormal lognormal(const Reader& in) {
  Lognormal out{in.number("geometric_mean"), in.number("geometric_sd"), in.backing()};
  if (!(out.geometric_mean > 0)) in.add("geometric_mean", "is not above 0", "more than 0");
  if (!(out.geometric_sd >= 1)) in.add("geometric_sd", "is below 1", "1 or more");
  return out;
}

Uniform uniform(const Reader& in) {
  Uniform out{in.number("low"), in.number("high"), in.backing()};
  if (!(out.low <= out.high)) in.add("low", "is above high", "low no more than high");
  return out;
}

std::vector<AirData::Named> rows(const Reader& in, const char* list, const char* id, const char* value) {
  return in.each(list, [&](const Reader& row) { return AirData::Named{row.text(id), lognormal(row.inner(value))}; });
}

}  // namespace

reason::Result<AirData> parse_air_data(std::string_view text) {
  const auto document = schema::Document::read(text, "air.json");
  if (!document.ok()) return document.faults();
  reason::Faults faults;
  const Reader in(*document, "", faults);
  AirData out;
  out.limits = in.each("limits", [](const Reader& row) {
    return AirData::Limit{row.text("id"), row.number("f_per_ml"), row.number("minutes"), row.backing()};
  });
  out.emission = in.each("emission", [](const Reader& row) {
    return AirData::EmissionGroup{row.text("group"), row.texts("families"), row.each("tasks", [](const Reader& task) {
                                    const std::string per = task.text("per");
                                    if (per != "hole" && per != "minute")
                                      task.add("per", "is no unit", "hole or minute");
                                    return AirData::Emission{task.text("task"), per == "hole", lognormal(task)};
                                  })};
  });
  out.controls = rows(in, "controls", "control", "factor");
  out.air_change_per_h = rows(in, "air_change_per_h", "place", "rate");
  out.window_open_factor = lognormal(in.inner("window_open_factor"));
  out.exchange_m3_per_h = rows(in, "exchange_m3_per_h", "state", "flow");
  const auto near = in.inner("near_field");
  out.near_field_m3 = near.number("volume_m3");
  out.near_field_floor_m2 = near.number("floor_m2");
  out.near_field_m3_per_min = lognormal(near.inner("exchange_m3_per_min"));
  out.fibres = in.each("fibres", [](const Reader& row) {
    return AirData::FibreSize{row.book_words<book::Fibre>("types"), row.number("density_g_per_cm3"),
                              lognormal(row.inner("diameter_um")), lognormal(row.inner("length_um")),
                              row.number("median_known_to")};
  });
  out.settling_factor = lognormal(in.inner("settling_factor"));
  out.resuspension_per_h = rows(in, "resuspension_per_h", "activity", "rate");
  out.clean_up = in.each("clean_up", [](const Reader& row) {
    return AirData::CleanUp{row.text("task"), uniform(row.inner("removed")), row.number("minutes")};
  });
  out.masks = rows(in, "other_masks", "respirator", "protection");
  out.beard_divides = uniform(in.inner("beard_divides"));
  out.context = in.each("context", [](const Reader& row) {
    return AirData::Context{row.text("what"), row.number("f_per_ml"), row.number("hours"), row.backing()};
  });
  out.everyday = in.each("everyday", [](const Reader& row) {
    return AirData::Everyday{row.text("what"), row.number("per_million"), row.backing()};
  });
  if (!faults.empty()) return faults;
  return out;
}

const AirData& shipped_air_data() {
  static const AirData kData = [] {
    auto parsed = parse_air_data(assets::get("data/air.json"));
    if (!parsed.ok()) throw std::logic_error("data/air.json: " + parsed.faults().front().text());
    return std::move(*parsed);
  }();
  return kData;
}

const AirData::Emission* emission_of(const AirData& data, std::string_view family, std::string_view task) {
  for (const auto& group : data.emission) {
    if (std::find(group.families.begin(), group.families.end(), family) == group.families.end()) continue;
    const auto found =
        std::find_if(group.tasks.begin(), group.tasks.end(), [&](const auto& one) { return one.task == task; });
    return found == group.tasks.end() ? nullptr : &*found;
  }
  return nullptr;
}

const Lognormal* named(const std::vector<AirData::Named>& rows, std::string_view id) {
  const auto found = std::find_if(rows.begin(), rows.end(), [&](const auto& one) { return one.id == id; });
  return found == rows.end() ? nullptr : &found->value;
}

}  // namespace lathbook::catalogue
