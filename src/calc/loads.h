// Trips as JSON tells them, shared by the topic `load-plan` and the book's own answer.
#pragma once

#include "calc/topic.h"
#include "waste/load.h"

namespace lathbook::calc {

/// `trips`, `will_not_go`, `proved_fewest` and `at_least` of a plan.
[[nodiscard]] Json loads_json(const waste::LoadPlan& plan);

}  // namespace lathbook::calc
