// `work-class` as JSON.
#include <fmt/format.h>

#include "book/words.h"
#include "calc/topics.h"
#include "catalogue/catalogue.h"
#include "law/classify.h"

namespace lathbook::calc {
namespace {

const std::string& text_of(const Json& input, const char* field) { return input[field].get_ref<const std::string&>(); }

Json duty_json(const law::Duty& duty) {
  Json out = {{"id", duty.id}, {"text", duty.text}, {"source", duty.backing.source}};
  if (duty.days_before) out["days_before"] = *duty.days_before;
  if (!duty.form.empty()) out["form"] = duty.form;
  if (duty.every_years) out["every_years"] = *duty.every_years;
  if (duty.keep_years) out["keep_years"] = *duty.keep_years;
  if (duty.minimum_protection) out["minimum_protection"] = *duty.minimum_protection;
  return out;
}

Json answer_json(const law::WorkClass& answer) {
  Json duties = Json::array();
  for (const auto& duty : answer.duties) duties.push_back(duty_json(duty));
  Json precautions = Json::array();
  for (const auto& one : answer.precautions)
    precautions.push_back({{"id", one.id}, {"text", one.text}, {"source", one.backing.source}});
  Json matches = Json::array();
  for (const auto* rule : answer.matches) {
    matches.push_back({{"rule", rule->id},
                       {"class", law::word(rule->outcome)},
                       {"text", rule->reason},
                       {"source", rule->backing.source}});
  }
  return {{"class", law::word(answer.outcome)},     {"called", law::as_work(answer)},
          {"may", law::word(answer.may)},           {"duties", std::move(duties)},
          {"precautions", std::move(precautions)},  {"matches", std::move(matches)},
          {"reasons", reasons_json(answer.reasons)}};
}

}  // namespace

reason::Result<Json> work_class(const Json& input) {
  reason::Faults faults;
  const auto& catalogue = catalogue::shipped();
  const auto* pack = law::find_pack(text_of(input, "rules"));
  const auto* family = catalogue.find_family(text_of(input, "family"));
  const auto* task = catalogue.find_task(text_of(input, "task"));
  const double longest = input["minutes_longest_person"];
  const double all = input["minutes_all_people"];
  if (pack == nullptr) {
    faults.push_back({"/rules", text_of(input, "rules"), "is not a rule pack known here",
                      fmt::format("one of: {}", fmt::join(law::pack_ids(), ", "))});
  }
  if (const auto region = input.value("region", "");
      pack != nullptr && !region.empty() && pack->find_region(region) == nullptr) {
    std::vector<std::string_view> ids;
    for (const auto& one : pack->regions) ids.push_back(one.id);
    faults.push_back({"/region", region, fmt::format("is no {} of {}", pack->words.region, pack->name),
                      fmt::format("one of: {}", fmt::join(ids, ", "))});
  }
  if (family == nullptr) faults.push_back(catalogue::unknown_family(catalogue, "/family", text_of(input, "family")));
  if (task == nullptr) faults.push_back(catalogue::unknown_task(catalogue, "/task", text_of(input, "task")));
  if (all < longest) {
    faults.push_back({"/minutes_all_people", fmt::format("{}", all), "is less than the longest person's minutes",
                      fmt::format("a number of at least {}", longest)});
  }
  if (!faults.empty()) return faults;
  law::WorkQuestion question{*family, *task, *book::from_word<book::Damage>(text_of(input, "damage")), {},
                             longest, all,   *book::from_word<book::Who>(text_of(input, "by")),        {},
                             false};
  if (input.contains("fibres")) {
    for (const auto& one : input["fibres"])
      question.fibres.push_back(*book::from_word<book::Fibre>(one.get_ref<const std::string&>()));
  }
  if (input.contains("area_m2")) question.area_m2 = input["area_m2"].get<double>();
  question.region = input.value("region", "");
  if (input.contains("kept_whole")) question.kept_whole = input["kept_whole"].get<bool>();
  const auto standing = input.value("standing", "presumed");
  question.released = standing == "no asbestos detected" || standing == "proven later than the ban";
  return answer_json(law::classify(*pack, question));
}

}  // namespace lathbook::calc
