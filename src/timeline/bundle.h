// Which removals to call a firm in for together: one visit costs its mobilisation once, but what is ready early waits
// for what is ready late, and every job behind it waits too.
//
// A visit takes the removals of one firm. It begins when its last removal is ready and takes the sum of their days. Its
// cost:
//   mobilisation(firm) + sum over the distinct enclosures in it + sum_i waiting_i · (end of visit − (ready_i +
//   days_i)),
// where waiting_i is what a day of waiting costs the jobs behind removal i. The last term is zero for a removal done
// alone. Visits do not queue behind one another.
//
// Exact: best(S) = min over visits V in S that hold the first removal of S, of cost(V) + best(S \ V): 3^(n−1)-like
// work, done up to 16 removals of one firm (firms do not share visits, so each is solved by itself). Above that
// removals are joined greedily, `exact` is false and `lower_bound` says how far off it can be at most. Checked in
// bundle_test.cpp against every partition.
#pragma once

#include <string>
#include <vector>

#include "reason/fault.h"
#include "reason/reason.h"

namespace lathbook::timeline {

/// Money in minor units of one currency, days as numbers from any common day zero.
struct Removal {
  std::string id;
  std::string firm;       ///< who would do it
  std::string enclosure;  ///< removals with the same text share one enclosure when done in one visit; empty = none
  double ready_day = 0;   ///< the first day it can be done
  double days = 1;
  double waiting_per_day = 0;  ///< what each further day costs the jobs that wait for it
};

struct FirmCost {
  std::string firm;
  double mobilisation = 0;  ///< per visit: travel, decontamination unit, notification, air tests
  double enclosure = 0;     ///< per enclosure put up
};

struct Visit {
  std::string firm;
  std::vector<std::string> removals;
  double begin_day = 0;
  double end_day = 0;
  double cost = 0;
};

struct Bundling {
  std::vector<Visit> visits;  ///< by begin, then firm
  double cost = 0;
  double cost_each_alone = 0;  ///< every removal a visit of its own
  bool exact = true;
  double lower_bound = 0;  ///< no bundling costs less than this
  reason::Reasons reasons;
};

/// Faults: ids twice, a firm without costs, negative figures.
[[nodiscard]] reason::Result<Bundling> bundle(const std::vector<Removal>& removals, const std::vector<FirmCost>& firms);

}  // namespace lathbook::timeline
