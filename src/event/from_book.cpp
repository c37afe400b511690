#include "event/from_book.h"

#include <fmt/format.h>

#include <algorithm>
#include <charconv>
#include <cmath>
#include <map>
#include <set>

#include "book/words.h"

namespace lathbook::event {
namespace {

double area_m2(const std::vector<book::Point>& outline) {
  double twice = 0;
  for (std::size_t i = 0; i < outline.size(); ++i) {
    const auto& a = outline[i];
    const auto& b = outline[(i + 1) % outline.size()];
    twice += a.x_m * b.y_m - b.x_m * a.y_m;
  }
  return std::abs(twice) / 2;
}

double volume_m3(const book::Book& book, const book::Room& room) {
  const auto* storey = book::find(book.storeys, room.storey);
  const double height = room.height_m ? *room.height_m : (storey != nullptr ? storey->height_m : 2.4);
  double rest = area_m2(room.outline);
  double volume = 0;
  for (const auto& zone : room.heights) {
    const double part = std::min(area_m2(zone.outline), rest);
    volume += part * 0.5 * (zone.low_m + zone.high_m);
    rest -= part;
  }
  return volume + rest * height;
}

const char* place_of(book::RoomKind kind) {
  switch (kind) {
    case book::RoomKind::kLoft:
      return "loft";
    case book::RoomKind::kCellar:
      return "cellar";
    case book::RoomKind::kGarage:
    case book::RoomKind::kOutbuilding:
      return "outbuilding";
    case book::RoomKind::kShaft:
    case book::RoomKind::kVoid:
      return "shaft";
    case book::RoomKind::kRoom:
    case book::RoomKind::kPorch:
      break;
  }
  return "room";
}

/// A void or shaft with no opening still leaks: the work joins it to nothing, but somebody may have worked inside it.
std::set<std::size_t> reached(const book::Book& book, std::set<std::size_t> from) {
  const auto index = book::index_of(book.rooms);
  for (bool grew = true; grew;) {
    grew = false;
    for (const auto& opening : book.openings) {
      if (opening.to.empty()) continue;
      const auto a = index.find(opening.from.text);
      const auto b = index.find(opening.to.text);
      if (a == index.end() || b == index.end()) continue;
      if (from.contains(a->second) != from.contains(b->second)) {
        from.insert({a->second, b->second});
        grew = true;
      }
    }
  }
  return from;
}

/// The types a laboratory found in it, else the family's commonest.
std::optional<book::Fibre> fibre_of(const book::Book& book, const book::Material& material,
                                    const catalogue::Catalogue& catalogue) {
  for (const auto& result : book.results) {
    const auto* sample = book::find(book.samples, result.sample);
    if (sample != nullptr && sample->material == material.id && result.found && !result.fibres.empty())
      return result.fibres.front();
  }
  const auto* family = catalogue.find_family(material.family);
  if (family == nullptr || family->fibres.empty()) return std::nullopt;
  return std::max_element(family->fibres.begin(), family->fibres.end(),
                          [](const auto& a, const auto& b) { return a.share < b.share; })
      ->type;
}

/// Where each part of the scene stands in the book: "/people/1/masks/0" is E1/masks/2. The scene counts from 0 and in
/// its own order; a person is told the part they wrote down, as the commands name it.
class Origins {
 public:
  void add(std::string in_scene, std::string in_book) { names_.emplace(std::move(in_scene), std::move(in_book)); }

  /// The pointers in a text, told by their names; what the book does not hold stays as it is.
  [[nodiscard]] std::string told(const std::string& text) const {
    std::string out;
    for (std::size_t at = 0; at < text.size();) {
      const auto start = std::min(text.find('/', at), text.size());
      const auto end = std::min(text.find_first_of(" :;,", start), text.size());
      out += text.substr(at, start - at);
      out += name(text.substr(start, end - start));
      at = end;
    }
    return out;
  }

 private:
  [[nodiscard]] std::string name(const std::string& pointer) const {
    for (auto end = pointer.size(); end != std::string::npos && end > 0; end = pointer.rfind('/', end - 1)) {
      const auto found = names_.find(pointer.substr(0, end));
      if (found == names_.end()) continue;
      std::string field;
      for (std::size_t at = end; at < pointer.size();) {
        const auto next = std::min(pointer.find('/', at + 1), pointer.size());
        const auto part = pointer.substr(at + 1, next - at - 1);
        std::size_t entry = 0;
        const auto [last, error] = std::from_chars(part.data(), part.data() + part.size(), entry);
        const bool number = error == std::errc() && last == part.data() + part.size();
        field += (field.empty() ? " " : ".") + (number ? std::to_string(entry + 1) : part);
        at = next;
      }
      return found->second + field;
    }
    return pointer;
  }

