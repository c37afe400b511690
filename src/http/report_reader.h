// A laboratory's PDF sent by the page to be read: POST /api/report. It is read and forgotten; it comes into the book
// only with the results a person confirms (POST /api/several).
#pragma once

#include <atomic>
#include <nlohmann/json_fwd.hpp>
#include <string>

#include "book/book.h"
#include "reason/fault.h"

namespace lathbook::http {

class ReportReader {
 public:
  /// `{"base64"}`: the PDF's bytes. Faults: of the form, not base64.
  [[nodiscard]] static reason::Result<std::string> parse(const std::string& body);

  /// What it says of the samples of `book`, as `lathbook read-report --json` does. Faults: as laboratory::pdf_text, and
  /// more than kMostAtOnce asked for (409). May be called from many threads.
  [[nodiscard]] reason::Result<nlohmann::json> read(const std::string& pdf, const book::Book& book);

  static constexpr int kMostAtOnce = 2;  // each is a process of its own

 private:
  std::atomic<int> at_work_ = 0;
};

}  // namespace lathbook::http
