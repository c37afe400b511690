// The fewest trips that take whole pieces to a site in one vehicle, and what will not go at all.
//
// A trip holds pieces that go into the vehicle together (layout.h), weigh no more than payload and site allow, are no
// more than the site takes in one visit, and pile no higher than it wants. A piece goes at all if it goes alone, passes
// the door opening (its smallest cross-section, turned any way) and is no larger than the site takes. Nothing is ever
// cut.
//
// Fewest, and its proof: fewest.h. When `proved_fewest` is false the work allowed ran out or a layout could not be
// settled, and `at_least` says how few trips there could be. Up to 30 pieces: sheets always proved, thick things of 30
// sizes nearly always, all well under 2 s (bench/waste_bench.cpp, docs/methods/waste.md). Checked in load_test.cpp
// against brute force over all partitions and against published one-dimensional instances.
#pragma once

#include <optional>
#include <string>
#include <vector>

#include "reason/fault.h"
#include "reason/reason.h"
#include "waste/layout.h"

namespace lathbook::waste {

/// Pieces alike, as they travel. Any order of the three sides.
struct LoadPiece {
  std::string id;
  double length_m = 0;
  double width_m = 0;
  double thickness_m = 0;
  double mass_kg = 0;
  int count = 1;
};

struct LoadVehicle {
  Box inside;
  double payload_kg = 0;
  std::optional<double> door_width_m;
  std::optional<double> door_height_m;
};

/// What a site takes in one visit; absent = no limit known.
struct SiteLimits {
  std::optional<int> pieces;
  std::optional<double> mass_kg;
  std::optional<double> length_m;
  std::optional<double> width_m;
  std::optional<double> height_m;  ///< of everything piled up
  std::optional<int> visits_per_month;
};

struct TripPiece {
  std::string id;
  int count = 0;
  How how = How::kFlat;
};

struct TripPile {
  How how = How::kFlat;
  double x_m = 0;
  double y_m = 0;
  double size_x_m = 0;
  double size_y_m = 0;
  double height_m = 0;
  std::vector<std::string> pieces;  ///< ids in the order of piling, the largest first; one entry a piece
};

struct Trip {
  std::vector<TripPiece> pieces;
  std::vector<TripPile> piles;  ///< for drawing to scale
  double mass_kg = 0;
};

struct WillNotGo {
  std::string id;
  std::string why;         ///< every limit it breaks
  std::string would_take;  ///< what would take it
};

struct LoadPlan {
  std::vector<Trip> trips;
  std::vector<WillNotGo> will_not_go;
  bool proved_fewest = false;
  int at_least = 0;           ///< no plan under this model has fewer trips
  std::optional<int> months;  ///< calendar months needed under the site's visits per month
  reason::Reasons reasons;
};

/// Faults: sizes, masses or counts that are not positive, ids twice.
[[nodiscard]] reason::Result<LoadPlan> load_plan(const std::vector<LoadPiece>& pieces, const LoadVehicle& vehicle,
                                                 const SiteLimits& site);

}  // namespace lathbook::waste
