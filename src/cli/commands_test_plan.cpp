// test-plan
#include <fmt/format.h>

#include <algorithm>
#include <cmath>
#include <nlohmann/json.hpp>
#include <ostream>

#include "book/money.h"
#include "cli/commands.h"
#include "cli/open_house.h"
#include "cli/text.h"
#include "cli/words.h"
#include "service/answers.h"
#include "service/test_plan.h"

namespace lathbook::cli {
namespace {

using reason::FaultKind;
using service::TestPlan;

constexpr int kBarColumns = 40;
constexpr std::size_t kRowsPastTheBest = 4;
constexpr std::size_t kMostRows = 24;

class Sheet {
 public:
  Sheet(const check::House& house, const TestPlan& plan, bool colour) : house_(house), plan_(plan), page_(colour) {}

  std::string text() {
    page_.title(fmt::format("What is worth testing: {}", house_.book().about.title));
    summary();
    tests();
    curve();
    not_worth();
    taking();
    page_.blank().paragraph(
        "An untested suspect counts as asbestos, whatever is believed of it. Local codes and licensed practice come "
        "first.",
        0, Style::kQuiet);
    return page_.text();
  }

 private:
  [[nodiscard]] std::string money(double units) const {
    return book::money_text(std::llround(units) * 100, house_.book().about.currency);
  }

  [[nodiscard]] std::string named(const std::string& id) const {
    const auto* material = book::find(house_.book().materials, book::MaterialId{id});
    return material == nullptr ? id : fmt::format("{} ({})", id, material->name);
  }

  static std::string samples_text(int count) { return fmt::format("{} sample{}", count, count == 1 ? "" : "s"); }

  void summary() {
    const auto& choice = plan_.choice;
    if (plan_.tests.empty()) {
      page_.paragraph("No test.", 0, Style::kStrong);
      page_.paragraph(
          fmt::format("No set of tests saves more than it costs. The jobs are expected to cost {} as things "
                      "stand.",
                      money(choice.cost_now)));
    } else {
      int samples = 0;
      for (const auto& test : plan_.tests) samples += test.samples;
      page_.paragraph(fmt::format("Test {} material{}, {}.", plan_.tests.size(), plan_.tests.size() == 1 ? "" : "s",
                                  samples_text(samples)),
                      0, Style::kStrong);
      page_.table({"expected cost of all jobs", ""},
                  {{"with no test", money(choice.cost_now)},
                   {"with these tests, paid for", money(choice.cost_best)},
                   {"knowing all for nothing", money(choice.cost_with_perfect_information)}},
                  2);
      if (!choice.exact)
        page_.paragraph(fmt::format("Within {:.2f} % of the least possible.", 100 * choice.gap), 2, Style::kQuiet);
    }
    if (plan_.turnaround) {
      page_.paragraph(plan_.turnaround->reasons.front().text);
    } else if (plan_.laboratory_days) {
      page_.paragraph(fmt::format("The laboratory states {:g} days.", *plan_.laboratory_days));
    }
    const auto& policy = choice.policy;
    if (!plan_.tests.empty() && !policy.first.empty() && policy.first.size() < plan_.tests.size() &&
        policy.expected_cost < choice.cost_best - 0.5) {
      page_.paragraph(
          fmt::format("Sent in rounds, each chosen once the last is back, {}: {} with the waits. Begin with "
                      "{}.",
                      policy.exact ? "the cost is expected to be" : "it would cost no more than",
                      money(policy.expected_cost), fmt::join(policy.first, ", ")));
    }
  }

  void tests() {
    int number = 0;
    for (const auto& test : plan_.tests) {
      const auto& material = house_.book().materials[test.material];
      const auto* room = book::find(house_.book().rooms, material.place.room);
      page_.heading(fmt::format("{}. {}  {}{}", ++number, material.id.text, material.name,
                                room == nullptr ? "" : fmt::format(" ({})", room->name)));
      page_.paragraph(fmt::format("{}; saves {} on average. Clear: {}. {} hang{} on it.", samples_text(test.samples),
                                  money(test.saves), service::percent(test.chance_clear), fmt::join(test.jobs, ", "),
                                  test.jobs.size() == 1 ? "s" : ""),
                      2);
      page_.paragraph(
          fmt::format("{} {}", test.yourself ? "You may take it." : "Call someone trained to take it.", test.who.text),
          2);
      page_.paragraph("If clear: " + change_text(test.if_clear), 2);
      page_.paragraph("If found: " + change_text(test.if_found), 2);
      for (std::size_t i = 0; i < test.spots.size(); ++i) page_.item(test.labels[i].id, test.spots[i].words, 2);
      if (!test.yourself) continue;
      for (const auto& line : test.taking) page_.item("–", line.text);
    }
    if (plan_.tests.size() > 1) {
      page_.heading("If all of them are clear");
      page_.paragraph(change_text(plan_.if_all_clear), 2);
    }
  }

