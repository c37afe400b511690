// What the law calls a piece of work, who may do it, and what it asks of them.
//
// The first rule of the pack that matches decides the class; then the first permission that matches decides whether the
// person named may do it. All rules that match are given, so that one sees what else would have caught it. Where no
// rule or permission matches the answer is the strictest: licensed, and no. Where the region is not said and the pack's
// regions differ, the answer is the strictest of theirs. Pure: the pack comes in.
//
// Checked in tests/published/gb_work_class.csv against the regulator's own examples, and over every point of the grid
// of conditions: a dirtier, more friable, more disturbed or longer job is never judged milder.
#pragma once

#include <vector>

#include "law/pack.h"
#include "reason/reason.h"

namespace lathbook::law {

/// A piece of work. Minutes and area are those that count together under the pack's limits (docs/formats/rule-pack.md),
/// setting up and clearing up included.
struct WorkQuestion {
  const catalogue::Family& family;
  const catalogue::Task& task;
  book::Damage damage = book::Damage::kNone;
  std::vector<book::Fibre> fibres;    ///< empty = not known
  double minutes_longest_person = 0;  ///< finite, not negative
  double minutes_all_people = 0;      ///< never read as less than the longest person's
  book::Who by = book::Who::kHouseholder;
  std::optional<bool> kept_whole;  ///< absent: as the task goes
  bool released = false;           ///< its standing is no asbestos detected, or proven later than the ban
  std::optional<double> area_m2;   ///< taken out, in all; absent = not known, which is beyond every limit of area
  std::string region;              ///< where the house stands; empty = not said: the strictest of the pack's regions
};

/// The answer. Pointers are into the pack, which must outlive it.
struct WorkClass {
  Outcome outcome = Outcome::kLicensed;
  May may = May::kNo;
  std::string called;                ///< the rule's own word for the work, or its class's name
  const Rule* rule = nullptr;        ///< the rule that decided; nullptr when none matched
  std::vector<const Rule*> matches;  ///< all that match, in order
  const Permission* permission = nullptr;
  std::vector<Duty> duties;             ///< of the class: what the law asks of whoever does it as a trade
  std::vector<Precaution> precautions;  ///< in the order one does them; only when may is "with precautions"
  reason::Reasons reasons;
};

/// What the work is called, as it stands alone: "licensed work", "Class B licensed removal".
[[nodiscard]] std::string as_work(const WorkClass& work);

[[nodiscard]] bool matches(const RulePack& pack, const Condition& condition, const WorkQuestion& question);

[[nodiscard]] WorkClass classify(const RulePack& pack, const WorkQuestion& question);

}  // namespace lathbook::law
