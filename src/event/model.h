// One event as a network of zones whose rates hang on a few unknowns: give each unknown a chance in (0, 1), get what
// would have been in the air.
//
// Zones: each room, and a near field of about 1 m3 in each room that was worked in, swept by `near_field` of
// data/air.json. Flows: rooms swap air with outdoors at their air change (times the open-window factor while one is
// open) and with each other through openings by their state; both ways alike, so they balance. Fibres: five sizes of
// equal share. Floors give off fibres from the end of the work on (living), and more while cleaned; cleaning takes a
// share away. Computed until a day and a week after the last thing described: `week` is that week.
#pragma once

#include <memory>
#include <span>
#include <string>
#include <vector>

#include "event/scene.h"
#include "reason/reason.h"

namespace lathbook::event {

struct Unknown {
  std::string id;
  std::string what;    ///< in plain words
  std::string source;  ///< of its distribution
};

/// Where each figure of an outcome lies.
struct Layout {
  std::size_t rooms = 0;
  std::size_t people = 0;
  std::size_t times = 0;
  bool eight = false;  ///< the means over eight hours are there too
  [[nodiscard]] std::size_t level(std::size_t room, std::size_t time) const { return room * times + time; }
  [[nodiscard]] std::size_t ten_minutes(std::size_t room) const { return rooms * times + room; }
  [[nodiscard]] std::size_t four_hours(std::size_t room) const { return rooms * (times + 1) + room; }
  [[nodiscard]] std::size_t below_clearance_min(std::size_t room) const { return rooms * (times + 2) + room; }
  [[nodiscard]] std::size_t below_background_min(std::size_t room) const { return rooms * (times + 3) + room; }
  [[nodiscard]] std::size_t load(std::size_t room) const { return rooms * (times + 4) + room; }
  [[nodiscard]] std::size_t week(std::size_t room) const { return rooms * (times + 5) + room; }
  [[nodiscard]] std::size_t breathed(std::size_t person) const { return rooms * (times + 6) + person; }
  [[nodiscard]] std::size_t without_mask(std::size_t person) const { return rooms * (times + 6) + people + person; }
  [[nodiscard]] std::size_t person_ten_minutes(std::size_t person) const {
    return rooms * (times + 6) + 2 * people + person;
  }
  [[nodiscard]] std::size_t person_four_hours(std::size_t person) const {
    return rooms * (times + 6) + 3 * people + person;
  }
  [[nodiscard]] std::size_t eight_hours(std::size_t room) const { return rooms * (times + 6) + 4 * people + room; }
  [[nodiscard]] std::size_t person_eight_hours(std::size_t person) const {
    return rooms * (times + 7) + 4 * people + person;
  }
  [[nodiscard]] std::size_t size() const { return rooms * (times + 6) + 4 * people + (eight ? rooms + people : 0); }
};

/// Levels and times everything is held against.
inline constexpr double kClearance = 0.01;
inline constexpr double kBackground = 0.0005;

class Model {
 public:
  /// The scene must have passed `check`. `eight_hours`: also the largest means over eight hours, which some countries'
  /// limits are held against.
  Model(const Scene& scene, const catalogue::AirData& air, const catalogue::Catalogue& catalogue,
        bool eight_hours = false);
  ~Model();

  [[nodiscard]] const std::vector<Unknown>& unknowns() const;
  [[nodiscard]] const std::vector<double>& times_min() const;
  [[nodiscard]] const Layout& layout() const;
  [[nodiscard]] double work_end_min() const;
  [[nodiscard]] double horizon_min() const;

  /// Room for one thread's work.
  class Bench;
  [[nodiscard]] std::unique_ptr<Bench> bench() const;
  /// One draw: `chances` one for each unknown, `outcome` as the layout says. Breathed in f/ml h, times in minutes (the
  /// horizon when a level is not reached), loads in f/cm2; `week` is f/ml h of 16 hours a day in the room for seven
  /// days.
  void draw(Bench& bench, std::span<const double> chances, std::span<double> outcome) const;

 private:
  struct Work;
  std::unique_ptr<const Work> work_;
};

class Model::Bench {
 public:
  ~Bench();

 private:
  friend class Model;
  struct Held;
  explicit Bench(std::unique_ptr<Held> held);
  std::unique_ptr<Held> held_;
};

}  // namespace lathbook::event
