// What to do in the ten minutes after something was disturbed, in order: data/first_response.json.
#pragma once

#include <optional>
#include <string>
#include <string_view>
#include <vector>

#include "catalogue/catalogue.h"
#include "reason/fault.h"

namespace lathbook::catalogue {

enum class Amount { kSmall, kLarge };  ///< a few holes or crumbs; more than that

struct ResponseStep {
  std::string id;
  std::string text;
  std::vector<Binding> bindings;
  std::vector<Amount> amounts;
  Backing backing;
};

[[nodiscard]] reason::Result<std::vector<ResponseStep>> parse_first_response(std::string_view text);
/// The shipped steps, which must parse (std::logic_error otherwise).
[[nodiscard]] const std::vector<ResponseStep>& shipped_first_response();

/// The steps for a family and amount, in order. Not known what it is: as for the loosest.
[[nodiscard]] std::vector<ResponseStep> first_response(const std::vector<ResponseStep>& steps, const Family* family,
                                                       Amount amount);

}  // namespace lathbook::catalogue
