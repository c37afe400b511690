// The list of topics: one function each, in calc_<module>.cpp. Add a topic here, its schema in schemas/<topic>.json.
#pragma once

#include <array>

#include "calc/topic.h"

namespace lathbook::calc {

inline constexpr std::array<Topic, 0> kTopics = {};

}  // namespace lathbook::calc
