#include "service/known_words.h"

#include <fmt/format.h>

#include "catalogue/catalogue.h"
#include "fabric/validate.h"
#include "law/pack.h"

namespace lathbook::service {
namespace {

using reason::Fault;
using reason::Faults;

template <class Rows>
std::string ids_of(const Rows& rows) {
  std::vector<std::string_view> ids;
  for (const auto& row : rows) ids.push_back(row.id);
  return fmt::format("{}", fmt::join(ids, ", "));
}

void check_cuts(const std::vector<book::Cut>& cuts, const std::string& item, const catalogue::Catalogue& known,
                Faults& faults) {
  for (std::size_t i = 0; i < cuts.size(); ++i) {
    const auto at = fmt::format("{}/cuts/{}", item, i + 1);
    if (known.find_task(cuts[i].task) == nullptr)
      faults.push_back(catalogue::unknown_task(known, at + " task", cuts[i].task));
    for (const auto& control : cuts[i].controls) {
      if (known.find_control(control) == nullptr)
        faults.push_back({at + " controls", control, "is not a known control", ids_of(known.controls)});
    }
  }
}

}  // namespace

Faults unknown_words(const book::Book& book) {
  const auto& known = catalogue::shipped();
  Faults faults;
  const auto* pack = law::find_pack(book.about.rules);
  if (pack == nullptr) {
    faults.push_back({"about rules", book.about.rules, "is not a rule pack of this program",
                      fmt::format("{}", fmt::join(law::pack_ids(), ", "))});
  } else if (!book.about.region.empty() && pack->find_region(book.about.region) == nullptr) {
    faults.push_back({"about region", book.about.region, fmt::format("is no {} of {}", pack->words.region, pack->name),
                      fmt::format("{}; or empty", ids_of(pack->regions))});
  }
  for (const auto& material : book.materials) {
    if (known.find_family(material.family) == nullptr)
      faults.push_back(catalogue::unknown_family(known, material.id.text + " family", material.family));
  }
  for (const auto& job : book.jobs) check_cuts(job.cuts, job.id.text, known, faults);
  for (const auto& event : book.events) {
    check_cuts(event.cuts, event.id.text, known, faults);
    for (std::size_t i = 0; i < event.masks.size(); ++i) {
      if (known.find_respirator(event.masks[i].respirator) == nullptr) {
        faults.push_back({fmt::format("{}/masks/{} respirator", event.id.text, i + 1), event.masks[i].respirator,
                          "is not a known mask", ids_of(known.respirators)});
      }
    }
    for (std::size_t i = 0; i < event.cleaning.size(); ++i) {
      if (known.find_task(event.cleaning[i].task) == nullptr)
        faults.push_back(catalogue::unknown_task(known, fmt::format("{}/cleaning/{} task", event.id.text, i + 1),
                                                 event.cleaning[i].task));
    }
  }
  return faults;
}

Faults plan_faults(const book::Book& book) { return fabric::validate(book); }

}  // namespace lathbook::service
