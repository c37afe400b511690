// The fewest trips for pieces of some kinds, given what one trip may hold, and a proof that there are no fewer.
//
// A trip holds a set that lies in the vehicle (layout.h) and of which each limited quantity (mass, number, height …)
// sums to at most 1. Taking a piece away never spoils a trip.
//
// A scale gives each kind a share so that no trip, however loaded, holds more than 1: N trips are too few for pieces
// whose shares sum to more than N. The limited quantities are scales, so is the volume; L2 of Martello & Toth 1990
// makes one from each. More are learnt: prices of the fractional cover (cover.h) become a scale once a search through
// all loads has found none worth more than 1 (Gilmore & Gomory 1961), and hold for every part of the pieces from then
// on. Loads searched among fewer pieces may have held fewer of a kind than others do, so a kind of which some pieces
// were left out has no share.
//
// From the bound up, for each number of trips: found by a short exhaustive search, if shapes do not matter; or refuted
// by a scale; or found by rounding the fractional cover one load at a time; or settled by exhaustive search: the first
// trip is a largest set that holds the first kind left and enough by every scale for the rest to fit the other trips;
// remainders found hopeless are remembered. The work is counted, not timed, so the answer is the same on every machine;
// when it runs out `proved` is false.
#pragma once

#include <cstdint>
#include <vector>

#include "waste/layout.h"

namespace lathbook::waste {

/// A share of a trip for each kind of piece.
using Scale = std::vector<double>;

struct Fewest {
  std::vector<Counts> trips;
  int at_least = 0;
  bool proved = false;
  std::vector<Scale> learnt;  ///< for whoever wants to check them: no load that goes has shares above 1 in all
};

/// `all` counts the kinds, the largest share of a trip first; every kind goes alone. `limits` are quantities a trip
/// must keep; `scales` hold for any trip without being asked for (the volume). `work` bounds the search.
[[nodiscard]] Fewest fewest_trips(const Counts& all, const std::vector<Scale>& limits, const std::vector<Scale>& scales,
                                  Layouts& layouts, std::int64_t work);

}  // namespace lathbook::waste
