// A disturbance as somebody remembers it: plain values, minutes counted from its start.
#pragma once

#include <optional>
#include <string>
#include <vector>

#include "book/book.h"
#include "catalogue/air_data.h"
#include "catalogue/catalogue.h"
#include "reason/fault.h"

namespace lathbook::event {

struct Room {
  std::string id;
  double volume_m3 = 0;
  double floor_m2 = 0;
  std::string place = "room";  ///< a place of air_change_per_h in data/air.json
  std::optional<double> air_changes_per_h;
};

struct During {
  std::string state;  ///< open, ajar, closed, sealed
  double from_min = 0;
  double to_min = 0;
};

struct Opening {
  std::size_t from = 0;
  std::optional<std::size_t> to;  ///< empty = outdoors
  std::string usual = "closed";
  std::vector<During> during;
};

struct Work {
  std::size_t room = 0;
  std::string family;
  std::string task;
  std::vector<std::string> controls;
  double count = 1;  ///< holes, where the task is counted in holes
  double from_min = 0;
  double to_min = 0;
};

struct Cleaning {
  std::size_t room = 0;
  std::string task;  ///< sweep, vacuum, clean, damp-wipe
  double from_min = 0;
  double to_min = 0;
};

struct Stay {
  std::size_t room = 0;
  bool at_the_work = false;
  double from_min = 0;
  double to_min = 0;
};

struct Mask {
  std::string respirator;
  double from_min = 0;
  double to_min = 0;
  std::optional<double> share_worn;  ///< empty = cannot remember: anything from none to all of the time
  bool beard = false;
};

struct Person {
  std::string id;
  std::vector<Stay> stays;
  std::vector<Mask> masks;
};

struct Scene {
  std::vector<Room> rooms;
  std::vector<Opening> openings;
  std::vector<Work> work;
  std::vector<Cleaning> cleaning;
  std::vector<Person> people;
  std::optional<book::Fibre> fibre;  ///< empty = unknown or mixed: sized as amosite
};

/// When the last thing described ends, in minutes.
[[nodiscard]] double end_min(const Scene& scene);

/// All faults, with pointers into the scene (`/work/0/room`): rooms without a volume, indices out of range, times that
/// run backwards, a person in two places, two masks at once, no work at all, a task or family without a figure, unknown
/// words.
[[nodiscard]] reason::Faults check(const Scene& scene, const catalogue::AirData& air,
                                   const catalogue::Catalogue& catalogue);

}  // namespace lathbook::event
