// What the front doors show of a book: the same answers as JSON, for the command's --json and later for the page.
#pragma once

#include <nlohmann/json_fwd.hpp>
#include <optional>
#include <string_view>

#include "assess/advice.h"
#include "assess/score.h"
#include "check/check.h"
#include "check/house.h"
#include "reason/date.h"
#include "reason/fault.h"

namespace lathbook::service {

using Json = nlohmann::json;

/// The fault of a book whose rules this program does not have.
[[nodiscard]] reason::Fault unknown_rules(const book::Book& book);
/// The catalogue, the evidence data and the book's rule pack, as shipped. Fault: rules this program does not have.
[[nodiscard]] reason::Result<check::Knowledge> knowledge_for(const book::Book& book);

/// Everything worked out of one material.
struct MaterialSheet {
  assess::MaterialScore score;
  std::optional<assess::PriorityScore> priority;
  assess::Recommendation advice;
  assess::NextLook next_look;
};

/// Empty for a material that plain work is released on, and for one that has been removed.
[[nodiscard]] std::optional<MaterialSheet> material_sheet(const check::House& house, std::size_t index,
                                                          reason::Date today);

/// `{"job", "title", "verdict", "exit_status", "sentence", "class", "duties", "touches", …}`.
[[nodiscard]] Json check_json(const check::House& house, const check::Answer& answer);
/// One material with its standing, belief, scores and advice.
[[nodiscard]] Json material_json(const check::House& house, std::size_t index, reason::Date today);
/// The house at a glance.
[[nodiscard]] Json overview_json(const check::House& house);

/// "14 %" – whole per cents, "under 1 %" and "over 99 %" at the ends: never 0 or 100 for what is not certain.
[[nodiscard]] std::string percent(double probability);

/// "14 % (6 % to 30 %)"; the figure alone where the range reads the same.
[[nodiscard]] std::string percent_with_range(const evidence::Belief& belief);

}  // namespace lathbook::service
