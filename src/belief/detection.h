// What samples of one piece can miss: false negatives of the laboratory, and asbestos that does not lie everywhere.
//
// In a piece that holds asbestos a share p of the spots a sample may come from holds it too. One share for the whole
// piece, p ~ Beta(a, b) with mean a/(a+b) and strength a+b, so that a second sample of a patchy coating adds less than
// an independent one would; an even piece has p = 1. A sample from such a spot is found positive with probability s
// (the laboratory's sensitivity). So n samples all come back clear with probability
//
//   P(n clear | asbestos) = E[(1 - p s)^n],     P(n clear | none) = c^n   (c: specificity)
//
// and "found" means that at least one of the n was positive: one minus these. The expectation is a finite sum of
// positive terms for up to 127 samples together, and a Gauss-Jacobi sum of 64 points beyond. Checked in
// detection_test.cpp against the closed form for s = 1, (b)_n / (a+b)_n, and against an adaptive integral.
#pragma once

#include <optional>
#include <span>

namespace lathbook::belief {

/// Beta distribution of the share of spots that hold asbestos, in a piece that does.
struct Patchiness {
  double mean = 1;      ///< 0 < mean < 1
  double strength = 1;  ///< > 0; larger is more even from piece to piece
};

/// How one kind of material gives itself away.
struct Detection {
  double sensitivity = 1;                ///< of the laboratory, for a sample that holds asbestos; 0 to 1
  std::optional<Patchiness> patchiness;  ///< absent = even: every sample of the piece holds it
};

/// One line of a laboratory's answer: `samples` taken, asbestos found in at least one of them or in none.
struct Seen {
  bool found = false;
  int samples = 1;  ///< >= 1
};

/// log P(seen | asbestos): everything seen on one piece, all with the same hidden share.
[[nodiscard]] double log_if_asbestos(const Detection& detection, std::span<const Seen> seen);

/// log P(seen | no asbestos): each sample is rightly reported clear with probability `specificity`.
[[nodiscard]] double log_if_none(double specificity, std::span<const Seen> seen);

/// P(n samples all clear | asbestos).
[[nodiscard]] double miss_chance(const Detection& detection, int samples);

/// The fewest samples with a miss chance below `at_most` (0 to 1); empty when `limit` samples are not enough.
[[nodiscard]] std::optional<int> samples_for(const Detection& detection, double at_most, int limit = 200);

}  // namespace lathbook::belief
