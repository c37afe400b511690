// `lifetime-risk` as JSON.
#include <algorithm>

#include "book/words.h"
#include "calc/topics.h"
#include "dose/risk.h"
#include "dose/words.h"

namespace lathbook::calc {

reason::Result<Json> lifetime_risk(const Json& input) {
  dose::Question question;
  const std::string model = input["model"];
  const auto found = std::find(dose::kModelWords.begin(), dose::kModelWords.end(), model);
  question.model = static_cast<dose::Model>(found - dose::kModelWords.begin());
  question.fibre = book::from_word<book::Fibre>(input["fibre"].get_ref<const std::string&>());
  for (const auto& one : input["exposure"]) {
    question.exposures.push_back({one["age_from"], one["age_to"], one["f_per_ml"], one["hours_per_year"]});
  }
  if (input.value("continuous_factor", "hours") == "volume") question.factor = dose::Factor::kVolume;
  question.life_table = input.value("life_table", question.life_table);
  const std::string sex = input.value("sex", "both");
  if (sex == "female") question.sex = catalogue::Sex::kFemale;
  if (sex == "male") question.sex = catalogue::Sex::kMale;
  if (input.contains("alive_at")) question.alive_at = input["alive_at"].get<double>();
  if (input.contains("smoker")) question.smoker = input["smoker"].get<bool>();

  const auto risk = dose::lifetime_risk(question, catalogue::shipped_risk_data());
  if (!risk.ok()) return risk.faults();
  return Json{{"mesothelioma_per_million", risk->mesothelioma_per_million},
              {"lung_per_million", risk->lung_per_million},
              {"total_per_million", risk->total_per_million},
              {"low_per_million", risk->low_per_million},
              {"high_per_million", risk->high_per_million},
              {"in_words", dose::chance_in_words(risk->total_per_million)},
              {"reasons", reasons_json(risk->reasons)}};
}

}  // namespace lathbook::calc
