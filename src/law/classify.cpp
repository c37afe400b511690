#include "law/classify.h"

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
  return question.minutes_longest_person <= limit->minutes_longest_person && all <= limit->minutes_all_people;
}

bool holds_one_of(const std::vector<book::Fibre>& wanted, const std::vector<book::Fibre>& given) {
  if (wanted.empty() || given.empty()) return true;
  return std::any_of(given.begin(), given.end(),
                     [&](auto fibre) { return std::find(wanted.begin(), wanted.end(), fibre) != wanted.end(); });
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
         same_or_unasked(condition.released, question.released) && holds_one_of(condition.any_fibre, question.fibres) &&
         (condition.within.empty() || within(pack, condition.within, question)) &&
         (condition.beyond.empty() || !within(pack, condition.beyond, question));
}

WorkClass classify(const RulePack& pack, const WorkQuestion& question) {
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
    answer.reasons.push_back({answer.rule->reason, answer.rule->backing.source});
  }
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

}  // namespace lathbook::law
