// "Does the certificate that came back stand up?": each certificate of the book held against its own figures.
#pragma once

#include <nlohmann/json_fwd.hpp>

#include "book/book.h"
#include "check/house.h"
#include "clearance/certificate.h"
#include "reason/fault.h"

namespace lathbook::service {

using Json = nlohmann::json;

/// One certificate, held against what the rules of the country ask after such a removal, with the analyst's
/// accreditation taken from the book's parties. Faults name the certificate.
[[nodiscard]] reason::Result<clearance::Clearance> certificate_answer(const check::House& house,
                                                                      const book::Certificate& certificate);
[[nodiscard]] Json certificate_json(const book::Certificate& certificate, const clearance::Clearance& answer);

}  // namespace lathbook::service