  std::map<std::string, std::string> names_;
};

}  // namespace

reason::Result<FromBook> from_book(const book::Book& book, const book::Event& event, const catalogue::AirData& air,
                                   const catalogue::Catalogue& catalogue) {
  reason::Faults faults;
  const auto room_index = book::index_of(book.rooms);
  const auto fault = [&](const std::string& field, std::string value, std::string problem, std::string allowed) {
    faults.push_back(
        {fmt::format("{} {}", event.id.text, field), std::move(value), std::move(problem), std::move(allowed)});
  };
  if (event.cuts.empty())
    fault("cuts", "", "says nothing was cut",
          fmt::format("lathbook add {}/cuts task=… room=… minutes=…", event.id.text));
  std::vector<const book::Material*> materials;
  for (const auto& id : event.materials) {
    const auto* material = book::find(book.materials, id);
    const auto* family = material == nullptr ? nullptr : catalogue.find_family(material->family);
    if (family != nullptr && family->suspect) materials.push_back(material);
  }
  if (materials.empty())
    fault("materials", "", "names no suspect material", fmt::format("lathbook set {} materials=M1", event.id.text));
  std::set<std::size_t> wanted;
  const auto want = [&](const std::string& field, const book::RoomId& id) {
    const auto at = room_index.find(id.text);
    if (at == room_index.end()) {
      fault(field, id.text, "is no room of this book", "a room");
    } else {
      wanted.insert(at->second);
    }
  };
  for (const auto& cut : event.cuts) want("cuts", cut.place.room);
  for (const auto& stay : event.stays) want("stays", stay.room);
  if (!faults.empty()) return faults;

  FromBook out;
  Origins origins;
  const auto part = [&](const char* list, std::size_t i) {
    return fmt::format("{}/{}/{}", event.id.text, list, i + 1);
  };
  std::map<std::size_t, std::size_t> scene_room;
  for (const std::size_t i : reached(book, wanted)) {
    const auto& room = book.rooms[i];
    scene_room[i] = out.scene.rooms.size();
    out.room_of[out.scene.rooms.size()] = i;
    origins.add(fmt::format("/rooms/{}", out.scene.rooms.size()), room.id.text);
    out.scene.rooms.push_back(
        {room.id.text, volume_m3(book, room), area_m2(room.outline), place_of(room.kind), room.air_changes_per_h});
  }
  const auto room_at = [&](const book::RoomId& id) { return scene_room.at(room_index.at(id.text)); };
  for (const auto& opening : book.openings) {
    const auto from = room_index.find(opening.from.text);
    if (from == room_index.end() || !scene_room.contains(from->second)) continue;
    Opening one;
    one.from = scene_room.at(from->second);
    if (!opening.to.empty()) {
      const auto to = room_index.find(opening.to.text);
      if (to == room_index.end() || !scene_room.contains(to->second)) continue;
      one.to = scene_room.at(to->second);
    }
    one.usual = std::string(book::word(opening.usual));
    const auto here = fmt::format("/openings/{}", out.scene.openings.size());
    origins.add(here, opening.id.text);
    for (std::size_t i = 0; i < event.openings.size(); ++i) {
      const auto& during = event.openings[i];
      if (during.opening != opening.id) continue;
      origins.add(fmt::format("{}/during/{}", here, one.during.size()), part("openings", i));
      one.during.push_back({std::string(book::word(during.state)), during.from_min, during.to_min});
    }
    out.scene.openings.push_back(std::move(one));
  }
  double clock = 0;
  for (std::size_t i = 0; i < event.cuts.size(); ++i) {
    const auto& cut = event.cuts[i];
    std::vector<const book::Material*> touched;
    for (const auto* material : materials) {
      if (material->place.room == cut.place.room) touched.push_back(material);
    }
    if (touched.empty()) touched = materials;
    for (const auto* material : touched) {
      origins.add(fmt::format("/work/{}", out.scene.work.size()), part("cuts", i));
      out.scene.work.push_back({room_at(cut.place.room), material->family, cut.task, cut.controls,
                                static_cast<double>(cut.count), clock, clock + cut.minutes});
    }
    clock += cut.minutes;
  }
  out.assumed.push_back(
      "All the minutes of a cut count as cutting; where setting up is in them, that makes too much of it.");
  if (event.cuts.size() > 1) out.assumed.push_back("The cuts followed one another in the order written.");
  for (std::size_t i = 0; i < event.cleaning.size(); ++i) {
    const auto& clean = event.cleaning[i];
    origins.add(fmt::format("/cleaning/{}", i), part("cleaning", i));
    out.scene.cleaning.push_back({room_at(event.cuts.front().place.room), clean.task, clean.from_min, clean.to_min});
  }
  if (!event.cleaning.empty()) out.assumed.push_back("Cleaning was in the room of the first cut.");
  for (const auto& person : book.people) {
    Person one{person.id.text, {}, {}};
    const auto here = fmt::format("/people/{}", out.scene.people.size());
    for (std::size_t i = 0; i < event.stays.size(); ++i) {
      const auto& stay = event.stays[i];
      if (stay.person != person.id) continue;
      origins.add(fmt::format("{}/stays/{}", here, one.stays.size()), part("stays", i));
      one.stays.push_back({room_at(stay.room), stay.at_the_work, stay.from_min, stay.to_min});
    }
    if (one.stays.empty()) continue;
    for (std::size_t i = 0; i < event.masks.size(); ++i) {
      const auto& mask = event.masks[i];
      if (mask.person != person.id) continue;
      origins.add(fmt::format("{}/masks/{}", here, one.masks.size()), part("masks", i));
      one.masks.push_back({mask.respirator, mask.from_min, mask.to_min, mask.share_worn, mask.beard});
      if (!mask.share_worn && mask.respirator != "none") {
        out.assumed.push_back(fmt::format(
            "How much of the time {} had the mask on is not known: anything from never to always.", person.name));
      }
    }
    out.scene.people.push_back(std::move(one));
  }
  out.scene.fibre = fibre_of(book, *materials.front(), catalogue);
  auto wrong = check(out.scene, air, catalogue);
  for (auto& one : wrong) {
    const auto where = origins.told(one.where);
    one.where = where == one.where ? fmt::format("{} {}", event.id.text, where) : where;
    one.problem = origins.told(one.problem);
  }
  if (!wrong.empty()) return wrong;
  return out;
}

}  // namespace lathbook::event
