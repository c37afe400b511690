// "When may each job start?": the jobs with the tests, notices, removals and clearances they wait for, put in order,
// with the dates as ranges, what holds each up, which removals to call in together, and a calendar of everything that
// has a date.
//
// What a job waits for follows from its verdict (check): *test first* puts a test before it and, should it find
// asbestos, a removal and its clearance; *have it removed first* puts those before it outright; a removal already under
// way keeps its dates. Durations nobody wrote down are typical ones, low to high, and marked so in the reasons.
#pragma once

#include <nlohmann/json_fwd.hpp>
#include <optional>
#include <string>
#include <vector>

#include "check/check.h"
#include "reason/date.h"
#include "reason/fault.h"
#include "timeline/bundle.h"
#include "timeline/icalendar.h"
#include "timeline/plan.h"

namespace lathbook::service {

using Json = nlohmann::json;

struct TimelineQuestion {
  reason::Date today;
  /// Days on which the household does nothing and lets nobody in, and those inside which roofs are only opened when any
  /// are given: besides the ones written in the book.
  std::vector<timeline::Period> away;
  std::vector<timeline::Period> dry;
};

/// One line of the plan.
struct TimelineRow {
  timeline::Activity activity;
  timeline::Scheduled planned;
  timeline::RangedActivity range;
  std::optional<std::size_t> job;       ///< in Book::jobs, when it is one
  std::optional<std::size_t> material;  ///< in Book::materials, when it is about one
};

struct TimelineAnswer {
  std::vector<TimelineRow> rows;  ///< by earliest start
  reason::Date finish;
  timeline::DateRange finish_range;
  std::vector<timeline::Period> away;             ///< of the book and of the question
  std::vector<timeline::Period> dry;              ///< likewise
  std::optional<timeline::Bundling> bundling;     ///< when two or more are still to be booked from a priced firm
  std::vector<timeline::CalendarEntry> calendar;  ///< jobs, tests, removals, looks, expiries
  std::vector<std::string> next;
  reason::Reasons reasons;
};

[[nodiscard]] reason::Result<TimelineAnswer> timeline_answer(const check::House& house,
                                                             const TimelineQuestion& question);
[[nodiscard]] Json timeline_json(const check::House& house, const TimelineAnswer& answer);
[[nodiscard]] std::string timeline_text(const TimelineAnswer& answer);  ///< the chart, 80 columns
[[nodiscard]] std::string timeline_svg(const check::House& house, const TimelineAnswer& answer);
/// `book_key` makes entries of two books differ; `written_at` is `YYYY-MM-DDThh:mm:ssZ`.
[[nodiscard]] std::string timeline_ics(const TimelineAnswer& answer, const std::string& book_key,
                                       const std::string& written_at);

}  // namespace lathbook::service
