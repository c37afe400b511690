#include "timeline/plan.h"

#include <fmt/format.h>
#include <fmt/ranges.h>

#include <algorithm>
#include <cmath>
#include <cstdint>
#include <limits>
#include <map>
#include <memory>
#include <numeric>
#include <set>

namespace lathbook::timeline {
namespace {

constexpr double kTiny = 1e-9;
constexpr int kHorizonDays = 73050;  // 200 years: further off a date is a slip of the pen

/// Which real day each position of the axis is.
class DayAxis {
 public:
  DayAxis(Date start, Calendar calendar, const std::vector<Date>& holidays)
      : calendar_(calendar), holidays_(holidays.begin(), holidays.end()), start_(start) {
    if (calendar_ == Calendar::kCalendar) return;
    days_.reserve(512);
    last_ = start_.plus_days(-1);
    extend_to(0);
  }

  [[nodiscard]] bool working(Date day) const { return day.iso_weekday() <= 5 && !holidays_.contains(day); }

  [[nodiscard]] Date date(int position) const {
    if (calendar_ == Calendar::kCalendar) return start_.plus_days(position);
    extend_to(position);
    return days_[static_cast<std::size_t>(position)];
  }

  /// The first position on or after `day`, never before 0.
  [[nodiscard]] int position(Date day) const {
    if (calendar_ == Calendar::kCalendar) return std::max(0, start_.days_until(day));
    while (last_ < day) extend_to(static_cast<int>(days_.size()));
    return static_cast<int>(std::lower_bound(days_.begin(), days_.end(), day) - days_.begin());
  }

 private:
  void extend_to(int position) const {
    while (static_cast<int>(days_.size()) <= position) {
      last_ = last_.plus_days(1);
      if (working(last_)) days_.push_back(last_);
    }
  }

  Calendar calendar_;
  std::set<Date> holidays_;
  Date start_;
  // Filled as far as anyone has looked; looking does not change what the axis says.
  mutable std::vector<Date> days_;
  mutable Date last_ = start_;
};

/// The positions an activity cannot use.
class Closed {
 public:
  Closed(std::shared_ptr<const DayAxis> axis, const Activity& activity)
      : axis_(std::move(axis)), weekdays_only_(activity.weekdays_only) {
    for (const auto& period : activity.closed) {
      const int from = axis_->position(period.from);
      const int to = axis_->position(period.to.plus_days(1));
      if (from < to) spans_.emplace_back(from, to);
    }
    std::ranges::sort(spans_);
  }

  [[nodiscard]] bool none() const { return spans_.empty() && !weekdays_only_; }

  [[nodiscard]] bool on(int position) const {
    if (weekdays_only_ && !axis_->working(axis_->date(position))) return true;
    for (const auto& [from, to] : spans_) {
      if (from > position) break;
      if (position < to) return true;
    }
    return false;
  }

  /// First open moment at or after `at`.
  [[nodiscard]] double open_from(double at) const {
    if (none()) return at;
    int day = static_cast<int>(std::floor(at + kTiny));
    if (!on(day)) return at;
    while (on(day) && day < kHorizonDays) ++day;
    return day;
  }

  /// Where `days` of open time from `at` end.
  [[nodiscard]] double advance(double at, double days) const {
    if (none() || days <= 0) return at + std::max(0.0, days);
    double left = days;
    int day = static_cast<int>(std::floor(at + kTiny));
    double from = at;
    while (day < kHorizonDays) {
      if (!on(day)) {
        const double room = day + 1 - std::max(from, static_cast<double>(day));
        if (left <= room + kTiny) return std::max(from, static_cast<double>(day)) + left;
        left -= room;
      }
      ++day;
    }
    return day;
  }

  /// The latest start from which `days` of open time end by `by`.
  [[nodiscard]] double retreat(double by, double days) const {
    if (none() || days <= 0) return by - std::max(0.0, days);
    double left = days;
    int day = static_cast<int>(std::ceil(by - kTiny)) - 1;
    while (day >= -kHorizonDays) {
      if (day < 0 || !on(day)) {  // before the start nothing is closed: the answer is a negative slack at worst
        const double top = std::min(by, static_cast<double>(day + 1));
        const double room = top - day;
        if (left <= room + kTiny) return top - left;
        left -= room;
      }
      --day;
    }
    return day;
  }

