#include "service/test_plan.h"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>
#include <map>
#include <nlohmann/json.hpp>

#include "assets/assets.h"
#include "belief/detection.h"
#include "book/money.h"
#include "book/words.h"
#include "fabric/tape.h"
#include "sampling/take.h"
#include "schema/schema.h"

namespace lathbook::service {
namespace {

using reason::Fault;
using reason::FaultKind;
using reason::Result;

constexpr double kMinorPerUnit = 100;
constexpr double kDaysPerWeek = 7;
constexpr double kBeliefMoved = 0.05;

double units(book::Money minor) { return static_cast<double>(minor) / kMinorPerUnit; }

belief::Detection detection_of(const catalogue::FamilyEvidence& family) {
  std::optional<belief::Patchiness> patchiness;
  if (family.patchiness) patchiness = {family.patchiness->mean, family.patchiness->strength};
  return {1 - family.false_negative, patchiness};
}

class Planner {
 public:
  explicit Planner(const check::House& house) : house_(house), book_(house.book()) {}

  Result<TestPlan> run() {
    const auto& about = book_.about;
    if (!about.test_each) {
      return Fault{"about test_each", "", "is missing: what a sample costs at the laboratory is not written down",
                   "lathbook set about test_each=30 test_fixed=15", FaultKind::kMissing};
    }
    check::Checker checker(house_);
    for (std::size_t j = 0; j < book_.jobs.size(); ++j) now_.push_back(checker.job(j));
    find_days();
    for (std::size_t m = 0; m < book_.materials.size(); ++m) {
      if (house_.known(m).family->suspect) question_.materials.push_back(candidate(m));
    }
    for (const auto& group : book_.groups) question_.groups.push_back({group.id.text, group.parent.text, group.alike});
    for (std::size_t j = 0; j < book_.jobs.size(); ++j) weigh(j);
    question_.sum = [currency = about.currency](double amount) {
      return book::money_text(static_cast<book::Money>(kMinorPerUnit * std::round(amount)), currency);
    };
    question_.test.fixed = units(about.test_fixed.value_or(0));
    question_.test.again = question_.test.fixed;
    question_.test.each = units(*about.test_each);
    if (about.waiting_per_week && plan_.laboratory_days)
      question_.test.waiting = units(*about.waiting_per_week) * *plan_.laboratory_days / kDaysPerWeek;
    auto choice = sampling::choose_tests(question_);
    if (!choice.ok()) return choice.faults();
    plan_.choice = std::move(*choice);
    name_licensed_work();
    name_what_is_not_weighed();
    auto how = catalogue::parse_sampling(schema::parse_json(assets::get("data/sampling.json")).value());
    if (!how.ok()) return how.faults();
    plan_.how = std::move(*how);
    // Masks are sold by another class in each country.
    constexpr std::string_view kMask = "{mask}";
    for (auto& line : plan_.how.bring) {
      if (const auto at = line.text.find(kMask); at != std::string::npos)
        line.text.replace(at, kMask.size(), house_.knowledge().rules.words.mask);
    }
    std::vector<std::size_t> all;
    for (const auto& worth : plan_.choice.worth) {
      plan_.tests.push_back(planned(worth));
      all.push_back(plan_.tests.back().material);
    }
    if (!all.empty()) plan_.if_all_clear = change(all, false);
    return std::move(plan_);
  }

 private:
  void find_days() {
    plan_.turnaround = sampling::turnaround(book_.samples, book_.results);
    for (const auto& party : book_.parties) {
      if (party.role == "laboratory" && party.lead_days) plan_.laboratory_days = *party.lead_days;
    }
    if (plan_.turnaround) plan_.laboratory_days = plan_.turnaround->median_days;
  }

  [[nodiscard]] int samples_left(std::size_t m) const {
    const auto& belief = house_.known(m).belief;
    return std::max(1, belief.samples_needed - belief.clear_samples);
  }

  /// What the laboratory has said of one material, sample by sample.
  [[nodiscard]] std::vector<belief::Seen> seen_of(std::size_t m) const {
    std::vector<belief::Seen> seen;
    for (const auto& sample : book_.samples) {
      if (sample.material != book_.materials[m].id) continue;
      bool answered = false, found = false;
      for (const auto& result : book_.results) {
        if (result.sample != sample.id) continue;
        answered = true;
        found = found || result.found;
      }
      if (answered) seen.push_back({found, 1});
    }
    return seen;
  }

