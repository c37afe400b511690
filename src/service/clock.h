// The clock of this machine, for the programs: everything below is told the time.
#pragma once

#include <string>

namespace lathbook::service {

/// This moment in universal time, as YYYY-MM-DDThh:mm:ssZ.
[[nodiscard]] std::string now_utc();

/// This day where the machine stands, as YYYY-MM-DD.
[[nodiscard]] std::string today_here();

}  // namespace lathbook::service
