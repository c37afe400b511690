// Small chances in words. No chance above zero is ever called none.
#pragma once

#include <string>

namespace lathbook::dose {

/// "about 3 in 100", "about 12 in a million", "about 0.11 in a million", "about 3 in a billion", "about 2 in a million
/// million"; a chance of exactly zero is "no more than without it". Two significant figures at most.
[[nodiscard]] std::string chance_in_words(double per_million);

/// "between 3 in a billion and 40 in a million".
[[nodiscard]] std::string range_in_words(double low_per_million, double high_per_million);

}  // namespace lathbook::dose
