#include "catalogue/evidence_data.h"

#include <algorithm>
#include <cmath>
#include <nlohmann/json.hpp>
#include <set>

#include "assets/assets.h"
#include "book/words.h"
#include "schema/schema.h"

namespace lathbook::catalogue {
namespace {

using nlohmann::json;

TakeYourself take_yourself(const std::string& word) {
  if (word == "if sound") return TakeYourself::kIfSound;
  if (word == "if sound and not overhead") return TakeYourself::kIfSoundAndNotOverhead;
  return TakeYourself::kNo;
}

std::optional<double> optional_number(const json& row, const char* key) {
  return row.contains(key) ? std::optional(row[key].get<double>()) : std::nullopt;
}

FamilyEvidence read_family(const json& row, const std::string& at, reason::Faults& faults) {
  FamilyEvidence family;
  family.id = row["id"];
  for (std::size_t i = 0; i < row["years"].size(); ++i) {
    const auto& knot = row["years"][i];
    family.years.push_back({knot[0], knot[1], knot[2], knot[3]});
    const auto& now = family.years.back();
    const std::string where = at + "/years/" + std::to_string(i);
    if (i > 0 && now.year <= family.years[i - 1].year) {
      faults.push_back({where + "/0", std::to_string(now.year), "is not later than the knot before", "years in order"});
    }
    if (now.low > now.middle || now.middle > now.high) {
      faults.push_back({where, schema::shown(knot), "is not in order", "low, middle, high from small to large"});
    }
  }
  family.why = row["why"];
  family.source = row["source"];
  family.anchors = row["anchors"].get<std::vector<std::string>>();
  for (std::size_t i = 0; i < row["fibres"].size(); ++i) {
    const auto& one = row["fibres"][i];
    FibresFrom from{one["from"], {}};
    double sum = 0;
    for (const auto& [word, share] : one["shares"].items()) {
      sum += from.shares[static_cast<std::size_t>(*book::from_word<book::Fibre>(word))] = share.get<double>();
    }
    const std::string where = at + "/fibres/" + std::to_string(i);
    if (std::abs(sum - 1) > 1e-9)
      faults.push_back(
          {where + "/shares", schema::shown(one["shares"]), "does not add up to 1", "shares that add up to 1"});
    if (i > 0 && from.year <= family.fibres.back().year) {
      faults.push_back(
          {where + "/from", std::to_string(from.year), "is not later than the row before", "years in order"});
    }
    family.fibres.push_back(from);
  }
  family.fibres_source = row["fibres_source"];
  family.false_negative = row["false_negative"];
  if (row.contains("patchiness"))
    family.patchiness = BetaShare{row["patchiness"]["mean"], row["patchiness"]["strength"]};
  family.detection_source = row["detection_source"];
  const auto& samples = row["samples"];
  family.samples = {samples["minimum"], optional_number(samples, "one_per_m2"), optional_number(samples, "one_per_m"),
                    samples["source"]};
  const auto& take = row["take_yourself"];
  family.take_yourself = take_yourself(take["when"]);
  family.take_why = take["why"];
  family.take_source = take["source"];
  return family;
}

}  // namespace

const FamilyEvidence* EvidenceData::find(std::string_view id) const {
  const auto found =
      std::find_if(families.begin(), families.end(), [&](const FamilyEvidence& family) { return family.id == id; });
  return found == families.end() ? nullptr : &*found;
}

reason::Result<EvidenceData> parse_evidence(const json& document) {
  const schema::Schema form(json::parse(assets::get("data/schemas/evidence.schema.json")));
  auto faults = form.check(document);
  if (!faults.empty()) return faults;
  EvidenceData data;
  data.rules = document["rules"];
  data.specificity = document["specificity"]["value"];
  data.fibre_floor = document["fibre_floor"]["value"];
  data.little_doubt = document["little_doubt"]["value"];
  data.miss_at_most = document["miss_at_most"]["value"];
  std::set<std::string> seen;
  for (std::size_t i = 0; i < document["families"].size(); ++i) {
    const std::string at = "/families/" + std::to_string(i);
    data.families.push_back(read_family(document["families"][i], at, faults));
    if (!seen.insert(data.families.back().id).second) {
      faults.push_back({at + "/id", data.families.back().id, "is there twice", "each family once"});
    }
  }
  const auto& band = document["sanity_band"];
  for (const auto& kit : band["kits"]) data.kits.push_back({kit["family"], kit["positive"]});
  data.kit_years = {band["years"][0], band["years"][1]};
  data.kit_factor = band["factor"];
  if (!faults.empty()) return faults;
  return data;
}

}  // namespace lathbook::catalogue
