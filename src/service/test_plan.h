// What is worth testing in this house, in what order, and what each answer of the laboratory would change.
//
// The jobs not yet done, with what they touch (check), what is believed (evidence) and what they cost either way, are
// put to sampling::choose_tests; money is in whole units of the currency there. A job whose costs are not written down,
// or that cuts into a face of which nothing is, cannot be weighed and is named in `left_out`. What a result would
// change is not reasoned out but tried: the result is put into a copy of the book and every job is judged again.
#pragma once

#include <nlohmann/json_fwd.hpp>
#include <optional>
#include <string>
#include <vector>

#include "catalogue/sampling_data.h"
#include "check/check.h"
#include "check/house.h"
#include "reason/fault.h"
#include "sampling/spots.h"
#include "sampling/test_choice.h"
#include "sampling/turnaround.h"

namespace lathbook::service {

using Json = nlohmann::json;

/// A job whose verdict a result would change.
struct VerdictChange {
  book::JobId job;
  check::Verdict before = check::Verdict::kMayStart;
  check::Verdict after = check::Verdict::kMayStart;
};

/// Another material whose belief a result would move by five hundredths or more.
struct BeliefChange {
  book::MaterialId material;
  double before = 0;
  double after = 0;
};

struct Change {
  std::vector<VerdictChange> jobs;
  std::vector<BeliefChange> beliefs;
};

struct PlannedTest {
  std::size_t material = 0;  ///< in Book::materials
  int samples = 1;
  double saves = 0;  ///< whole units of the currency, the test's own cost taken off
  double chance_clear = 0;
  std::vector<std::string> jobs;  ///< that can be done plain only if it is clear
  bool yourself = false;          ///< whether a householder may take the samples
  reason::Reason who;             ///< why
  std::vector<sampling::Spot> spots;
  std::vector<sampling::Label> labels;
  reason::Reasons taking;
  Change if_clear;  ///< all samples
  Change if_found;
};

struct LeftOut {
  book::JobId job;
  std::string why;
  std::string command;               ///< of the terminal: where to mend it
  std::vector<std::string> touches;  ///< what it meets and is not released
};

struct TestPlan {
  sampling::Choice choice;
  std::vector<PlannedTest> tests;  ///< in the order of choice.tests
  std::vector<LeftOut> left_out;
  Change if_all_clear;  ///< every test of the plan
  std::optional<sampling::Turnaround> turnaround;
  std::optional<double> laboratory_days;  ///< used for waiting: recorded, else as the laboratory states
  catalogue::SamplingData how;
};

/// Fault: the price of a test is not written down in `about`.
[[nodiscard]] reason::Result<TestPlan> test_plan(const check::House& house);

[[nodiscard]] Json test_plan_json(const check::House& house, const TestPlan& plan);

}  // namespace lathbook::service
