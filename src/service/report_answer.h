// A laboratory's report read against the samples of a book: what could be written down, for a person to confirm.
#pragma once

#include <nlohmann/json.hpp>
#include <string>
#include <vector>

#include "book/book.h"
#include "laboratory/reading.h"

namespace lathbook::service {

using Json = nlohmann::json;

/// The samples of a book by the names a report may call them, in the book's order.
[[nodiscard]] std::vector<laboratory::SampleNames> sample_names(const book::Book& book);

/// A reading as `lathbook read-report --json` and POST /api/report answer it. A proposal holds `result`, the fields of
/// the result it comes to, only when it is not unclear, the sample was analysed and has no result yet. A report dated
/// before the sample was taken or sent is none of that sample: its proposal becomes unclear.
[[nodiscard]] Json report_json(const book::Book& book, const laboratory::Reading& reading);

}  // namespace lathbook::service
