// How much polythene, tape and how many bags: every whole piece wrapped as a parcel, small pieces and debris bagged.
//
// One layer round a piece l × w × t: cut to (2 (w + t) + overlap) by (l + t + 2 overlap), so that it goes once round
// with a lap and is folded over both ends. Tape for a layer: the long seam, and each end across twice its width:
//   tape = l + t + 2 overlap + 2 · 2 (w + t).
// Pieces that are broken, or whole but with every side within a bag's, go into bags instead: as many as the larger of
//   volume / bag volume and mass / carrying mass asks for, packed whole pieces first-fit. A bag of whole pieces
//   travels, and is counted by a site, as one thing: 0.90 × 0.60 m and 0.15 m thick (judgement: 50 litres lie 0.11 m
//   high in it).
// Sources: 1000-gauge polythene, double wrapped (HSG248-era guidance, council conditions); overlap, bag sizes and 25 kg
// a person are marked in data/waste/ with how sure they are. 1000 gauge = 250 µm (a gauge is a hundred-thousandth
// of an inch).
#pragma once

#include <string>
#include <utility>
#include <vector>

#include "reason/fault.h"
#include "reason/reason.h"
#include "waste/load.h"

namespace lathbook::waste {

/// 1000 gauge: thousandths of a hundredth of an inch.
inline constexpr double kGauge_um = 0.254;
inline constexpr double kWrapGauge = 1000;

struct WrapPiece {
  LoadPiece size;
  bool whole = true;
};

struct WrapSettings {
  int layers = 2;
  double overlap_m = 0.15;
  double bag_length_m = 0.9;  ///< a flat bag's
  double bag_width_m = 0.6;
  double bag_volume_m3 = 0.05;
  double bag_thickness_m = 0.15;  ///< of a filled bag lying down, unless a piece in it is thicker
  bool bag_small_pieces = true;   ///< false: every whole piece is a parcel of its own
  double carry_kg = 25;           ///< as much as one person should lift in a bag
  double roll_width_m = 4;        ///< for the shopping list: what a roll is when unfolded
  double roll_length_m = 25;
  double tape_roll_m = 50;
};

struct ShoppingLine {
  std::string what;  ///< "roll of strong tape, 50 m", or "rolls of …" when the number is not one
  int number = 0;
  std::string note;
  std::string price;  ///< `what` of the row in data/waste/ that prices it
};

/// Whole pieces that share a bag.
struct Bag {
  std::vector<std::pair<std::string, int>> pieces;  ///< ids and how many, in the order given
  double mass_kg = 0;
  double volume_m3 = 0;
  double thickest_m = 0;
};

struct Wrap {
  double polythene_m2 = 0;
  double tape_m = 0;
  int bags = 0;                          ///< filled; each is an inner bag in an outer one
  std::vector<Bag> filled;               ///< those of them that hold whole pieces
  double wrapped_thickness_added_m = 0;  ///< what the layers add to a piece's thickness
  std::vector<ShoppingLine> shopping;
  std::vector<std::string> heavy;  ///< ids of pieces that need more than two people
  reason::Reasons reasons;
};

/// A whole piece small and light enough to go into a bag as it is.
[[nodiscard]] bool goes_into_a_bag(const LoadPiece& piece, const WrapSettings& settings = {});

/// A filled bag as it travels.
[[nodiscard]] LoadPiece load_of(const Bag& bag, std::string id, const WrapSettings& settings = {});

/// Faults: as load_plan's for pieces, and no layer.
[[nodiscard]] reason::Result<Wrap> wrap(const std::vector<WrapPiece>& pieces, const WrapSettings& settings = {});

}  // namespace lathbook::waste
