// Points that fill the unit cube evenly: a Sobol sequence, scrambled by a hash of its digits (Owen's nested
// scrambling), so that each scramble is an independent, unbiased set of draws, reproducible from its seed and from the
// draw's number alone.
#pragma once

#include <cstdint>
#include <vector>

namespace lathbook::air {

/// The first `count` points in `dimensions`, before scrambling: 32-bit fractions, [point * dimensions + dimension].
[[nodiscard]] std::vector<std::uint32_t> sobol_points(std::size_t count, std::size_t dimensions);

/// One coordinate scrambled: a number in (0, 1), never an end.
[[nodiscard]] double scrambled(std::uint32_t fraction, std::uint64_t seed, std::size_t dimension);

}  // namespace lathbook::air