  [[nodiscard]] std::string change_text(const service::Change& change) const {
    std::vector<std::string> parts;
    for (const auto& one : change.jobs) {
      const auto by = book::find(house_.book().jobs, one.job)->by;
      parts.push_back(fmt::format("{} goes from \"{}\" to \"{}\"", one.job.text, check::verdict_words(one.before, by),
                                  check::verdict_words(one.after, by)));
    }
    for (const auto& one : change.beliefs)
      parts.push_back(fmt::format("belief in {} from {} to {}", one.material.text, service::percent(one.before),
                                  service::percent(one.after)));
    if (parts.empty()) return "no verdict changes by itself.";
    return fmt::format("{}.", fmt::join(parts, "; "));
  }

  [[nodiscard]] double above(double cost) const {
    return std::max(0.0, cost - plan_.choice.cost_with_perfect_information);
  }

  /// A row for each number of samples, up to a few past the best.
  void curve() {
    const auto& points = plan_.choice.curve;
    if (points.size() < 2) return;
    std::size_t best = 0;
    double highest = 0;
    for (std::size_t i = 0; i < points.size(); ++i) {
      if (points[i].expected_cost < points[best].expected_cost - 1e-9) best = i;
    }
    std::vector<std::size_t> rows;
    const std::size_t last = std::min(points.size() - 1, best + kRowsPastTheBest);
    const std::size_t stride = last / kMostRows + 1;
    for (std::size_t i = 0; i <= last; ++i) {
      if (i % stride == 0 || i == best) rows.push_back(i);
    }
    int wide = 0;
    for (const auto i : rows) {
      highest = std::max(highest, above(points[i].expected_cost));
      wide = std::max(wide, width_of(money(points[i].expected_cost)));
    }
    page_.heading("Expected cost by number of samples; bars: above knowing all for nothing");
    for (const auto i : rows) {
      const auto& point = points[i];
      const int columns =
          highest > 0 ? static_cast<int>(std::lround(kBarColumns * above(point.expected_cost) / highest)) : 0;
      std::string bar;
      for (int c = 0; c < columns; ++c) bar += "▬";
      const auto cost = money(point.expected_cost);
      page_.raw(fmt::format("  {:>3}  {}{}  {}{}", point.samples,
                            std::string(static_cast<std::size_t>(wide - width_of(cost)), ' '), cost, bar,
                            i == best ? "  least" : ""));
    }
  }

  void not_worth() {
    const auto& list = plan_.choice.not_worth;
    std::vector<std::string> idle;
    bool headed = false;
    const auto head = [&] {
      if (!headed) page_.heading("Not worth testing now");
      headed = true;
    };
    for (const auto& one : list) {
      const auto material = house_.find_material({one.id});
      if (!house_.known(*material).suspect) continue;
      if (one.idle) {
        idle.push_back(one.id);
        continue;
      }
      head();
      page_.item("–", fmt::format("{}: {}", named(one.id), one.why));
    }
    if (!idle.empty()) {
      head();
      page_.item(
          "–", fmt::format("{}: no planned job touches {}.", fmt::join(idle, ", "), idle.size() == 1 ? "it" : "them"));
    }
    if (plan_.left_out.empty()) return;
    page_.heading("Jobs that could not be weighed");
    for (const auto& one : plan_.left_out)
      page_.item("–", with_command(fmt::format("{}: {}", one.job.text, one.why), one.command));
  }

  void taking() {
    if (std::none_of(plan_.tests.begin(), plan_.tests.end(), [](const auto& test) { return test.yourself; })) return;
    page_.heading("What to bring");
    for (const auto& line : plan_.how.bring) page_.item("–", line.text);
    page_.heading("How to take it, in this order");
    int number = 0;
    for (const auto& line : plan_.how.steps) page_.item(fmt::format("{:>2}.", ++number), line.text, 1);
  }

  const check::House& house_;
  const TestPlan& plan_;
  Page page_;
};

}  // namespace

int run_test_plan(const Request& request, const World& world) {
  const auto words = sort_words(request.words, request.book);
  if (!words.rest.empty() || !words.fields.empty()) {
    return fail(world, {{"", words.rest.empty() ? words.fields[0] : words.rest[0], "is one word too many", "the book",
                         FaultKind::kUsage}});
  }
  const auto opened = open_house(words);
  if (!opened.ok()) return fail(world, opened.faults());
  const auto& house = opened->house;
  const auto plan = service::test_plan(house);
  if (!plan.ok()) return fail(world, plan.faults());
  world.out << (request.json ? service::test_plan_json(house, *plan).dump(2) + "\n"
                             : Sheet(house, *plan, request.use_colour).text());
  return 0;
}

}  // namespace lathbook::cli