  [[nodiscard]] sampling::Candidate candidate(std::size_t m) const {
    const auto& material = book_.materials[m];
    const auto& known = house_.known(m);
    const auto& data = house_.knowledge().evidence;
    const auto detection = detection_of(*data.find(material.family));
    sampling::Candidate one;
    one.name = {material.id.text, material.group.text, material.alike};
    one.probability = known.belief.prior;
    one.samples = samples_left(m);
    const auto seen = seen_of(m);
    one.log_seen_if_asbestos = belief::log_if_asbestos(detection, seen);
    one.log_seen_if_none = belief::log_if_none(data.specificity, seen);
    auto more = seen;
    more.push_back({false, one.samples});
    one.clear_if_asbestos = std::exp(belief::log_if_asbestos(detection, more) - one.log_seen_if_asbestos);
    one.clear_if_none = std::pow(data.specificity, one.samples);
    one.released = known.released();
    one.identified = known.belief.standing == book::Standing::kIdentified;
    return one;
  }

  void weigh(std::size_t j) {
    const auto& job = book_.jobs[j];
    if (job.done_on) return;
    const auto& answer = now_[j];
    const bool open = std::any_of(answer.touched.begin(), answer.touched.end(),
                                  [](const check::Touched& touched) { return !touched.released; });
    if (!answer.unwritten.empty()) {
      leave_out(job, answer, "It cuts into something of which nothing is written down: look there first.",
                fmt::format("lathbook check {}", job.id.text));
      return;
    }
    if (!open) return;  // may start already
    if (!job.cost_plain || (!job.cost_as_asbestos && !job.cost_elsewhere)) {
      const char* missing = job.cost_plain
                                ? "What it costs done as asbestos work, or moved elsewhere, is not written down."
                            : job.cost_as_asbestos || job.cost_elsewhere
                                ? "What it costs if nothing it meets holds asbestos is not written down."
                                : "Its costs are not written down: if nothing it meets holds asbestos, and done as "
                                  "asbestos work or moved elsewhere.";
      leave_out(job, answer, missing, fmt::format("lathbook set {} cost_plain=… cost_as_asbestos=…", job.id.text));
      return;
    }
    sampling::PlannedJob planned;
    planned.id = job.id.text;
    for (const auto& touched : answer.touched) {
      if (house_.known(touched.material).suspect) planned.touches.push_back(book_.materials[touched.material].id.text);
    }
    planned.cost_plain = units(*job.cost_plain);
    planned.cost_as_asbestos = units(job.cost_as_asbestos ? *job.cost_as_asbestos : *job.cost_elsewhere);
    if (job.cost_elsewhere) planned.cost_elsewhere = units(*job.cost_elsewhere);
    question_.jobs.push_back(std::move(planned));
  }

  void leave_out(const book::Job& job, const check::Answer& answer, std::string why, std::string command) {
    LeftOut out{job.id, std::move(why), std::move(command), {}};
    for (const auto& touched : answer.touched) {
      if (!touched.released) out.touches.push_back(book_.materials[touched.material].id.text);
    }
    plan_.left_out.push_back(std::move(out));
  }

  [[nodiscard]] bool met_by_a_job(std::size_t material) const {
    return std::ranges::any_of(now_, [&](const check::Answer& answer) {
      return std::ranges::any_of(answer.touched, [&](const check::Touched& one) { return one.material == material; });
    });
  }

  /// A job that could not be weighed meets its materials all the same, and what is cleared needs no test.
  void name_what_is_not_weighed() {
    for (auto& one : plan_.choice.not_worth) {
      if (!one.idle) continue;
      if (const auto at = *house_.find_material({one.id}); house_.known(at).released() && met_by_a_job(at)) {
        one.idle = false;
        one.why = "It does not count as asbestos: no job waits for a test of it.";
        continue;
      }
      std::vector<std::string> jobs;
      for (const auto& job : plan_.left_out) {
        if (std::find(job.touches.begin(), job.touches.end(), one.id) != job.touches.end())
          jobs.push_back(job.job.text);
      }
      if (jobs.empty()) continue;
      one.idle = false;
      one.why =
          fmt::format("{} meet{} it, and could not be weighed.", fmt::join(jobs, ", "), jobs.size() == 1 ? "s" : "");
    }
  }

