// Thousands of draws of everything not known about an event: bands, what matters most, what would have changed it.
//
// Scrambled Sobol points in eight independent scrambles. After each doubling the spread of the eight over one another
// gives the error of the 5th, 50th and 95th percentiles of what is asked (each person's dose, or the worst room's 10
// minutes when nobody was there); it stops at 2 % (relative, one standard error of the mean of the eight) or at the
// draws asked for. Draws are numbered and reduced in order: the same seed gives the same answer, to the bit, on any
// number of threads.
#pragma once

#include <atomic>
#include <cstdint>
#include <functional>
#include <string>
#include <vector>

#include "catalogue/air_limit.h"
#include "event/model.h"
#include "event/scene.h"
#include "reason/fault.h"
#include "reason/reason.h"

namespace lathbook::event {

struct Settings {
  std::uint64_t seed = 1;
  std::size_t draws = 16'384;  ///< at most; rounded up to a power of two times `fewest`
  std::size_t fewest = 512;    ///< drawn before the error is first looked at; a multiple of 64
  double wanted_error = 0.02;
  unsigned workers = 1;
  bool changes = true;                              ///< also work out what would have changed it
  std::function<void(double share_done)> progress;  ///< called from the calling thread; may be empty
  const std::atomic<bool>* cancel = nullptr;        ///< set it to stop early: the answer then rests on what was drawn
  std::vector<catalogue::AirLimit> limits;          ///< of the country's rules, over 10, 240 or 480 minutes
  std::string limits_of;                            ///< the country, for the reasons; empty = say nothing of limits
};

/// 5th, 50th and 95th percentiles.
struct Band {
  double low = 0;
  double middle = 0;
  double high = 0;
};

struct RoomAnswer {
  std::string id;
  std::vector<Band> f_per_ml;  ///< at each of times_min
  Band ten_minutes;            ///< largest 10-minute mean, f/ml
  Band four_hours;
  std::optional<Band> eight_hours;         ///< only where a limit is over eight hours
  std::vector<double> chances_over;        ///< of each of Settings::limits
  Band minutes_until_clearance;            ///< from the end of the work until below 0.01 f/ml for good
  double chance_not_within_clearance = 0;  ///< that it is not reached within the time computed
  Band minutes_until_background;           ///< below 0.0005 f/ml
  double chance_not_within_background = 0;
  Band load_f_per_cm2;   ///< on the floor in the end
  Band week_f_per_ml_h;  ///< what a week of living in it (16 hours a day) adds, from a day after the end
};

struct PersonAnswer {
  std::string id;
  Band breathed_f_per_ml_h;
  Band without_mask_f_per_ml_h;
  Band working_years;     ///< f/ml yr of 1,920 h
  Band continuous_years;  ///< of 8,760 h
  Band ten_minutes;       ///< of the air round the person
  Band four_hours;
  std::optional<Band> eight_hours;  ///< likewise
};

/// How an unknown and the dose rise together, from -1 to 1 (Spearman).
struct Matter {
  Unknown unknown;
  double correlation = 0;
};

/// The same draws with one thing done otherwise.
struct Change {
  std::string what;
  double ratio = 1;  ///< of the median dose (or level) to what it was
};

struct Answer {
  std::vector<double> times_min;
  double work_end_min = 0;
  std::vector<RoomAnswer> rooms;
  std::vector<PersonAnswer> people;
  std::string asked;            ///< what the error, the correlations and the changes are of
  std::vector<Matter> matters;  ///< strongest first
  std::vector<Change> changes;  ///< greatest help first
  std::size_t draws = 0;
  double error = 0;     ///< largest relative error of the asked percentiles
  std::string stopped;  ///< "accurate enough", "draws asked for" or "cancelled"
  reason::Reasons reasons;
};

/// All faults of the scene, or the answer.
[[nodiscard]] reason::Result<Answer> uncertain(const Scene& scene, const catalogue::AirData& air,
                                               const catalogue::Catalogue& catalogue, const Settings& settings);

/// The q-quantile of values already in order, straight between neighbours.
[[nodiscard]] double quantile(const std::vector<double>& sorted, double q);

}  // namespace lathbook::event
