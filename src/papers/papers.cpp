#include "papers/papers.h"

#include <fmt/format.h>

#include <array>
#include <iterator>

namespace lathbook::papers {
namespace {

constexpr std::array kKinds = {
    Kind{"register", "the register by room, with plans"},
    Kind{"brief", "one job for whoever does it, two pages (brief J3: that job alone)"},
    Kind{"scope", "what removers are asked to price; apart, the quotes received"},
    Kind{"sample-labels", "sticky labels with QR codes for the samples without a result"},
    Kind{"custody", "the sheet that goes with the samples"},
    Kind{"warning-labels", "the prescribed label for each material that counts as asbestos"},
    Kind{"exposure", "for a doctor: a person, what happened, what they may have breathed (PE1: that person alone)"},
    Kind{"waste", "pieces that have to go, for a site or carrier"},
    Kind{"calendar", "looks, results, notices, jobs and expiries as iCalendar"},
    Kind{"tables", "every table as CSV and JSON, with a dictionary"},
    Kind{"handover", "the pack for a buyer or tenant"},
};

Files briefs(const Source& source, const std::optional<book::JobId>& job) {
  const auto& jobs = source.house.book().jobs;
  std::vector<File> files;
  bool found = false;
  for (std::size_t i = 0; i < jobs.size(); ++i) {
    if (job ? jobs[i].id != *job : jobs[i].done_on.has_value()) continue;
    found = true;
    auto one = brief(source, i);
    if (!one.ok()) return one;
    files.insert(files.end(), std::make_move_iterator(one->begin()), std::make_move_iterator(one->end()));
  }
  if (job && !found) {
    return reason::Fault{"", job->text, "is not a job of this book",
                         "an id such as J3; `lathbook show jobs` lists them", reason::FaultKind::kUsage};
  }
  return files;
}

}  // namespace

std::span<const Kind> kinds() { return kKinds; }

Files make(std::string_view kind, const Source& source, const Only& only) {
  if (kind == "register") return register_by_room(source);
  if (kind == "brief") return briefs(source, only.job);
  if (kind == "sample-labels") return sample_labels(source);
  if (kind == "custody") return custody(source);
  if (kind == "warning-labels") return warning_labels(source);
  if (kind == "scope") return scope(source);
  if (kind == "exposure") return exposure_records(source, only.person);
  if (kind == "waste") return waste_sheet(source);
  if (kind == "calendar") return calendar(source);
  if (kind == "tables") return tables(source);
  if (kind == "handover") return handover(source);
  std::string names;
  for (const auto& one : kKinds) names += (names.empty() ? "" : ", ") + std::string(one.name);
  return reason::Fault{"", std::string(kind), "is not a paper", names, reason::FaultKind::kUsage};
}

}  // namespace lathbook::papers