  /// Where every job that touches a material is a licensed remover's, that says more than the sums.
  void name_licensed_work() {
    for (auto& one : plan_.choice.not_worth) {
      std::vector<std::string> jobs;
      bool licensed = true;
      for (const auto& job : question_.jobs) {
        if (std::find(job.touches.begin(), job.touches.end(), one.id) == job.touches.end()) continue;
        jobs.push_back(job.id);
        const auto* planned = book::find(book_.jobs, book::JobId{job.id});
        licensed = licensed && planned->by == book::Who::kLicensedRemover;
      }
      const auto m = *house_.find_material({one.id});
      if (!jobs.empty() && licensed && !house_.known(m).released())
        one.why =
            fmt::format("{} is for {} either way.", fmt::join(jobs, ", "), house_.knowledge().rules.words.remover);
    }
  }

  [[nodiscard]] PlannedTest planned(const sampling::Worth& worth) const {
    PlannedTest test;
    test.material = *house_.find_material({worth.id});
    test.samples = worth.samples;
    test.saves = worth.saves;
    test.chance_clear = worth.chance_clear;
    test.jobs = worth.jobs;
    const auto& material = book_.materials[test.material];
    const auto& family = *house_.knowledge().evidence.find(material.family);
    const auto damage = house_.damage_of(material);
    test.yourself = house_.may_take_sample(test.material);
    test.who = {family.take_why, family.take_source};
    const auto through = house_.not_to_be_sampled_through(test.material);
    if (through) {
      test.who = {fmt::format("It lies behind {}, which counts as asbestos and is not for you to cut into.",
                              book_.materials[*through].id.text),
                  "common-practice"};
    } else if (!test.yourself && sampling::may_take_oneself(family, damage, sampling::overhead(material))) {
      // Its kind would allow it; the rules of the country do not.
      test.who = house_.sampled_by_householder(test.material).reasons.back();
    }
    if (family.take_yourself != catalogue::TakeYourself::kNo && damage >= book::Damage::kMedium)
      test.who = {"It is damaged: whoever takes the sample has to be trained for it.", "common-practice"};
    const auto& plan = house_.plan();
    if (const auto face = plan.find_face(material.place.room, material.place.face)) {
      test.spots = sampling::spots(material.place.shape, plan.faces()[*face].outline, test.samples,
                                   [&](const book::Point& at) { return fabric::taped_text(plan, *face, at); });
    } else {
      test.spots = sampling::spots(book::WholeFace{}, {}, test.samples, {});
    }
    const auto* room = book::find(book_.rooms, material.place.room);
    const int before = house_.known(test.material).belief.clear_samples;
    for (int i = 0; i < test.samples; ++i) {
      test.labels.push_back(sampling::label(material.id.text, material.name, room == nullptr ? "" : room->name,
                                            before + i + 1, before + test.samples,
                                            test.spots[static_cast<std::size_t>(i)], plan_.how.label.text));
    }
    test.taking = plan_.how.taking_of(material.family);
    test.if_clear = change({test.material}, false);
    test.if_found = change({test.material}, true);
    return test;
  }

  /// The book with these results in it, judged again.
  [[nodiscard]] Change change(const std::vector<std::size_t>& materials, bool found) const {
    book::Book then = book_;
    for (const auto m : materials) {
      for (int i = 0; i < samples_left(m); ++i) {
        book::Sample sample;
        // Ids people give never hold a blank.
        sample.id = {fmt::format("try {} {}", m, i)};
        sample.material = book_.materials[m].id;
        book::LabResult result;
        result.id = {fmt::format("tried {} {}", m, i)};
        result.sample = sample.id;
        result.found = found;
        then.samples.push_back(std::move(sample));
        then.results.push_back(std::move(result));
      }
    }
    const auto house = check::House::build(then, house_.knowledge());
    Change made;
    if (!house.ok()) return made;
    check::Checker checker(*house);
    for (std::size_t j = 0; j < then.jobs.size(); ++j) {
      if (then.jobs[j].done_on) continue;
      const auto verdict = checker.job(j).verdict;
      if (verdict != now_[j].verdict) made.jobs.push_back({then.jobs[j].id, now_[j].verdict, verdict});
    }
    for (std::size_t m = 0; m < then.materials.size(); ++m) {
      if (!house_.known(m).suspect || std::find(materials.begin(), materials.end(), m) != materials.end()) continue;
      const double before = house_.known(m).belief.probability;
      const double after = house->known(m).belief.probability;
      if (std::abs(after - before) >= kBeliefMoved) made.beliefs.push_back({then.materials[m].id, before, after});
    }
    return made;
  }