 private:
  std::shared_ptr<const DayAxis> axis_;
  bool weekdays_only_;
  std::vector<std::pair<int, int>> spans_;
};

/// The request with names resolved, ready to be run many times.
struct Network {
  const Request* request = nullptr;
  std::shared_ptr<const DayAxis> axis;           // shared, so that the network may be moved
  std::vector<std::vector<std::size_t>> before;  // predecessors of each
  std::vector<std::size_t> order;                // predecessors first
  std::vector<double> not_before;                // position, or 0
  std::vector<Closed> closed;
  std::vector<std::size_t> branch;  // index of the branch each depends on; SIZE_MAX = none
};

constexpr std::size_t kNone = std::numeric_limits<std::size_t>::max();

std::string shown(double number) { return fmt::format("{:g}", number); }

/// Every circle among activities that cannot be ordered: one for each knot of them.
std::vector<std::vector<std::size_t>> circles(const std::vector<std::vector<std::size_t>>& before,
                                              const std::vector<int>& unplaced) {
  std::vector<std::vector<std::size_t>> found;
  std::vector<char> seen(before.size(), 0);
  for (std::size_t from = 0; from < before.size(); ++from) {
    if (unplaced[from] == 0 || seen[from]) continue;
    // Walking back along unplaced predecessors must come round, since each unplaced one has an unplaced predecessor.
    std::vector<std::size_t> path;
    std::map<std::size_t, std::size_t> at;
    std::size_t here = from;
    while (!at.contains(here) && !seen[here]) {
      at[here] = path.size();
      path.push_back(here);
      for (const auto next : before[here]) {
        if (unplaced[next] != 0) {
          here = next;
          break;
        }
      }
    }
    if (at.contains(here)) {
      std::vector<std::size_t> circle(path.begin() + static_cast<std::ptrdiff_t>(at[here]), path.end());
      std::ranges::reverse(circle);  // in the order the work would be done
      std::rotate(circle.begin(), std::ranges::min_element(circle), circle.end());
      found.push_back(std::move(circle));
    }
    for (const auto one : path) seen[one] = 1;
  }
  return found;
}

reason::Result<Network> network_of(const Request& request) {
  reason::Faults faults;
  if (request.start.year() > 9000) {
    faults.push_back({.where = "/start",
                      .value = request.start.text(),
                      .problem = "is too far off",
                      .allowed = "a year up to 9000"});
    return faults;  // no axis of days can be laid from there
  }
  const auto at = [](std::size_t i, const char* field) { return fmt::format("/activities/{}/{}", i, field); };
  std::map<std::string, std::size_t> index;
  std::map<std::string, std::size_t> branches;
  for (std::size_t i = 0; i < request.branches.size(); ++i) {
    const auto& branch = request.branches[i];
    if (!branches.emplace(branch.id, i).second) {
      faults.push_back({.where = fmt::format("/branches/{}/id", i),
                        .value = branch.id,
                        .problem = "is used twice",
                        .allowed = "an id of its own"});
    }
    if (!(branch.chance >= 0 && branch.chance <= 1)) {
      faults.push_back({.where = fmt::format("/branches/{}/chance", i),
                        .value = shown(branch.chance),
                        .problem = "is no probability",
                        .allowed = "0 to 1"});
    }
  }
  for (std::size_t i = 0; i < request.activities.size(); ++i) {
    if (!index.emplace(request.activities[i].id, i).second) {
      faults.push_back({.where = at(i, "id"),
                        .value = request.activities[i].id,
                        .problem = "is used twice",
                        .allowed = "an id of its own"});
    }
  }
  Network net{.request = &request,
              .axis = std::make_shared<const DayAxis>(request.start, request.calendar, request.holidays),
              .before = {},
              .order = {},
              .not_before = {},
              .closed = {},
              .branch = {}};
  const std::size_t n = request.activities.size();
  net.before.resize(n);
  for (std::size_t i = 0; i < n; ++i) {
    const auto& activity = request.activities[i];
    const auto& days = activity.days;
    if (!(days.low >= 0 && days.low <= days.likely && days.likely <= days.high)) {
      faults.push_back({.where = at(i, "days"),
                        .value = fmt::format("[{:g},{:g},{:g}]", days.low, days.likely, days.high),
                        .problem = "is out of order",
                        .allowed = "low, likely and high, from 0 upwards"});
    }
    if (!(activity.lead_days >= 0)) {
      faults.push_back({.where = at(i, "lead_days"),
                        .value = shown(activity.lead_days),
                        .problem = "is negative",
                        .allowed = "0 or more"});
    }
    for (std::size_t k = 0; k < activity.after.size(); ++k) {
      const auto found = index.find(activity.after[k]);
      if (found == index.end()) {
        faults.push_back({.where = at(i, "after") + fmt::format("/{}", k),
                          .value = activity.after[k],
                          .problem = "is no activity here",
                          .allowed = "the id of another activity"});
      } else {
        net.before[i].push_back(found->second);
      }
    }
    std::size_t branch = kNone;
    if (activity.only_if) {
      const auto found = branches.find(activity.only_if->branch);
      if (found == branches.end()) {
        faults.push_back({.where = at(i, "only_if"),
                          .value = activity.only_if->branch,
                          .problem = "is no branch here",
                          .allowed = "the id of a branch"});
      } else {
        branch = found->second;
      }
    }
    net.branch.push_back(branch);
    if (activity.not_before && request.start.days_until(*activity.not_before) > kHorizonDays) {
      faults.push_back({.where = at(i, "not_before"),
                        .value = activity.not_before->text(),
                        .problem = "is more than 200 years after the start",
                        .allowed = "a nearer date"});
      net.not_before.push_back(0);
    } else {
      net.not_before.push_back(activity.not_before ? net.axis->position(*activity.not_before) : 0);
    }
  }
  if (!faults.empty()) return faults;

  // Kahn's order, taking the lowest free index each time so that it does not depend on how the lists were written.
  std::vector<int> waiting(n, 0);
  std::vector<std::vector<std::size_t>> next(n);
  for (std::size_t i = 0; i < n; ++i) {
    waiting[i] = static_cast<int>(net.before[i].size());
    for (const auto j : net.before[i]) next[j].push_back(i);
  }
  std::set<std::size_t> free;
  for (std::size_t i = 0; i < n; ++i) {
    if (waiting[i] == 0) free.insert(i);
  }
  while (!free.empty()) {
    const auto i = *free.begin();
    free.erase(free.begin());
    net.order.push_back(i);
    for (const auto j : next[i]) {
      if (--waiting[j] == 0) free.insert(j);
    }
  }
  if (net.order.size() < n) {
    for (const auto& circle : circles(net.before, waiting)) {
      std::string names;
      for (const auto i : circle) names += request.activities[i].id + " → ";
      names += request.activities[circle.front()].id;
      faults.push_back({.where = fmt::format("/activities/{}/after", circle.front()),
                        .value = names,
                        .problem = "goes round in a circle: each waits for the one before",
                        .allowed = "an order with a first activity"});
    }
    return faults;
  }
  net.closed.reserve(n);
  for (const auto& activity : request.activities) net.closed.emplace_back(net.axis, activity);
  return net;
}

struct Times {
  std::vector<double> start;
  std::vector<double> finish;
  double end = 0;
};

/// Whether an activity happens for one way the branches fall.
bool happens(const Network& net, std::size_t i, const std::vector<char>& branch) {
  if (net.branch[i] == kNone) return true;
  return (branch[net.branch[i]] != 0) == net.request->activities[i].only_if->happens;
}

void forward(const Network& net, const std::vector<double>& days, const std::vector<char>& active, Times& times) {
  times.start.assign(days.size(), 0);
  times.finish.assign(days.size(), 0);
  times.end = 0;
  for (const auto i : net.order) {
    double ready = 0;
    for (const auto j : net.before[i]) ready = std::max(ready, times.finish[j]);
    if (active[i]) {
      ready = std::max(ready + net.request->activities[i].lead_days, net.not_before[i]);
      if (days[i] > 0) ready = net.closed[i].open_from(ready);
      times.finish[i] = net.closed[i].advance(ready, days[i]);
    } else {
      times.finish[i] = ready;
    }
    times.start[i] = ready;
    times.end = std::max(times.end, times.finish[i]);
  }
}

/// Latest starts that keep the last finish.
std::vector<double> backward(const Network& net, const std::vector<double>& days, const std::vector<char>& active,
                             const Times& times) {
  std::vector<double> late_finish(days.size(), times.end);
  std::vector<double> late_start(days.size(), 0);
  for (auto at = net.order.rbegin(); at != net.order.rend(); ++at) {
    const auto i = *at;
    late_start[i] = active[i] ? net.closed[i].retreat(late_finish[i], days[i]) : late_finish[i];
    const double lead = active[i] ? net.request->activities[i].lead_days : 0;
    for (const auto j : net.before[i]) late_finish[j] = std::min(late_finish[j], late_start[i] - lead);
  }
  return late_start;
}

Date start_date(const DayAxis& axis, double at) { return axis.date(static_cast<int>(std::floor(at + kTiny))); }
Date finish_date(const DayAxis& axis, double at) { return axis.date(static_cast<int>(std::ceil(at - kTiny))); }

std::optional<reason::Fault> too_far(const Network& net, const Times& times) {
  for (const auto i : net.order) {
    if (times.finish[i] >= kHorizonDays) {
      return reason::Fault{.where = fmt::format("/activities/{}", i),
                           .value = net.request->activities[i].id,
                           .problem = "would not be finished within 200 years",
                           .allowed = "shorter days, or days on which it is not closed"};
    }
  }
  return std::nullopt;
}

/// Uniform in (0, 1) from (seed, draw, position) alone: splitmix64's finalizer over the three.
double uniform(std::uint64_t seed, std::uint64_t draw, std::uint64_t position) {
  std::uint64_t z = seed * 0x9E3779B97F4A7C15ULL + draw * 0xD1B54A32D192ED03ULL + position * 0x8CB92BA72F3D8DD7ULL +
                    0x632BE59BD9B4E019ULL;
  for (int round = 0; round < 2; ++round) {
    z = (z ^ (z >> 30)) * 0xBF58476D1CE4E5B9ULL;
    z = (z ^ (z >> 27)) * 0x94D049BB133111EBULL;
    z ^= z >> 31;
  }
  return (static_cast<double>(z >> 11) + 0.5) * 0x1.0p-53;
}

double triangular(const Days& days, double u) {
  const double span = days.high - days.low;
  if (span <= 0) return days.likely;
  const double turn = (days.likely - days.low) / span;
  if (u < turn) return days.low + std::sqrt(u * span * (days.likely - days.low));
  return days.high - std::sqrt((1 - u) * span * (days.high - days.likely));
}

}  // namespace

std::string_view word(HeldBy held) {
  switch (held) {
    case HeldBy::kStart:
      return "start";
    case HeldBy::kAfter:
      return "after";
    case HeldBy::kNotBefore:
      return "not before";
    case HeldBy::kClosed:
      return "closed days";
  }
  return "start";
}

reason::Result<Plan> plan(const Request& request) {
  auto made = network_of(request);
  if (!made.ok()) return made.faults();
  const Network& net = *made;
  const std::size_t n = request.activities.size();
  const std::vector<char> branch(request.branches.size(), 1);
  std::vector<double> days(n);
  std::vector<char> active(n);
  for (std::size_t i = 0; i < n; ++i) {
    active[i] = happens(net, i, branch) ? 1 : 0;
    days[i] = active[i] ? request.activities[i].days.likely : 0;
  }
  Times times;
  forward(net, days, active, times);
  if (auto fault = too_far(net, times)) return *fault;
  const auto late = backward(net, days, active, times);

  Plan out{.activities = {}, .critical = {}, .finish = finish_date(*net.axis, times.end), .reasons = {}};
  for (std::size_t i = 0; i < n; ++i) {
    const auto& activity = request.activities[i];
    double slack = late[i] - times.start[i];
    if (std::abs(slack) < kTiny) slack = 0;
    Scheduled one{.id = activity.id,
                  .start = start_date(*net.axis, times.start[i]),
                  .finish = finish_date(*net.axis, times.finish[i]),
                  .slack_days = slack,
                  .critical = slack == 0 && active[i] != 0,
                  .skipped = active[i] == 0,
                  .held_by = HeldBy::kStart,
                  .held_by_ids = {}};
    double ready = 0;
    for (const auto j : net.before[i]) ready = std::max(ready, times.finish[j]);
    const double led = ready + (active[i] ? activity.lead_days : 0);
    if (active[i] && times.start[i] > std::max(led, net.not_before[i]) + kTiny) {
      one.held_by = HeldBy::kClosed;
    } else if (active[i] && net.not_before[i] > led + kTiny) {
      one.held_by = HeldBy::kNotBefore;
    } else if (!net.before[i].empty()) {
      one.held_by = HeldBy::kAfter;
      for (const auto j : net.before[i]) {
        if (times.finish[j] >= ready - kTiny) one.held_by_ids.push_back(request.activities[j].id);
      }
    }
    out.activities.push_back(std::move(one));
  }
  std::vector<std::size_t> by_start(n);
  std::iota(by_start.begin(), by_start.end(), std::size_t{0});
  std::ranges::stable_sort(by_start, {}, [&](std::size_t i) { return std::pair(times.start[i], times.finish[i]); });
  std::vector<std::string> critical_names;
  for (const auto i : by_start) {
    if (!out.activities[i].critical) continue;
    const auto& activity = request.activities[i];
    out.critical.push_back(activity.id);
    critical_names.push_back(activity.name.empty() ? activity.id : activity.name);
  }
  const char* kind = request.calendar == Calendar::kWorking ? "working days" : "calendar days";
  out.reasons.push_back(
      {fmt::format("{} activities from {} in {}: each starts when the last of those before it is done.", n,
                   request.start.text(), kind),
       "kelley-walker-1959"});
  if (!critical_names.empty()) {
    out.reasons.push_back(
        {critical_names.size() == 1
             ? fmt::format("Any delay to this delays the end: {}.", critical_names.front())
             : fmt::format("Any delay to one of these delays the end: {}.", fmt::join(critical_names, "; ")),
         "kelley-walker-1959"});
  }
  if (!request.branches.empty())
    out.reasons.push_back(
        {"What is not yet known is taken as happening, so that good news only brings dates forward.", "judgement"});
  return out;
}

reason::Result<Ranges> ranges(const Request& request, int draws, std::uint64_t seed) {
  auto made = network_of(request);
  if (!made.ok()) return made.faults();
  const Network& net = *made;
  const std::size_t n = request.activities.size();
  const std::size_t branches = request.branches.size();
  std::vector<double> days(n);
  std::vector<char> active(n);
  std::vector<char> branch(branches, 1);
  Times times;

  const auto run = [&](auto&& days_of) {
    for (std::size_t i = 0; i < n; ++i) {
      active[i] = happens(net, i, branch) ? 1 : 0;
      days[i] = active[i] ? days_of(i) : 0;
    }
    forward(net, days, active, times);
  };

  constexpr double kFar = std::numeric_limits<double>::infinity();
  Times low{.start = std::vector<double>(n, kFar), .finish = std::vector<double>(n, kFar), .end = kFar};
  Times high{.start = std::vector<double>(n, 0), .finish = std::vector<double>(n, 0), .end = 0};
  const auto fold = [&](Times& into, auto&& pick) {
    for (std::size_t i = 0; i < n; ++i) {
      into.start[i] = pick(into.start[i], times.start[i]);
      into.finish[i] = pick(into.finish[i], times.finish[i]);
    }
    into.end = pick(into.end, times.end);
  };
  const auto least = [](double a, double b) { return std::min(a, b); };
  const auto most = [](double a, double b) { return std::max(a, b); };
  const bool exact = branches <= 12;
  if (exact) {
    for (std::size_t way = 0; way < (std::size_t{1} << branches); ++way) {
      bool possible = true;
      for (std::size_t b = 0; b < branches; ++b) {
        branch[b] = static_cast<char>((way >> b) & 1U);
        const double chance = request.branches[b].chance;
        possible = possible && (branch[b] ? chance > 0 : chance < 1);
      }
      if (!possible) continue;
      run([&](std::size_t i) { return request.activities[i].days.low; });
      fold(low, least);
      run([&](std::size_t i) { return request.activities[i].days.high; });
      fold(high, most);
    }
  } else {
    // Starts and finishes only grow with what happens, so all or nothing of what is conditional bounds them.
    for (std::size_t i = 0; i < n; ++i) {
      active[i] = net.branch[i] == kNone ? 1 : 0;
      days[i] = active[i] ? request.activities[i].days.low : 0;
    }
    forward(net, days, active, times);
    fold(low, least);
    for (std::size_t i = 0; i < n; ++i) {
      active[i] = 1;
      days[i] = request.activities[i].days.high;
    }
    forward(net, days, active, times);
    fold(high, most);
  }
  if (auto fault = too_far(net, high)) return *fault;

  const auto count = static_cast<std::size_t>(std::max(1, draws));
  std::vector<std::vector<double>> starts(n), finishes(n);
  for (auto& list : starts) list.reserve(count);
  for (auto& list : finishes) list.reserve(count);
  std::vector<double> ends;
  ends.reserve(count);
  std::vector<std::size_t> critical(n, 0), happened(n, 0);
  for (std::size_t draw = 0; draw < count; ++draw) {
    for (std::size_t b = 0; b < branches; ++b)
      branch[b] = uniform(seed, draw, n + b) < request.branches[b].chance ? 1 : 0;
    run([&](std::size_t i) { return triangular(request.activities[i].days, uniform(seed, draw, i)); });
    const auto late = backward(net, days, active, times);
    for (std::size_t i = 0; i < n; ++i) {
      starts[i].push_back(times.start[i]);
      finishes[i].push_back(times.finish[i]);
      if (active[i]) ++happened[i];
      if (active[i] && late[i] - times.start[i] < 1e-6) ++critical[i];
    }
    ends.push_back(times.end);
  }
  const auto percentile = [&](std::vector<double>& values, double share) {
    const auto k = static_cast<std::ptrdiff_t>(share * static_cast<double>(values.size() - 1) + 0.5);
    std::nth_element(values.begin(), values.begin() + k, values.end());
    return values[static_cast<std::size_t>(k)];
  };
  const auto range = [&](double least_at, double most_at, std::vector<double>& values, auto&& date) {
    return DateRange{.low = date(*net.axis, least_at),
                     .p10 = date(*net.axis, percentile(values, 0.1)),
                     .median = date(*net.axis, percentile(values, 0.5)),
                     .p90 = date(*net.axis, percentile(values, 0.9)),
                     .high = date(*net.axis, most_at)};
  };
  Ranges out{.activities = {},
             .finish = range(low.end, high.end, ends, finish_date),
             .draws = static_cast<int>(count),
             .bounds_exact = exact};
  for (std::size_t i = 0; i < n; ++i) {
    out.activities.push_back({.id = request.activities[i].id,
                              .start = range(low.start[i], high.start[i], starts[i], start_date),
                              .finish = range(low.finish[i], high.finish[i], finishes[i], finish_date),
                              .critical_share = static_cast<double>(critical[i]) / static_cast<double>(count),
                              .happens_share = static_cast<double>(happened[i]) / static_cast<double>(count)});
  }
  return out;
}

}  // namespace lathbook::timeline
