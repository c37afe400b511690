// `timeline` as JSON.
#include <fmt/format.h>

#include "calc/topics.h"
#include "timeline/plan.h"

namespace lathbook::calc {
namespace {

using reason::Date;

Date date_of(const Json& from) { return *Date::parse(from.get_ref<const std::string&>()); }

timeline::Days days_of(const Json& from) {
  if (from.is_number()) return {from, from, from};
  return {from[0], from[1], from[2]};
}

timeline::Activity activity_of(const Json& from, std::size_t index, reason::Faults& faults) {
  timeline::Activity activity;
  activity.id = from["id"];
  activity.name = from.value("name", "");
  activity.days = days_of(from["days"]);
  activity.after = from.value("after", std::vector<std::string>{});
  activity.lead_days = from.value("lead_days", 0.0);
  if (from.contains("not_before")) activity.not_before = date_of(from["not_before"]);
  activity.weekdays_only = from.value("weekdays_only", false);
  if (from.contains("only_if")) {
    activity.only_if =
        timeline::Condition{from["only_if"]["branch"].get<std::string>(), from["only_if"].value("happens", true)};
  }
  if (!from.contains("closed")) return activity;
  for (std::size_t i = 0; i < from["closed"].size(); ++i) {
    const auto& period = from["closed"][i];
    timeline::Period closed{date_of(period["from"]), date_of(period["to"]), period.value("why", "")};
    if (closed.to < closed.from) {
      faults.push_back({.where = fmt::format("/activities/{}/closed/{}/to", index, i),
                        .value = closed.to.text(),
                        .problem = "is before its beginning",
                        .allowed = closed.from.text() + " or later"});
    }
    activity.closed.push_back(std::move(closed));
  }
  return activity;
}

Json dates_json(const timeline::DateRange& range) {
  return {{"low", range.low.text()},
          {"p10", range.p10.text()},
          {"median", range.median.text()},
          {"p90", range.p90.text()},
          {"high", range.high.text()}};
}

}  // namespace

reason::Result<Json> timeline_plan(const Json& input) {
  reason::Faults faults;
  timeline::Request request{.start = date_of(input["start"]), .calendar = timeline::Calendar::kCalendar};
  if (input.value("calendar", "calendar") == "working") request.calendar = timeline::Calendar::kWorking;
  for (const auto& day : input.value("holidays", Json::array())) request.holidays.push_back(date_of(day));
  bool uncertain = false;
  for (const auto& from : input["activities"]) {
    request.activities.push_back(activity_of(from, request.activities.size(), faults));
    uncertain = uncertain || !request.activities.back().days.certain();
  }
  for (const auto& from : input.value("branches", Json::array())) {
    request.branches.push_back({from["id"].get<std::string>(), from.value("chance", 0.5)});
    uncertain = true;
  }
  if (!faults.empty()) return faults;

  const auto planned = timeline::plan(request);
  if (!planned.ok()) return planned.faults();
  Json activities = Json::array();
  for (const auto& one : planned->activities) {
    Json row = {{"id", one.id},
                {"start", one.start.text()},
                {"finish", one.finish.text()},
                {"slack_days", one.slack_days},
                {"critical", one.critical},
                {"held_by", word(one.held_by)}};
    if (one.skipped) row["skipped"] = true;
    if (!one.held_by_ids.empty()) row["held_by_ids"] = one.held_by_ids;
    activities.push_back(std::move(row));
  }
  Json answer = {{"critical", planned->critical}, {"finish", planned->finish.text()}};
  reason::Reasons reasons = planned->reasons;
  if (uncertain) {
    const auto ranged = timeline::ranges(request, input.value("draws", 2000), input.value("seed", std::uint64_t{1}));
    if (!ranged.ok()) return ranged.faults();
    for (std::size_t i = 0; i < activities.size(); ++i) {
      const auto& one = ranged->activities[i];
      activities[i]["range"] = {{"start", dates_json(one.start)},
                                {"finish", dates_json(one.finish)},
                                {"critical_share", one.critical_share},
                                {"happens_share", one.happens_share}};
    }
    answer["finish_range"] = dates_json(ranged->finish);
    reasons.push_back(
        {fmt::format("Ranges from {} draws; each duration triangular between its three figures, all independent.",
                     ranged->draws),
         "judgement"});
    if (!ranged->bounds_exact) {
      reasons.push_back({"With so many unknowns the earliest and latest dates are outer bounds.", "arithmetic"});
    }
  }
  answer["activities"] = std::move(activities);
  answer["reasons"] = reasons_json(reasons);
  return answer;
}

}  // namespace lathbook::calc
