// What is handed over: each paper from one house, as bytes.
//
// Pure: no files, no clock. Same source, same bytes. None says a material is harmless, and none offers a householder
// licensed work: what a paper says of who may do something comes from `law` through `check`. Page: docs/papers.md.
#pragma once

#include <cstddef>
#include <optional>
#include <span>
#include <string>
#include <string_view>
#include <vector>

#include "papers/source.h"
#include "reason/fault.h"

namespace lathbook::papers {

/// A file to be written: its name under the folder (`register.pdf`, `tables/materials.csv`) and its bytes.
struct File {
  std::string name;
  std::string bytes;
};
using Files = reason::Result<std::vector<File>>;

/// The words for papers, in the order they are made: "register", "brief", …
struct Kind {
  std::string_view name;
  std::string_view about;
};
[[nodiscard]] std::span<const Kind> kinds();

/// What briefs and exposure records are narrowed to; without it there is one for each job not done yet, and one for
/// each person who was there when something was disturbed.
struct Only {
  std::optional<book::JobId> job;
  std::optional<book::PersonId> person;
};

/// One kind of paper. Faults: an unknown kind or job, a font that is not there. A kind with nothing to say (no samples,
/// no waste) gives no file.
[[nodiscard]] Files make(std::string_view kind, const Source& source, const Only& only = {});

// ---- one function a paper -----------------------------------------------------------------------------------------

/// Register by room: plans, every material once with standing, tests, state, decision and next look.
[[nodiscard]] Files register_by_room(const Source& source);
/// One job on at most two pages, for whoever does it.
[[nodiscard]] Files brief(const Source& source, std::size_t job);
/// What removers are asked to price and to state; and apart from it, for the owner alone, the quotes received.
[[nodiscard]] Files scope(const Source& source);
/// Sticky labels for samples, two each (inner and outer bag), with a QR code that holds the sample's id alone.
[[nodiscard]] Files sample_labels(const Source& source);
[[nodiscard]] Files custody(const Source& source);
/// The label of REACH Annex XVII appendix 7, true to the millimetre.
[[nodiscard]] Files warning_labels(const Source& source);
/// For a doctor: one person, and every event they were in: what is to be noted, what happened, what they may have
/// breathed by each model, and what is not known. None when health is left out.
[[nodiscard]] Files exposure_records(const Source& source, const std::optional<book::PersonId>& only = {});
[[nodiscard]] Files waste_sheet(const Source& source);
/// Looks, tests, notices, jobs and expiries as iCalendar.
[[nodiscard]] Files calendar(const Source& source);
/// Every table as CSV with units in its heads, all of them as JSON, and a dictionary of the columns.
[[nodiscard]] Files tables(const Source& source);
/// For a buyer or tenant; sections named in Source::without are left out and said to be.
[[nodiscard]] Files handover(const Source& source);

// Parts that more than one paper has.
void add_plans(Sheet& sheet, const Source& source);
void add_register(Sheet& sheet, const Source& source);

}  // namespace lathbook::papers
