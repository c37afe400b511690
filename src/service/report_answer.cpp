#include "service/report_answer.h"

#include <algorithm>

#include "book/words.h"

namespace lathbook::service {
namespace {

using laboratory::Said;

Json place_json(const laboratory::Place& place) {
  return {{"page", place.page}, {"line", place.line}, {"text", place.text}};
}

const book::LabResult* result_of(const book::Book& book, const book::Sample& sample) {
  const auto found = std::find_if(book.results.begin(), book.results.end(),
                                  [&](const book::LabResult& result) { return result.sample == sample.id; });
  return found == book.results.end() ? nullptr : &*found;
}

Json proposal_json(const book::Book& book, const laboratory::Reading& reading, const laboratory::Proposal& proposal) {
  const auto& sample = book.samples[proposal.sample];
  auto said = proposal.said;
  auto doubts = proposal.doubts;
  const auto day = reading.reported_on;
  const bool too_early =
      day && ((sample.taken_on && *day < *sample.taken_on) || (sample.sent_on && *day < *sample.sent_on));
  if (too_early) {
    said = Said::kUnclear;
    doubts.emplace_back("the report is dated before the sample was taken or sent");
  }
  Json fibres = Json::array();
  Json lines = Json::array();
  for (const auto& line : proposal.lines) lines.push_back(place_json(line));
  const bool found = said == Said::kDetected || said == Said::kTrace;
  if (found) {
    for (const auto fibre : proposal.fibres) fibres.push_back(book::word(fibre));
  }
  Json json = {{"sample", sample.id.text},   {"material", sample.material.text},
               {"named", proposal.named},    {"said", laboratory::word(said)},
               {"fibres", fibres},           {"lines", std::move(lines)},
               {"doubts", std::move(doubts)}};
  if (const auto* has = result_of(book, sample)) {
    json["has_result"] = has->id.text;
    return json;
  }
  if (!found && said != Said::kNoneDetected) return json;
  Json result = {{"sample", sample.id.text}, {"found", found}};
  if (!fibres.empty()) result["fibres"] = std::move(fibres);
  if (found && !proposal.amount.empty()) result["amount"] = proposal.amount;
  if (day) result["reported_on"] = day->text();
  json["result"] = std::move(result);
  return json;
}

}  // namespace

std::vector<laboratory::SampleNames> sample_names(const book::Book& book) {
  std::vector<laboratory::SampleNames> names;
  for (const auto& sample : book.samples) names.push_back({sample.id.text, sample.label, sample.laboratory_ref});
  return names;
}

Json report_json(const book::Book& book, const laboratory::Reading& reading) {
  Json json = {{"pages", reading.pages},
               {"proposals", Json::array()},
               {"strangers", Json::array()},
               {"not_named", Json::array()}};
  for (const auto& proposal : reading.proposals) json["proposals"].push_back(proposal_json(book, reading, proposal));
  for (const auto& stranger : reading.strangers) {
    auto one = place_json(stranger.place);
    one["name"] = stranger.name;
    json["strangers"].push_back(std::move(one));
  }
  for (const auto index : reading.not_named) {
    // A sample that was answered long ago need not be in this report.
    if (result_of(book, book.samples[index]) == nullptr) json["not_named"].push_back(book.samples[index].id.text);
  }
  if (reading.reported_on) json["reported_on"] = reading.reported_on->text();
  if (reading.analysed_on) json["analysed_on"] = reading.analysed_on->text();
  if (!reading.laboratory.empty()) json["laboratory"] = reading.laboratory;
  if (!reading.accreditation.empty()) json["accreditation"] = reading.accreditation;
  return json;
}

}  // namespace lathbook::service
