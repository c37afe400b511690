// When can each thing start, what holds it up, and how long may it slip: the critical path over tests, notices, lead
// times, removals, clearances and jobs.
//
// Forward, in order of precedence, on an axis of days (all days, or working days: Monday to Friday less holidays):
//   start_i  = first open moment at or after max(not_before_i, lead_i + max_{j in after_i} finish_j)
//              (the lead runs from what must come before, or from the start; not_before does not add to it)
//   finish_i = start_i + days_i of open days
// Backward from the last finish: late_finish_i = min_j (late_start_j − lead_j) over what follows;
// slack_i = late_start_i − start_i, in days of the axis. An activity with no slack is critical.
//
// Days may be fractions: positions on the axis are real numbers, `start` is the day work begins and `finish` the first
// day on which nothing of it remains to do. On the axis of working days that is a working day: five days from a Monday
// finish on the next Monday. An activity of no length finishes where it starts. Closed days (people away, school
// holidays, weekends for one activity, no dry weather) stretch the activity they belong to. Not modelled: one person
// doing two things at once is not prevented; put one after the other with `after`. Source: Kelley & Walker 1959, in any
// textbook of operations research. Checked in plan_test.cpp against printed examples
// (tests/published/critical_paths.csv), a brute-force longest path and by properties.
#pragma once

#include <cstdint>
#include <optional>
#include <string>
#include <string_view>
#include <vector>

#include "reason/date.h"
#include "reason/fault.h"
#include "reason/reason.h"

namespace lathbook::timeline {

using reason::Date;

enum class Calendar { kCalendar, kWorking };

/// Days from `from` to `to`, both included.
struct Period {
  Date from;
  Date to;
  std::string why;  ///< "away", "school holidays", "no dry weather"; may be empty
};

/// How long something takes; equal figures when it is certain.
struct Days {
  double low = 0;
  double likely = 0;
  double high = 0;
  [[nodiscard]] bool certain() const { return low == high; }
};

/// An activity that only happens when a branch turns out one way.
struct Condition {
  std::string branch;
  bool happens = true;
};

/// Something not yet known, such as whether a sample holds asbestos.
struct Branch {
  std::string id;
  double chance = 0.5;  ///< that it happens
};

struct Activity {
  std::string id;
  std::string name;  ///< shown in charts and calendars; the id when empty
  Days days;
  std::vector<std::string> after;
  double lead_days = 0;  ///< days to wait once everything in `after` is done
  std::optional<Date> not_before;
  std::vector<Period> closed;        ///< days on which it cannot be worked on
  bool weekdays_only = false;        ///< closed at weekends although the axis counts every day
  std::optional<Condition> only_if;  ///< when the condition fails it takes no time and has no lead
};

struct Request {
  Date start;
  Calendar calendar = Calendar::kCalendar;
  std::vector<Date> holidays =
      {};  ///< no working days; only matter on the axis of working days or with `weekdays_only`
  std::vector<Activity> activities = {};
  std::vector<Branch> branches = {};
};

/// What an activity waits for.
enum class HeldBy { kStart, kAfter, kNotBefore, kClosed };

/// "start", "after", "not before", "closed days": what answers as JSON call it.
[[nodiscard]] std::string_view word(HeldBy held);

struct Scheduled {
  std::string id;
  Date start;
  Date finish;
  double slack_days = 0;
  bool critical = false;
  bool skipped = false;  ///< its condition fails
  HeldBy held_by = HeldBy::kStart;
  std::vector<std::string> held_by_ids;  ///< the activities it waits for longest
};

struct Plan {
  std::vector<Scheduled> activities;  ///< in the order given
  std::vector<std::string> critical;  ///< ids, by start
  Date finish;
  reason::Reasons reasons;
};

/// The plan with likely durations, taking every branch as happening (an untested suspect is taken as asbestos).
/// Faults: ids twice or unknown, circles (each named in full), days out of order, a date out of reach (200 years).
[[nodiscard]] reason::Result<Plan> plan(const Request& request);

struct DateRange {
  Date low;  ///< nothing takes longer than its least
  Date p10;
  Date median;
  Date p90;
  Date high;  ///< everything takes its most
};

struct RangedActivity {
  std::string id;
  DateRange start;
  DateRange finish;
  double critical_share = 0;  ///< share of draws in which it has no slack
  double happens_share = 1;   ///< share of draws in which it happens at all
};

struct Ranges {
  std::vector<RangedActivity> activities;
  DateRange finish;
  int draws = 0;
  bool bounds_exact = true;  ///< low and high were found by going through every way the branches can fall
};

/// Earliest dates when durations and branches are uncertain. Durations are drawn from triangular distributions,
/// branches by their chance, all independent; each draw depends on (seed, draw, position) alone, so the answer never
/// changes. low and high are bounds, not percentiles: exact up to 12 branches, outer bounds above that.
[[nodiscard]] reason::Result<Ranges> ranges(const Request& request, int draws = 2000, std::uint64_t seed = 1);

}  // namespace lathbook::timeline
