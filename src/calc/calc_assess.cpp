// `material-score` and `priority-score` as JSON.
#include "assess/score.h"
#include "book/words.h"
#include "calc/topics.h"
#include "catalogue/catalogue.h"

namespace lathbook::calc {
namespace {

std::vector<book::Fibre> fibres_of(const Json& input, const char* field) {
  std::vector<book::Fibre> fibres;
  if (!input.contains(field)) return fibres;
  for (const auto& one : input[field])
    fibres.push_back(*book::from_word<book::Fibre>(one.get_ref<const std::string&>()));
  return fibres;
}

reason::Result<assess::MaterialScore> score_of(const Json& input) {
  if (input.contains("product")) {
    // The schema lets 2.0 through as a whole number; as an int it is 2.
    return assess::material_score({input["product"].get<int>(), input["damage"].get<int>(), input["surface"].get<int>(),
                                   input["fibre"].get<int>()});
  }
  const auto& id = input["family"].get_ref<const std::string&>();
  const auto* family = catalogue::shipped().find_family(id);
  if (family == nullptr) return catalogue::unknown_family(catalogue::shipped(), "/family", id);
  const auto fibres = fibres_of(input, "fibres");
  const auto argued = fibres_of(input, "look_alike_fibres");
  assess::MaterialState state{
      *family, *book::from_word<book::Damage>(input["damage"].get_ref<const std::string&>()), {}, fibres, argued};
  if (input.contains("surface"))
    state.surface = book::from_word<book::Surface>(input["surface"].get_ref<const std::string&>());
  return assess::material_score(state);
}

/// Whole numbers as whole numbers.
Json number(assess::Sixths score) { return score.whole() ? Json(score.count / 6) : Json(score.value()); }

}  // namespace

reason::Result<Json> material_score(const Json& input) {
  const auto score = score_of(input);
  if (!score.ok()) return score.faults();
  const auto& factors = score->factors;
  return Json{{"product", factors.product},
              {"damage", factors.damage},
              {"surface", factors.surface},
              {"fibre", factors.fibre},
              {"total", score->total},
              {"band", assess::word(score->band)},
              {"reasons", reasons_json(score->reasons)}};
}

reason::Result<Json> priority_score(const Json& input) {
  const book::PriorityFactors factors{
      input["activity"].get<std::vector<int>>(), input["disturbance"].get<std::vector<int>>(),
      input["exposure"].get<std::vector<int>>(), input["maintenance"].get<std::vector<int>>()};
  const auto rounding = assess::rounding_from_word(input.value("rounding", "up")).value();
  const auto score = assess::priority_score(factors, rounding);
  if (!score.ok()) return score.faults();
  return Json{{"activity", number(score->activity)}, {"disturbance", number(score->disturbance)},
              {"exposure", number(score->exposure)}, {"maintenance", number(score->maintenance)},
              {"total", number(score->total)},       {"reasons", reasons_json(score->reasons)}};
}

}  // namespace lathbook::calc
