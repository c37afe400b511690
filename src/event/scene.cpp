#include "event/scene.h"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>

#include "dose/breathed.h"

namespace lathbook::event {

double end_min(const Scene& scene) {
  double end = 0;
  for (const auto& one : scene.work) end = std::max(end, one.to_min);
  for (const auto& one : scene.cleaning) end = std::max(end, one.to_min);
  for (const auto& opening : scene.openings) {
    for (const auto& one : opening.during) end = std::max(end, one.to_min);
  }
  for (const auto& person : scene.people) {
    for (const auto& one : person.stays) end = std::max(end, one.to_min);
  }
  return end;
}

reason::Faults check(const Scene& scene, const catalogue::AirData& air, const catalogue::Catalogue& catalogue) {
  reason::Faults faults;
  const auto add = [&](std::string where, std::string value, std::string problem, std::string allowed) {
    faults.push_back({std::move(where), std::move(value), std::move(problem), std::move(allowed)});
  };
  const auto room = [&](const std::string& where, std::size_t index) {
    if (index >= scene.rooms.size())
      add(where, fmt::format("{}", index), "is no room of the event", "one of its rooms");
  };
  const auto times = [&](const std::string& where, double from, double to) {
    if (!(from >= 0) || !std::isfinite(from))
      add(where + "/from_min", fmt::format("{}", from), "is before the start", "0 or more");
    if (!(to > from) || !std::isfinite(to))
      add(where + "/to_min", fmt::format("{}", to), "is not after from_min", fmt::format("more than {}", from));
  };
  const auto state = [&](const std::string& where, const std::string& word) {
    if (catalogue::named(air.exchange_m3_per_h, word) == nullptr)
      add(where, word, "is no state of an opening", "open, ajar, closed or sealed");
  };
  if (scene.rooms.empty()) add("/rooms", "", "holds no room", "at least one");
  for (std::size_t i = 0; i < scene.rooms.size(); ++i) {
    const auto at = fmt::format("/rooms/{}", i);
    const auto& one = scene.rooms[i];
    if (!(one.volume_m3 > 0) || !std::isfinite(one.volume_m3))
      add(at + "/volume_m3", fmt::format("{}", one.volume_m3), "is not a volume", "more than 0 m3");
    if (!(one.floor_m2 > 0) || !std::isfinite(one.floor_m2))
      add(at + "/floor_m2", fmt::format("{}", one.floor_m2), "is not an area", "more than 0 m2");
    if (catalogue::named(air.air_change_per_h, one.place) == nullptr)
      add(at + "/place", one.place, "has no air change in data/air.json", "room, loft, cellar, shaft or outbuilding");
    if (one.air_changes_per_h && !(*one.air_changes_per_h > 0)) {
      add(at + "/air_changes_per_h", fmt::format("{}", *one.air_changes_per_h),
          "is not above zero: every room leaks a little", "more than 0");
    }
  }
  for (std::size_t i = 0; i < scene.openings.size(); ++i) {
    const auto at = fmt::format("/openings/{}", i);
    const auto& one = scene.openings[i];
    room(at + "/from", one.from);
    if (one.to) room(at + "/to", *one.to);
    if (one.to && *one.to == one.from)
      add(at + "/to", fmt::format("{}", *one.to), "is the room it comes from", "another room");
    state(at + "/usual", one.usual);
    for (std::size_t j = 0; j < one.during.size(); ++j) {
      state(fmt::format("{}/during/{}/state", at, j), one.during[j].state);
      times(fmt::format("{}/during/{}", at, j), one.during[j].from_min, one.during[j].to_min);
    }
  }
  if (scene.work.empty()) add("/work", "", "holds nothing that was disturbed", "at least one cut");
  for (std::size_t i = 0; i < scene.work.size(); ++i) {
    const auto at = fmt::format("/work/{}", i);
    const auto& one = scene.work[i];
    room(at + "/room", one.room);
    times(at, one.from_min, one.to_min);
    if (!(one.count > 0)) add(at + "/count", fmt::format("{}", one.count), "is no number of things", "more than 0");
    if (catalogue::emission_of(air, one.family, one.task) == nullptr) {
      add(at + "/task", one.family + ", " + one.task, "has no figure for the fibres it lets go",
          "a suspect family and a task that cuts or lifts it");
    }
    for (std::size_t j = 0; j < one.controls.size(); ++j) {
      const bool known = std::any_of(catalogue.controls.begin(), catalogue.controls.end(),
                                     [&](const auto& c) { return c.id == one.controls[j]; });
      if (!known)
        add(fmt::format("{}/controls/{}", at, j), one.controls[j], "is no control", "an id of data/controls.json");
    }
  }
  for (std::size_t i = 0; i < scene.cleaning.size(); ++i) {
    const auto at = fmt::format("/cleaning/{}", i);
    const auto& one = scene.cleaning[i];
    room(at + "/room", one.room);
    times(at, one.from_min, one.to_min);
    const bool known =
        std::any_of(air.clean_up.begin(), air.clean_up.end(), [&](const auto& c) { return c.task == one.task; });
    if (!known) add(at + "/task", one.task, "is no way of cleaning here", "sweep, vacuum, clean or damp-wipe");
  }
  const double end = end_min(scene);
  for (std::size_t i = 0; i < scene.people.size(); ++i) {
    const auto at = fmt::format("/people/{}", i);
    const auto& person = scene.people[i];
    std::vector<dose::Stay> stays;
    std::vector<dose::Mask> masks;
    for (std::size_t j = 0; j < person.stays.size(); ++j) {
      room(fmt::format("{}/stays/{}/room", at, j), person.stays[j].room);
      stays.push_back({person.stays[j].room, person.stays[j].from_min, person.stays[j].to_min});
    }
    for (std::size_t j = 0; j < person.masks.size(); ++j) {
      const auto& mask = person.masks[j];
      const bool known = std::any_of(catalogue.respirators.begin(), catalogue.respirators.end(),
                                     [&](const auto& r) { return r.id == mask.respirator; });
      if (!known)
        add(fmt::format("{}/masks/{}/respirator", at, j), mask.respirator, "is no mask known here",
            "an id of data/respirators.json");
      masks.push_back({mask.from_min, mask.to_min, 1, mask.share_worn.value_or(0.5)});
    }
    // A mask may be said to have been on for longer than anything else lasted.
    double last = end;
    for (const auto& mask : masks) last = std::max(last, mask.to_min);
    for (auto& fault : dose::check(stays, masks, last, at)) faults.push_back(std::move(fault));
  }
  return faults;
}

}  // namespace lathbook::event
