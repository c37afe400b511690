#include "law/classify.h"

#include <fmt/format.h>

#include <algorithm>
#include <stdexcept>

namespace lathbook::law {
namespace {

template <class T>
bool asks_nothing_or_holds(const std::vector<T>& wanted, const T& given) {
  return wanted.empty() || std::find(wanted.begin(), wanted.end(), given) != wanted.end();
}

template <class T>
bool same_or_unasked(const std::optional<T>& wanted, const T& given) {
  return !wanted || *wanted == given;
}

template <class T>
bool between(const std::optional<T>& least, const std::optional<T>& most, T given) {
  return (!least || given >= *least) && (!most || given <= *most);
}

bool within(const RulePack& pack, const std::string& id, const WorkQuestion& question) {
  const auto* limit = pack.find_limit(id);
  if (limit == nullptr) throw std::logic_error("pack " + pack.id + " has no limit " + id);
  const double all = std::max(question.minutes_all_people, question.minutes_longest_person);
  const auto exceeded = [](double given, const std::optional<double>& most) { return most && given > *most; };
  if (exceeded(question.minutes_longest_person, limit->minutes_longest_person)) return false;
  if (exceeded(all, limit->minutes_all_people)) return false;
  return !limit->area_m2 || (question.area_m2 && *question.area_m2 <= *limit->area_m2);
}

bool holds_one_of(const std::vector<book::Fibre>& wanted, const std::vector<book::Fibre>& given) {
  if (wanted.empty() || given.empty()) return true;
  return std::any_of(given.begin(), given.end(),
                     [&](auto fibre) { return std::find(wanted.begin(), wanted.end(), fibre) != wanted.end(); });
}

WorkClass classify_in_region(const RulePack& pack, const WorkQuestion& question);

/// The strictest of the regions' answers, and that it is so where they differ.
WorkClass strictest_of_regions(const RulePack& pack, WorkQuestion question) {
  std::vector<WorkClass> answers;
  answers.reserve(pack.regions.size());
  for (const auto& region : pack.regions) {
    question.region = region.id;
    answers.push_back(classify_in_region(pack, question));
  }
  const auto by_outcome = [](const WorkClass& a, const WorkClass& b) {
    return a.outcome != b.outcome ? a.outcome < b.outcome : a.may < b.may;
  };
  const auto by_may = [](const WorkClass& a, const WorkClass& b) { return a.may < b.may; };
  const auto [mildest, strictest] = std::minmax_element(answers.begin(), answers.end(), by_outcome);
  const auto [freest, closest] = std::minmax_element(answers.begin(), answers.end(), by_may);
  const bool differ = mildest->outcome != strictest->outcome || freest->may != closest->may;
  auto answer = *strictest;
  if (closest->may > answer.may) {
    answer.may = closest->may;
    answer.permission = closest->permission;
    answer.precautions = closest->precautions;
    if (answer.permission != nullptr)
      answer.reasons.push_back({answer.permission->reason, answer.permission->backing.source});
  }
  if (differ) {
    answer.reasons.push_back({fmt::format("Which {} the house stands in is not written down, so the strictest of them "
                                          "is taken until it is.",
                                          pack.words.region),
                              "judgement"});
  }
  return answer;
}

}  // namespace

bool matches(const RulePack& pack, const Condition& condition, const WorkQuestion& question) {
  return asks_nothing_or_holds(condition.families, question.family.id) &&
         asks_nothing_or_holds(condition.legal_kinds, question.family.legal_kind) &&
         asks_nothing_or_holds(condition.bindings, question.family.binding) &&
         asks_nothing_or_holds(condition.tasks, question.task.id) &&
         asks_nothing_or_holds(condition.task_kinds, question.task.kind) &&
         asks_nothing_or_holds(condition.by, question.by) &&
         between(condition.disturbance_at_least, condition.disturbance_at_most, question.task.disturbance) &&
         between(condition.damage_at_least, condition.damage_at_most, question.damage) &&
         same_or_unasked(condition.kept_whole, question.kept_whole.value_or(question.task.keeps_whole)) &&
         same_or_unasked(condition.suspect, question.family.suspect) &&
         same_or_unasked(condition.released, question.released) &&
         asks_nothing_or_holds(condition.regions, question.region) &&
         holds_one_of(condition.any_fibre, question.fibres) &&
         (condition.within.empty() || within(pack, condition.within, question)) &&
         (condition.beyond.empty() || !within(pack, condition.beyond, question));
}

namespace {

WorkClass classify_in_region(const RulePack& pack, const WorkQuestion& question) {
  WorkClass answer;
  for (const auto& rule : pack.rules) {
    if (matches(pack, rule.when, question)) answer.matches.push_back(&rule);
  }
  if (answer.matches.empty()) {
    answer.reasons.push_back(
        {"No rule of this country's pack covers it, so the strictest class is taken.", "judgement"});
  } else {
    answer.rule = answer.matches.front();
    answer.outcome = answer.rule->outcome;
    answer.called = answer.rule->called;
    answer.reasons.push_back({answer.rule->reason, answer.rule->backing.source});
  }
  if (answer.called.empty()) answer.called = pack.name_of(answer.outcome);
  const auto allowed = std::find_if(pack.permissions.begin(), pack.permissions.end(), [&](const Permission& one) {
    return asks_nothing_or_holds(one.when.classes, answer.outcome) && matches(pack, one.when, question);
  });
  if (allowed == pack.permissions.end()) {
    answer.reasons.push_back({"No permission of this country's pack covers it, so it may not be done.", "judgement"});
  } else {
    answer.permission = &*allowed;
    answer.may = allowed->may;
    answer.reasons.push_back({allowed->reason, allowed->backing.source});
  }
  answer.duties = pack.duties(answer.outcome);
  if (answer.may == May::kWithPrecautions) {
    std::copy_if(pack.precautions.begin(), pack.precautions.end(), std::back_inserter(answer.precautions),
                 [&](const Precaution& one) { return matches(pack, one.when, question); });
  }
  return answer;
}

}  // namespace

std::string as_work(const WorkClass& work) {
  return work.rule != nullptr && !work.rule->called.empty() ? work.called : work.called + " work";
}

WorkClass classify(const RulePack& pack, const WorkQuestion& question) {
  // A region the pack does not have is none that anybody read: it is treated as not said.
  if (pack.asks_region && pack.find_region(question.region) == nullptr) return strictest_of_regions(pack, question);
  return classify_in_region(pack, question);
}

}  // namespace lathbook::law
