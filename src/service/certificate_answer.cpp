#include "service/certificate_answer.h"

#include <fmt/format.h>

#include <nlohmann/json.hpp>

#include "check/clearing.h"
#include "service/target.h"

namespace lathbook::service {

reason::Result<clearance::Clearance> certificate_answer(const check::House& house,
                                                        const book::Certificate& certificate) {
  const auto* rules = check::clearance_of(house, certificate);
  if (rules == nullptr) {
    return reason::Fault{certificate.id.text, "", "cannot be held against anything",
                         fmt::format("the rules of {} ask for no certificate", house.knowledge().rules.name)};
  }
  auto checked = check::checked(house.book(), certificate, rules->rules);
  if (!checked.ok()) return named_as_targets(certificate.id.text, checked.faults());
  return checked;
}

Json certificate_json(const book::Certificate& certificate, const clearance::Clearance& answer) {
  Json faults = Json::array();
  for (const auto& one : answer.findings) {
    faults.push_back({{"where", one.where}, {"what", one.what}, {"means", one.means}, {"ask", one.ask}});
  }
  Json samples = Json::array();
  for (const auto& one : answer.counts) {
    samples.push_back({{"f_per_ml", one.f_per_ml},
                       {"reported", one.reported},
                       {"low", one.between_laboratories.low},
                       {"high", one.between_laboratories.high}});
  }
  Json reasons = Json::array();
  for (const auto& one : answer.reasons) reasons.push_back({{"text", one.text}, {"source", one.source}});
  return {{"certificate", certificate.id.text},      {"pass", answer.pass},
          {"samples_needed", answer.samples_needed}, {"faults", std::move(faults)},
          {"samples", std::move(samples)},           {"reasons", std::move(reasons)}};
}

}  // namespace lathbook::service
