// What a schema cannot say of a plan and of the things placed on it.
#pragma once

#include <string>

#include "book/book.h"
#include "fabric/plan.h"
#include "reason/fault.h"

namespace lathbook::fabric {

/// All faults of a house's geometry: those of Plan::build, doors and windows that overlap on a wall by more than
/// 10 mm each way (the later one is named, with the earlier in the sentence), and materials and cuts (of jobs and
/// events) on faces that do not exist, or with shapes that cross themselves, have no area, or lie off their face by
/// more than the position uncertainty. Named by id ("M7 shape"). Quick enough to run at every edit: about linear in
/// rooms, materials and cuts.
[[nodiscard]] reason::Faults validate(const book::Book& book);

/// The same for one place on a sound plan; `where` names what is placed ("M7", "J3/cuts/1", or "/materials/6").
[[nodiscard]] reason::Faults check_place(const Plan& plan, const book::Place& place, const std::string& where,
                                         Naming naming = Naming::kId);

}  // namespace lathbook::fabric
