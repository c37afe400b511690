#include "service/certificate_answer.h"

#include <nlohmann/json.hpp>

namespace lathbook::service {

reason::Result<clearance::Clearance> certificate_answer(const book::Book& book, const book::Certificate& certificate) {
  auto checked = clearance::check(certificate, book::find(book.parties, certificate.party));
  if (!checked.ok()) return reason::within(certificate.id.text, checked.faults());
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
