#include "air/sobol.h"

#include <boost/random/sobol.hpp>
#include <cmath>

namespace lathbook::air {
namespace {

/// Mixes 64 bits thoroughly (the finaliser of SplitMix).
std::uint64_t mix(std::uint64_t x) {
  x += 0x9e3779b97f4a7c15ULL;
  x = (x ^ (x >> 30)) * 0xbf58476d1ce4e5b9ULL;
  x = (x ^ (x >> 27)) * 0x94d049bb133111ebULL;
  return x ^ (x >> 31);
}

}  // namespace

std::vector<std::uint32_t> sobol_points(std::size_t count, std::size_t dimensions) {
  boost::random::sobol engine(dimensions);
  std::vector<std::uint32_t> out(count * dimensions);
  // The library leaves out the first point, 0; with it the first 2^k points are a net.
  for (std::size_t i = dimensions; i < out.size(); ++i) out[i] = static_cast<std::uint32_t>(engine() >> 32);
  return out;
}

double scrambled(std::uint32_t fraction, std::uint64_t seed, std::size_t dimension) {
  // Owen: each digit is flipped or not by a coin that depends on all digits above it. The first sixteen digits have
  // a coin each; below them one set of coins for each block, finer than any percentile asked of the draws.
  constexpr int kNested = 16;
  const std::uint64_t stream = mix(seed ^ mix(dimension + 1));
  std::uint32_t out = 0;
  for (int digit = 0; digit < kNested; ++digit) {
    const std::uint32_t above = digit == 0 ? 0 : fraction >> (32 - digit);
    const auto coin = static_cast<std::uint32_t>(mix(stream ^ (static_cast<std::uint64_t>(digit) << 40) ^ above) & 1U);
    out |= (((fraction >> (31 - digit)) & 1U) ^ coin) << (31 - digit);
  }
  const std::uint64_t rest = mix(stream ^ (0x7fULL << 48) ^ (fraction >> (32 - kNested)));
  const std::uint32_t low_mask = (1U << (32 - kNested)) - 1;
  out |= (fraction ^ static_cast<std::uint32_t>(rest)) & low_mask;
  return (static_cast<double>(out) + 0.5) * std::ldexp(1.0, -32);
}

}  // namespace lathbook::air
