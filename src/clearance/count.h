// What a count of fibres on an air filter says about the air, and what it cannot say.
//
//   E = (F/n_f − B/n_b) / A_f          fibres per mm² of filter, less the blank's
//   C = E · A_c / (1000 V)             fibres per ml of air, V in litres
//
// with A_f the area of the eyepiece's circle and A_c that of the exposed filter. For circles of diameter d (µm) and
// D (mm) this is C = 1000 N D² / (V n d²), the form the British method prints. F fibres counted in n_f fields, B on a
// blank in n_b fields. Fibres that cross the edge of a field count a half, so F need not be whole.
//
// Intervals. Two, because they answer two questions:
//   Poisson        what chance alone does to one count: exact 95 % limits (Garwood) from chi-squared quantiles.
//   between laboratories  what another laboratory might have counted on the same filter: 90 % band of NIOSH 7400,
//       upper = (2X + 2.25 + √((2X + 2.25)² − 4 (1 − 2.25 S²) X²)) / (2 (1 − 2.25 S²)),
//       lower = (2X + 4 − √((2X + 4)² − 4 (1 − 4 S²) X²)) / (2 (1 − 4 S²)),   S = 0.45.
// Domain: F ≥ 0, n ≥ 1, at most 10 fibres a field on average (above that a filter cannot be counted).
// Sources: NIOSH 7400 issue 2; NMAM chapter L; WHO 1997 / HSG248 form. Checked in count_test.cpp against the limits and
// volumes printed there (tests/published/air_counts.csv) and against SciPy.
#pragma once

#include <optional>
#include <string>

#include "reason/fault.h"
#include "reason/reason.h"

namespace lathbook::clearance {

/// One filter as counted.
struct Count {
  double fibres = 0;
  double fields = 0;
  double graticule_um = 100;  ///< diameter of the counting circle
  double filter_mm = 22;      ///< diameter of the exposed part of the filter
  double litres = 0;
  std::optional<double> blank_fibres = std::nullopt;
  std::optional<double> blank_fields = std::nullopt;  ///< both or neither
};

struct Interval {
  double low = 0;
  double high = 0;
};

/// 95 % limits of the mean of a Poisson count, exact (Garwood 1936). Half fibres are allowed: the limits are continuous
/// in the count.
[[nodiscard]] Interval poisson_limits(double counted, double confidence = 0.95);

/// The 90 % band of counts other laboratories might report, NIOSH 7400. `s` is the subjective relative standard
/// deviation.
[[nodiscard]] Interval between_laboratory_limits(double counted, double s = 0.45);

/// Fibres per ml for a count without blank.
[[nodiscard]] double concentration_f_per_ml(double fibres, const Count& count);

/// Litres of air needed for a count at the method's limit of detection (5.5 fibres in 100 fields) to show, at the upper
/// between-laboratory limit, that the air is below `limit_f_per_ml`.
[[nodiscard]] double litres_to_show_below(double limit_f_per_ml, double fields = 100, double field_mm2 = 0.00785,
                                          double filter_mm2 = 385, double detected_fibres = 5.5);

/// The fewest fibres that count as a quantity rather than as "less than" in the British method.
inline constexpr double kQuantifiedFibres = 20;
/// More fibres than this in each field, on average, and the filter is too crowded to count.
inline constexpr double kMostFibresPerField = 10;

struct AirCount {
  double f_per_ml = 0;                       ///< blank taken off; 0 when the blank holds more than the sample
  double quantification_limit_f_per_ml = 0;  ///< 20 fibres in the fields counted
  bool quantified = false;                   ///< at or above the limit of quantification
  std::string reported;                      ///< "<0.01", "0.04", "0.24": one figure below 0.1, two above
  Interval between_laboratories;             ///< f/ml, 90 %
  Interval chance;                           ///< f/ml, 95 %, one counter and one filter
  double fibres_per_mm2 = 0;
  reason::Reasons reasons;
};

/// Works one count out. Faults: no volume, no fields, a blank given by halves, more fibres than fields allow.
[[nodiscard]] reason::Result<AirCount> air_count(const Count& count);

/// A concentration as a laboratory writes it: one significant figure below 0.1 f/ml, two from there on.
[[nodiscard]] std::string reported_figure(double f_per_ml);

}  // namespace lathbook::clearance
