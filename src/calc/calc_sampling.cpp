// `test-choice` as JSON.
#include "calc/look_alikes.h"
#include "calc/topics.h"
#include "sampling/test_choice.h"

namespace lathbook::calc {
namespace {

constexpr double kDaysPerWeek = 7;

Json step_json(const sampling::Step& step, const std::vector<std::string>& names) {
  const auto ids = [&](const std::vector<std::size_t>& positions) {
    Json list = Json::array();
    for (const auto i : positions) list.push_back(names[i]);
    return list;
  };
  Json then = Json::array();
  for (const auto& branch : step.branches) {
    Json one = {{"clear", ids(branch.clear)}, {"found", ids(branch.found)}, {"probability", branch.probability}};
    if (!branch.next.empty()) one["next"] = step_json(branch.next.front(), names);
    then.push_back(std::move(one));
  }
  return {{"test", ids(step.test)}, {"then", std::move(then)}};
}

sampling::ChoiceQuestion question_of(const Json& input) {
  const auto& test = input["test"];
  sampling::ChoiceQuestion question;
  for (const auto& from : input["materials"]) {
    sampling::Candidate candidate;
    candidate.name = named(from);
    candidate.probability = from["probability"];
    candidate.clear_if_asbestos = 1 - test.value("sensitivity", 1.0);
    candidate.clear_if_none = test.value("specificity", 1.0);
    question.materials.push_back(std::move(candidate));
  }
  question.groups = groups_of(input);
  for (const auto& from : input["jobs"]) {
    sampling::PlannedJob job{from["id"], from["touches"], from["cost_plain"], from["cost_as_asbestos"], std::nullopt};
    if (from.contains("cost_elsewhere")) job.cost_elsewhere = from["cost_elsewhere"].get<double>();
    question.jobs.push_back(std::move(job));
  }
  question.test.fixed = test["fixed"];
  question.test.each = test["each"];
  question.test.again = test.value("again", 0.0);
  question.test.waiting =
      input.value("cost_per_week_waiting", 0.0) * input.value("laboratory_days", kDaysPerWeek) / kDaysPerWeek;
  if (input.contains("budget")) question.test.budget = input["budget"].get<double>();
  return question;
}

}  // namespace

reason::Result<Json> test_choice(const Json& input) {
  const auto chosen = sampling::choose_tests(question_of(input));
  if (!chosen.ok()) return chosen.faults();
  Json curve = Json::array();
  for (const auto& point : chosen->curve)
    curve.push_back({{"tests", point.tests}, {"expected_cost", point.expected_cost}, {"at_least", point.at_least}});
  const auto& rounds = chosen->policy;
  Json parts = Json::array();
  for (const auto& part : rounds.parts) parts.push_back(step_json(part.first.front(), part.materials));
  const double policy_gap =
      rounds.expected_cost > 0 ? (rounds.expected_cost - rounds.at_least) / rounds.expected_cost : 0;
  Json worth = Json::array();
  for (const auto& one : chosen->worth)
    worth.push_back({{"id", one.id}, {"saves", one.saves}, {"chance_clear", one.chance_clear}, {"jobs", one.jobs}});
  Json not_worth = Json::array();
  for (const auto& one : chosen->not_worth) not_worth.push_back({{"id", one.id}, {"why", one.why}});
  return Json{{"cost_now", chosen->cost_now},
              {"cost_best", chosen->cost_best},
              {"cost_with_perfect_information", chosen->cost_with_perfect_information},
              {"tests", chosen->tests},
              {"curve", std::move(curve)},
              {"policy",
               {{"expected_cost", rounds.expected_cost},
                {"at_least", rounds.at_least},
                {"exact", rounds.exact},
                {"gap", policy_gap},
                {"first", rounds.first},
                {"parts", std::move(parts)}}},
              {"exact", chosen->exact},
              {"gap", chosen->gap},
              {"worth", std::move(worth)},
              {"not_worth", std::move(not_worth)},
              {"reasons", reasons_json(chosen->reasons)}};
}

}  // namespace lathbook::calc
