// The day, the laboratory and its accreditation, where a report says them plainly.
#pragma once

#include <optional>
#include <span>
#include <string>
#include <string_view>

#include "laboratory/rows.h"
#include "reason/date.h"

namespace lathbook::laboratory {

struct Letterhead {
  std::optional<reason::Date> reported_on;
  std::optional<reason::Date> analysed_on;
  std::string laboratory;
  std::string accreditation;
};

/// A day is taken only from behind its name ("Date of report: 25 November 2026") and left out when two are told.
[[nodiscard]] Letterhead letterhead_of(std::span<const Row> rows);

/// The first day in a text: 2026-11-25, 25/11/2026 (day first, as the countries of the rule packs write it), 25 Nov
/// 2026.
[[nodiscard]] std::optional<reason::Date> day_in(std::string_view small_letters);

}  // namespace lathbook::laboratory
