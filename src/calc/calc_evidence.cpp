// `presence` as JSON.
#include <fmt/format.h>

#include <algorithm>

#include "book/words.h"
#include "calc/look_alikes.h"
#include "calc/topics.h"
#include "catalogue/evidence_data.h"
#include "evidence/presence.h"
#include "law/evidence_for.h"
#include "sampling/how_many.h"

namespace lathbook::calc {
namespace {

evidence::Material material_of(const Json& from, const catalogue::EvidenceData& data) {
  const auto name = named(from);
  evidence::Material material;
  material.id = name.id;
  material.group = name.group;
  material.alike = name.alike;
  material.family = from["family"];
  material.years = {from["year_from"], from["year_to"]};
  material.years_proven = from.value("years_proven", true);
  if (from.contains("prior")) {
    const double prior = from["prior"];
    material.prior = {from.value("prior_low", prior), prior, from.value("prior_high", prior)};
  }
  std::optional<book::Extent> extent;
  if (from.contains("extent")) {
    const auto& given = from["extent"];
    extent = {given["amount"], *book::from_word<book::Unit>(given["unit"].get_ref<const std::string&>())};
  }
  // An unknown family is refused below, by evidence, which names the place.
  if (const auto* family = data.find(material.family)) {
    material.samples_needed = sampling::samples_needed(*family, extent, data.miss_at_most).samples;
  }
  return material;
}

evidence::Result result_of(const Json& from) {
  evidence::Result result;
  result.material = from["material"];
  result.found = from["found"];
  for (const auto& word : from.value("fibres", Json::array())) {
    result.fibres.push_back(*book::from_word<book::Fibre>(word.get_ref<const std::string&>()));
  }
  result.samples = from.value("samples", 1);
  if (from.contains("sensitivity")) result.sensitivity = from["sensitivity"].get<double>();
  if (from.contains("specificity")) result.specificity = from["specificity"].get<double>();
  return result;
}

}  // namespace

reason::Result<Json> presence(const Json& input) {
  const auto& rules = input["rules"].get_ref<const std::string&>();
  const auto* pack = law::find_pack(rules);
  if (pack == nullptr) {
    return reason::Fault{"/rules", input["rules"].dump(), "are rules that nothing is known of here",
                         fmt::format("{}", fmt::join(law::pack_ids(), ", "))};
  }
  const auto& data = law::evidence_for(*pack);
  evidence::Question question;
  for (const auto& from : input["materials"]) question.materials.push_back(material_of(from, data));
  for (const auto& group : groups_of(input)) question.groups.push_back({group.id, group.group, group.alike});
  for (const auto& from : input["results"]) question.results.push_back(result_of(from));

  const auto ban = std::find_if(pack->bans.begin(), pack->bans.end(), [](const law::Ban& one) { return one.final; });
  question.ban = {pack->final_ban().year(), ban->backing.source};
  const auto believed = evidence::presence(data, question);
  if (!believed.ok()) return believed.faults();

  Json materials = Json::array();
  for (const auto& one : believed->materials) {
    Json fibres = Json::object();
    for (const auto& [fibre, word] : book::words<book::Fibre>())
      fibres[std::string(word)] = one.fibres[static_cast<std::size_t>(fibre)];
    Json found = Json::array();
    for (const auto fibre : one.found_fibres) found.push_back(book::word(fibre));
    materials.push_back({{"id", one.id},
                         {"probability", one.probability},
                         {"low", one.low},
                         {"high", one.high},
                         {"prior", one.prior},
                         {"fibres", std::move(fibres)},
                         {"found_fibres", std::move(found)},
                         {"standing", book::word(one.standing)},
                         {"clear_samples", one.clear_samples},
                         {"samples_needed", one.samples_needed},
                         {"reasons", reasons_json(one.reasons)}});
  }
  Json conflicts = Json::array();
  for (const auto& conflict : believed->conflicts)
    conflicts.push_back({{"materials", conflict.materials}, {"text", conflict.text}});
  return Json{{"materials", std::move(materials)},
              {"conflicts", std::move(conflicts)},
              {"reasons", reasons_json(believed->reasons)}};
}

}  // namespace lathbook::calc
