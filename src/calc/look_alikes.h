// Groups of look-alikes as JSON gives them, shared by the topics that take them.
#pragma once

#include <vector>

#include "belief/forest.h"
#include "calc/topic.h"

namespace lathbook::calc {

/// `id`, `group` and `alike` of a material or a group.
[[nodiscard]] belief::Named named(const Json& from);

/// The groups of `/groups`, which says how groups nest, and after them every other group that a material or a group
/// names: those stand at the top.
[[nodiscard]] std::vector<belief::Named> groups_of(const Json& input);

}  // namespace lathbook::calc
