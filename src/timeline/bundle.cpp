#include "timeline/bundle.h"

#include <fmt/format.h>

#include <algorithm>
#include <cstdint>
#include <limits>
#include <map>
#include <set>

namespace lathbook::timeline {
namespace {

constexpr std::size_t kExactRemovals = 16;

using Group = std::vector<const Removal*>;

double end_of(const Group& group) {
  double ready = 0, days = 0;
  for (const auto* one : group) {
    ready = std::max(ready, one->ready_day);
    days += one->days;
  }
  return ready + days;
}

double cost_of(const Group& group, const FirmCost& firm) {
  std::set<std::string_view> enclosures;
  const double end = end_of(group);
  double cost = firm.mobilisation;
  for (const auto* one : group) {
    if (!one->enclosure.empty()) enclosures.insert(one->enclosure);
    cost += one->waiting_per_day * (end - one->ready_day - one->days);
  }
  return cost + firm.enclosure * static_cast<double>(enclosures.size());
}

/// The cheapest partition of up to kExactRemovals removals, by dynamic programming over subsets.
std::vector<Group> exact_partition(const Group& all, const FirmCost& firm) {
  const std::size_t n = all.size();
  const std::uint32_t full = (std::uint32_t{1} << n) - 1;
  // Costs of all visits at once, each subset from the one without its lowest removal.
  std::map<std::string_view, int> enclosure_index;
  std::vector<std::uint32_t> enclosure(n, 0);
  for (std::size_t i = 0; i < n; ++i) {
    if (all[i]->enclosure.empty()) continue;
    const auto at = enclosure_index.emplace(all[i]->enclosure, static_cast<int>(enclosure_index.size())).first->second;
    enclosure[i] = std::uint32_t{1} << at;
  }
  struct Sum {
    double ready = 0, days = 0, waiting = 0, own = 0;  // own: sum of waiting · (ready + days) of each alone
    std::uint32_t enclosures = 0;
  };
  std::vector<Sum> sums(full + 1U);
  std::vector<double> visit(full + 1U, 0);
  for (std::uint32_t set = 1; set <= full; ++set) {
    const auto low = static_cast<std::size_t>(__builtin_ctz(set));
    const Sum& rest = sums[set & (set - 1)];
    const Removal& one = *all[low];
    Sum& sum = sums[set];
    sum.ready = std::max(rest.ready, one.ready_day);
    sum.days = rest.days + one.days;
    sum.waiting = rest.waiting + one.waiting_per_day;
    sum.own = rest.own + one.waiting_per_day * (one.ready_day + one.days);
    sum.enclosures = rest.enclosures | enclosure[low];
    visit[set] = firm.mobilisation + firm.enclosure * __builtin_popcount(sum.enclosures) +
                 sum.waiting * (sum.ready + sum.days) - sum.own;
  }
  std::vector<double> best(full + 1U, std::numeric_limits<double>::infinity());
  std::vector<std::uint32_t> choice(full + 1U, 0);
  best[0] = 0;
  for (std::uint32_t set = 1; set <= full; ++set) {
    const std::uint32_t first = set & (~set + 1);
    const std::uint32_t others = set ^ first;
    for (std::uint32_t with = others;; with = (with - 1) & others) {
      const std::uint32_t group = with | first;
      const double cost = visit[group] + best[set ^ group];
      // A hair's margin keeps the choice the same whatever order equal sums round in.
      if (cost < best[set] - 1e-9) {
        best[set] = cost;
        choice[set] = group;
      }
      if (with == 0) break;
    }
  }
  std::vector<Group> groups;
  for (std::uint32_t set = full; set != 0; set ^= choice[set]) {
    Group group;
    for (std::size_t i = 0; i < n; ++i) {
      if ((choice[set] >> i) & 1U) group.push_back(all[i]);
    }
    groups.push_back(std::move(group));
  }
  return groups;
}

/// Joins the pair of visits that saves most until none saves.
std::vector<Group> greedy_partition(const Group& all, const FirmCost& firm) {
  std::vector<Group> groups;
  for (const auto* one : all) groups.push_back({one});
  for (;;) {
    double most = 1e-9;
    std::size_t a = 0, b = 0;
    for (std::size_t i = 0; i < groups.size(); ++i) {
      for (std::size_t j = i + 1; j < groups.size(); ++j) {
        Group joined = groups[i];
        joined.insert(joined.end(), groups[j].begin(), groups[j].end());
        const double saved = cost_of(groups[i], firm) + cost_of(groups[j], firm) - cost_of(joined, firm);
        if (saved > most) {
          most = saved;
          a = i;
          b = j;
        }
      }
    }
    if (a == b) return groups;
    groups[a].insert(groups[a].end(), groups[b].begin(), groups[b].end());
    groups.erase(groups.begin() + static_cast<std::ptrdiff_t>(b));
  }
}

}  // namespace

reason::Result<Bundling> bundle(const std::vector<Removal>& removals, const std::vector<FirmCost>& firms) {
  reason::Faults faults;
  const auto negative = [&](const std::string& where, double value) {
    if (!(value >= 0))
      faults.push_back(
          {.where = where, .value = fmt::format("{:g}", value), .problem = "is negative", .allowed = "0 or more"});
  };
  std::map<std::string, const FirmCost*> by_name;
  for (std::size_t i = 0; i < firms.size(); ++i) {
    if (!by_name.emplace(firms[i].firm, &firms[i]).second) {
      faults.push_back({.where = fmt::format("/firms/{}/firm", i),
                        .value = firms[i].firm,
                        .problem = "is given twice",
                        .allowed = "each firm once"});
    }
    negative(fmt::format("/firms/{}/mobilisation", i), firms[i].mobilisation);
    negative(fmt::format("/firms/{}/enclosure", i), firms[i].enclosure);
  }
  std::set<std::string> ids;
  std::map<std::string, Group> by_firm;
  for (std::size_t i = 0; i < removals.size(); ++i) {
    const auto& one = removals[i];
    const auto at = [&](const char* field) { return fmt::format("/removals/{}/{}", i, field); };
    if (!ids.insert(one.id).second)
      faults.push_back({.where = at("id"), .value = one.id, .problem = "is used twice", .allowed = "an id of its own"});
    if (!by_name.contains(one.firm))
      faults.push_back({.where = at("firm"),
                        .value = one.firm,
                        .problem = "has no costs here",
                        .allowed = "a firm whose costs are given"});
    negative(at("ready_day"), one.ready_day);
    negative(at("days"), one.days);
    negative(at("waiting_per_day"), one.waiting_per_day);
    by_firm[one.firm].push_back(&one);
  }
  if (!faults.empty()) return faults;

  Bundling out;
  for (const auto& [name, all] : by_firm) {
    const FirmCost& firm = *by_name.at(name);
    const bool exact = all.size() <= kExactRemovals;
    const auto groups = exact ? exact_partition(all, firm) : greedy_partition(all, firm);
    double firm_cost = 0;
    for (const auto& group : groups) {
      Visit visit;
      visit.firm = name;
      for (const auto* one : group) visit.removals.push_back(one->id);
      visit.end_day = end_of(group);
      visit.begin_day = visit.end_day;
      for (const auto* one : group) visit.begin_day -= one->days;
      visit.cost = cost_of(group, firm);
      firm_cost += visit.cost;
      out.visits.push_back(std::move(visit));
    }
    std::set<std::string_view> enclosures;
    for (const auto* one : all) {
      out.cost_each_alone += cost_of({one}, firm);
      if (!one->enclosure.empty()) enclosures.insert(one->enclosure);
    }
    out.cost += firm_cost;
    out.exact = out.exact && exact;
    // At least one visit, at least each enclosure once, and no waiting.
    out.lower_bound += exact ? firm_cost : firm.mobilisation + firm.enclosure * static_cast<double>(enclosures.size());
  }
  std::ranges::sort(out.visits, {},
                    [](const Visit& visit) { return std::tuple(visit.begin_day, visit.firm, visit.removals.front()); });
  out.reasons.push_back(
      {fmt::format("{} removals in {}: calling a firm in costs once a visit, waiting costs by the day.",
                   removals.size(), out.visits.size() == 1 ? "one visit" : fmt::format("{} visits", out.visits.size())),
       "arithmetic"});
  out.reasons.push_back({out.exact ? "Every way of putting them together was weighed."
                                   : "Too many to weigh every way; these were joined pair by pair.",
                         "arithmetic"});
  return out;
}

}  // namespace lathbook::timeline