  const check::House& house_;
  const book::Book& book_;
  std::vector<check::Answer> now_;
  sampling::ChoiceQuestion question_;
  TestPlan plan_;
};

Json reasons_json(const reason::Reasons& reasons) {
  Json list = Json::array();
  for (const auto& one : reasons) list.push_back({{"text", one.text}, {"source", one.source}});
  return list;
}

Json change_json(const check::House& house, const Change& change) {
  Json jobs = Json::array();
  for (const auto& one : change.jobs) {
    const auto by = book::find(house.book().jobs, one.job)->by;
    jobs.push_back({{"job", one.job.text},
                    {"before", check::verdict_words(one.before, by)},
                    {"after", check::verdict_words(one.after, by)}});
  }
  Json beliefs = Json::array();
  for (const auto& one : change.beliefs)
    beliefs.push_back({{"material", one.material.text}, {"before", one.before}, {"after", one.after}});
  return {{"jobs", std::move(jobs)}, {"beliefs", std::move(beliefs)}};
}

}  // namespace

Result<TestPlan> test_plan(const check::House& house) { return Planner(house).run(); }

Json test_plan_json(const check::House& house, const TestPlan& plan) {
  const auto& choice = plan.choice;
  Json tests = Json::array();
  for (const auto& test : plan.tests) {
    Json spots = Json::array();
    for (std::size_t i = 0; i < test.spots.size(); ++i) {
      Json spot = {{"words", test.spots[i].words}, {"label", test.labels[i].id}, {"lines", test.labels[i].lines}};
      if (test.spots[i].at) spot["at"] = {test.spots[i].at->x_m, test.spots[i].at->y_m};
      spots.push_back(std::move(spot));
    }
    tests.push_back({{"material", house.book().materials[test.material].id.text},
                     {"samples", test.samples},
                     {"saves", test.saves},
                     {"chance_clear", test.chance_clear},
                     {"jobs", test.jobs},
                     {"yourself", test.yourself},
                     {"who", {{"text", test.who.text}, {"source", test.who.source}}},
                     {"spots", std::move(spots)},
                     {"taking", reasons_json(test.taking)},
                     {"if_clear", change_json(house, test.if_clear)},
                     {"if_found", change_json(house, test.if_found)}});
  }
  Json curve = Json::array();
  for (const auto& point : choice.curve)
    curve.push_back({{"samples", point.samples}, {"tests", point.tests}, {"expected_cost", point.expected_cost}});
  Json left_out = Json::array();
  for (const auto& one : plan.left_out)
    left_out.push_back({{"job", one.job.text}, {"why", one.why}, {"command", one.command}});
  Json not_worth = Json::array();
  for (const auto& one : choice.not_worth)
    not_worth.push_back({{"material", one.id}, {"why", one.why}, {"idle", one.idle}});
  Json out = {{"cost_now", choice.cost_now},
              {"cost_best", choice.cost_best},
              {"cost_with_perfect_information", choice.cost_with_perfect_information},
              {"currency", house.book().about.currency},
              {"exact", choice.exact},
              {"gap", choice.gap},
              {"tests", std::move(tests)},
              {"if_all_clear", change_json(house, plan.if_all_clear)},
              {"curve", std::move(curve)},
              {"in_rounds",
               {{"expected_cost", choice.policy.expected_cost},
                {"first", choice.policy.first},
                {"exact", choice.policy.exact}}},
              {"not_worth", std::move(not_worth)},
              {"left_out", std::move(left_out)},
              {"bring", reasons_json(plan.how.bring)},
              {"steps", reasons_json(plan.how.steps)},
              {"reasons", reasons_json(choice.reasons)}};
  if (plan.laboratory_days) out["laboratory_days"] = *plan.laboratory_days;
  if (plan.turnaround) {
    out["turnaround"] = {{"results", plan.turnaround->results},
                         {"median_days", plan.turnaround->median_days},
                         {"least_days", plan.turnaround->least_days},
                         {"most_days", plan.turnaround->most_days}};
  }
  return out;
}

}  // namespace lathbook::service
