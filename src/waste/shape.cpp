#include "waste/shape.h"

#include <algorithm>
#include <cmath>

namespace lathbook::waste {

bool goes_into(Rectangle inner, Rectangle outer) {
  const double p = std::max(inner.long_m, inner.short_m), q = std::min(inner.long_m, inner.short_m);
  const double a = std::max(outer.long_m, outer.short_m) + kSameLength_m,
               b = std::min(outer.long_m, outer.short_m) + kSameLength_m;
  if (q > b) return false;
  if (p <= a) return true;
  return b >= (2 * p * q * a + (p * p - q * q) * std::sqrt(p * p + q * q - a * a)) / (p * p + q * q);
}

}  // namespace lathbook::waste
