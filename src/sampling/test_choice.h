// Which tests are worth paying for, given what each job costs either way.
//
// A job is done plain only if every material it touches was tested and found clear (in itself or through its *same
// piece*; one find on a piece identifies all of it), or is released already, or cannot hold asbestos (probability 0, in
// no group). Otherwise it is done at the cheaper of cost_as_asbestos and cost_elsewhere; never plain when plain costs
// more. So, for a set T of pieces tested all at once,
//
//   cost(T) = fixed [T not empty] + each |T| + sum over jobs of  alt - max(0, alt - plain) P(all it touches found
//   clear)
//
// the last term only for jobs all of whose pieces are in T. Those chances do not hang on T, they come from the
// look-alike forest (belief/forest.h) exactly, and so the choice is one of paying for what bundles of pieces earn
// (cover.h). Knowing every state for nothing: the same with P(none of it holds asbestos) and no test cost. In rounds:
// rounds.h, by parts that nothing joins; exact up to 10 pieces a part (8 in all when later rounds cost something), else
// between the best set and what knowing all results for nothing would save.
//
// Ties: fewer tests. Money in any one unit. A test that may miss (sensitivity below 1) lets jobs be done plain where
// asbestos is, at the plain price: such a plan looks cheaper than it is, and may even look better than knowing all.
// Checked against enumeration of worlds, results, sets and policies in test_choice_test.cpp; docs/methods/sampling.md.
#pragma once

#include <functional>
#include <optional>
#include <string>
#include <vector>

#include "belief/forest.h"
#include "reason/fault.h"
#include "reason/reason.h"
#include "sampling/rounds.h"

namespace lathbook::sampling {

struct Candidate {
  belief::Named name;               ///< id, group, how alike
  double probability = 0;           ///< its own prior
  int samples = 1;                  ///< that settle it; each is paid for
  double clear_if_asbestos = 0;     ///< P(all of them found clear | asbestos)
  double clear_if_none = 1;         ///< the same with none there
  double log_seen_if_asbestos = 0;  ///< of what the laboratory said so far
  double log_seen_if_none = 0;
  bool released = false;    ///< its standing lets plain work be done
  bool identified = false;  ///< asbestos was found in it or its piece: never plain
};

struct PlannedJob {
  std::string id;
  std::vector<std::string> touches;
  double cost_plain = 0;
  double cost_as_asbestos = 0;
  std::optional<double> cost_elsewhere;
};

struct TestPrice {
  double fixed = 0;              ///< if anything is tested at all
  double each = 0;               ///< for a sample
  double again = 0;              ///< for every round after the first
  double waiting = 0;            ///< what the wait for one round's results is worth
  std::optional<double> budget;  ///< for fixed + each × samples
};

struct ChoiceQuestion {
  std::vector<Candidate> materials;
  std::vector<belief::Named> groups;
  std::vector<PlannedJob> jobs;
  TestPrice test;
  std::function<std::string(double)> sum;  ///< how a sum is written in reasons; empty: with two decimals
};

struct CurvePoint {
  std::vector<std::string> tests;  ///< in the order of the question
  int samples = 0;
  double expected_cost = 0;
  double at_least = 0;  ///< no set of so many samples costs less
};

/// What a test in the plan saves: how much dearer everything would be without it.
struct Worth {
  std::string id;
  int samples = 1;
  double saves = 0;               ///< the test's own cost taken off
  double chance_clear = 0;        ///< given what is known now
  std::vector<std::string> jobs;  ///< that can be done plain only if it is clear
};

struct NotWorth {
  std::string id;
  std::string why;
  bool idle = false;  ///< no job of the question touches it
};

/// One part of the policy in rounds: its materials and the tree of steps over them (positions in `materials`).
struct PolicyPart {
  std::vector<std::string> materials;
  std::vector<Step> first;  ///< one
};

struct InRounds {
  double expected_cost = 0;
  double at_least = 0;
  bool exact = true;
  std::vector<std::string> first;  ///< what to test now
  std::vector<PolicyPart> parts;   ///< spelled out, as far as they are small
};

struct Choice {
  double cost_now = 0;
  double cost_best = 0;
  double cost_with_perfect_information = 0;
  std::vector<std::string> tests;  ///< what saves most for its cost first
  std::vector<CurvePoint> curve;   ///< best cost for 0, 1, 2 … samples, within the budget
  InRounds policy;
  bool exact = true;
  double gap = 0;                   ///< (cost_best - bound) / cost_best
  std::vector<Worth> worth;         ///< of `tests`, in that order
  std::vector<NotWorth> not_worth;  ///< every other material some job touches, in the order of the question
  reason::Reasons reasons;
};

/// Faults: those of the groups (belief::make_forest), an unknown material in a job, a job given twice, probabilities
/// outside 0 to 1, negative costs.
[[nodiscard]] reason::Result<Choice> choose_tests(const ChoiceQuestion& question);

}  // namespace lathbook::sampling
