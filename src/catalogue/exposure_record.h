// What a record of somebody's exposure is to say, and what is advised about it: data/exposure_record.json.
#pragma once

#include <string>
#include <string_view>
#include <vector>

#include "catalogue/catalogue.h"
#include "reason/fault.h"

namespace lathbook::catalogue {

/// Something a doctor is to be asked to note: "when", "how-long", "which-type" and "how-much" are those known here.
struct ToNote {
  std::string id;
  std::string what;
  std::string text;
  Backing backing;
};

struct RecordAdvice {
  std::string id;
  std::string text;
  Backing backing;
};

struct ExposureRecord {
  std::vector<ToNote> note;
  std::vector<RecordAdvice> advice;
};

[[nodiscard]] reason::Result<ExposureRecord> parse_exposure_record(std::string_view text);
/// The shipped data, which must parse (std::logic_error otherwise).
[[nodiscard]] const ExposureRecord& shipped_exposure_record();

}  // namespace lathbook::catalogue
