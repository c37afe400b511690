// Does an air-test certificate stand up to its own figures? Which ones do not, what that means, and what to ask for.
//
// What is asked comes with the rules of the country (catalogue::ClearanceRules): the stages in their order, the level
// each air sample must be below, and, where the rules name them, litres, fields and filter. Where the number of samples
// grows with the floor: N = A^(1/3) − 1, rounded to the nearest, with A the floor area in m², or volume / 3 where the
// mean height is above 3 m; at least 2, and 1 below 10 m³ (HSG248, from memory). A blank never clears a room: each
// sample must be below the level before the blank is taken off (judgement). Nothing here judges the visual inspection,
// which finds more than any air test does.
#pragma once

#include <optional>
#include <span>
#include <string>
#include <vector>

#include "book/book.h"
#include "catalogue/clearance_rules.h"
#include "clearance/count.h"
#include "reason/date.h"

namespace lathbook::clearance {

inline constexpr double kBlankFibresPer100 = 3;

/// How many air samples a space of this size needs.
[[nodiscard]] int samples_needed(double area_m2, double height_m);

/// One figure that does not stand, in the words of the person who must ring the analyst.
struct Finding {
  std::string where;  ///< which figure: "sample 2", "stages", "dates", "party", "independence"
  std::string what;   ///< what is wrong
  std::string means;  ///< what that means for the room
  std::string ask;    ///< what to ask for
};

/// A sample with what the paper states about it beside the count.
struct StatedSample {
  Count count;
  std::optional<double> flow_l_per_min;
  std::optional<double> minutes;
  std::optional<double> f_per_ml;  ///< as printed
};

/// A certificate's figures, whoever wrote them down. Absent parts are not judged, but stages and dates that a
/// certificate must have are missed when `whole_certificate` is set.
struct Stated {
  double area_m2 = 0;
  double height_m = 0;
  std::vector<StatedSample> samples;
  std::vector<std::string> stages;
  std::optional<reason::Date> work_finished_on;
  std::optional<reason::Date> issued_on;
  std::optional<reason::Date> accreditation_expires_on;
  std::optional<bool> independent;  ///< whoever gave it had no part in the removal; absent: not known
  std::string role;                 ///< what the firm that gave it is (book::Party::role); empty: not known
  bool whole_certificate = false;
};

struct Clearance {
  bool pass = false;  ///< no finding at all
  int samples_needed = 0;
  std::vector<Finding> findings;
  std::vector<AirCount> counts;  ///< one for each sample, in order
  reason::Reasons reasons;
};

/// Faults only for figures that cannot be (impossible counts, no area where the samples hang on it); everything a
/// certificate can get wrong is a finding.
[[nodiscard]] reason::Result<Clearance> check(const Stated& stated, const catalogue::ClearanceRules& rules);

/// The same for a certificate in the book; `analyst` is the party that issued it, or nullptr. `independent` as in
/// Stated: the certificate alone does not say who did the removal.
[[nodiscard]] reason::Result<Clearance> check(const book::Certificate& certificate, const book::Party* analyst,
                                              std::optional<bool> independent, const catalogue::ClearanceRules& rules);

}  // namespace lathbook::clearance
