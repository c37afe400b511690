#include "clearance/count.h"

#include <fmt/format.h>

#include <algorithm>
#include <boost/math/distributions/chi_squared.hpp>
#include <cmath>
#include <numbers>

namespace lathbook::clearance {
namespace {

double circle_mm2(double diameter_mm) { return std::numbers::pi * diameter_mm * diameter_mm / 4; }

reason::Fault fault(std::string field, double value, std::string problem, std::string allowed) {
  return {.where = "/" + std::move(field),
          .value = fmt::format("{:g}", value),
          .problem = std::move(problem),
          .allowed = std::move(allowed)};
}

}  // namespace

Interval poisson_limits(double counted, double confidence) {
  const double tail = (1 - confidence) / 2;
  const auto quantile = [](double degrees, double p) {
    return boost::math::quantile(boost::math::chi_squared(degrees), p) / 2;
  };
  return {.low = counted > 0 ? quantile(2 * counted, tail) : 0.0, .high = quantile(2 * counted + 2, 1 - tail)};
}

Interval between_laboratory_limits(double counted, double s) {
  // Roots of (X − μ)² = z² (μ + S² μ²) with z = 1.5 above and 2 below, as the method draws its two curves.
  const auto root = [&](double spread, double sign) {
    const double b = 2 * counted + spread;
    const double a = 1 - spread * s * s;
    return (b + sign * std::sqrt(b * b - 4 * a * counted * counted)) / (2 * a);
  };
  return {.low = root(4, -1), .high = root(2.25, +1)};
}

double concentration_f_per_ml(double fibres, const Count& count) {
  const double per_mm2 = fibres / count.fields / circle_mm2(count.graticule_um / 1000);
  return per_mm2 * circle_mm2(count.filter_mm) / (1000 * count.litres);
}

double litres_to_show_below(double limit_f_per_ml, double fields, double field_mm2, double filter_mm2,
                            double detected_fibres) {
  const double upper = between_laboratory_limits(detected_fibres).high;
  return upper / fields / field_mm2 * filter_mm2 / (1000 * limit_f_per_ml);
}

std::string reported_figure(double f_per_ml) {
  if (f_per_ml <= 0) return "0";
  // Rounding can lift a value over a power of ten (0.0097 → 0.010): the last nought then says more than is known.
  const auto rounded = [&](int figures) {
    const int decimals = std::max(0, figures - 1 - static_cast<int>(std::floor(std::log10(f_per_ml))));
    return fmt::format("{:.{}f}", f_per_ml, decimals);
  };
  std::string text = rounded(f_per_ml < 0.1 ? 1 : 2);
  while (text.find('.') != std::string::npos && text.size() > 4 && text.back() == '0') text.pop_back();
  return text;
}

reason::Result<AirCount> air_count(const Count& count) {
  reason::Faults faults;
  if (!(count.litres > 0)) faults.push_back(fault("litres", count.litres, "is no volume of air", "more than 0"));
  if (!(count.fields >= 1)) faults.push_back(fault("fields", count.fields, "is no field", "1 or more"));
  if (!(count.fibres >= 0)) faults.push_back(fault("fibres", count.fibres, "is not a count", "0 or more"));
  if (!(count.graticule_um > 0))
    faults.push_back(fault("graticule_um", count.graticule_um, "is no width", "more than 0"));
  if (!(count.filter_mm > 0)) faults.push_back(fault("filter_mm", count.filter_mm, "is no width", "more than 0"));
  if (count.blank_fibres.has_value() != count.blank_fields.has_value()) {
    faults.push_back({.where = count.blank_fibres ? "/blank_fields" : "/blank_fibres",
                      .value = {},
                      .problem = "is missing",
                      .allowed = "a blank's fibres together with the fields they were counted in"});
  } else if (count.blank_fields && !(*count.blank_fields >= 1 && *count.blank_fibres >= 0)) {
    faults.push_back(fault("blank_fields", *count.blank_fields, "is no field", "1 or more, with 0 fibres or more"));
  }
  const auto crowded = [&](const char* field, double fibres, double fields) {
    if (fields >= 1 && fibres > kMostFibresPerField * fields) {
      faults.push_back(
          fault(field, fibres, fmt::format("is more than {:g} fields can hold and still be counted", fields),
                fmt::format("at most {:g}, which is {:g} a field", kMostFibresPerField * fields, kMostFibresPerField)));
    }
  };
  crowded("fibres", count.fibres, count.fields);
  if (count.blank_fibres && count.blank_fields) crowded("blank_fibres", *count.blank_fibres, *count.blank_fields);
  if (faults.empty() && !std::isfinite(concentration_f_per_ml(kMostFibresPerField * count.fields, count))) {
    faults.push_back({.where = "/graticule_um",
                      .value = fmt::format("{:g}", count.graticule_um),
                      .problem = fmt::format("is too small a circle for {:g} mm of filter and {:g} litres",
                                             count.filter_mm, count.litres),
                      .allowed = "sizes a laboratory counts with: about 100 µm, 22 mm and 480 litres"});
  }
  if (!faults.empty()) return faults;

  const double blank = count.blank_fibres ? *count.blank_fibres / *count.blank_fields * count.fields : 0.0;
  const auto net = [&](double fibres) { return concentration_f_per_ml(std::max(0.0, fibres - blank), count); };
  const auto scaled = [&](Interval limits) { return Interval{.low = net(limits.low), .high = net(limits.high)}; };

  AirCount out;
  out.f_per_ml = net(count.fibres);
  out.quantification_limit_f_per_ml = concentration_f_per_ml(kQuantifiedFibres, count);
  out.fibres_per_mm2 = std::max(0.0, count.fibres - blank) / count.fields / circle_mm2(count.graticule_um / 1000);
  out.between_laboratories = scaled(between_laboratory_limits(count.fibres));
  out.chance = scaled(poisson_limits(count.fibres));
  // A hair of slack: 20 fibres must count as 20 however the division rounds.
  out.quantified = out.f_per_ml >= out.quantification_limit_f_per_ml * (1 - 1e-12);
  out.reported =
      out.quantified ? reported_figure(out.f_per_ml) : "<" + reported_figure(out.quantification_limit_f_per_ml);

  out.reasons.push_back(
      {fmt::format("{:g} fibres in {:g} fields of {:g} µm on a {:g} mm filter, {:g} litres of air: {:.4f} f/ml.",
                   count.fibres, count.fields, count.graticule_um, count.filter_mm, count.litres, out.f_per_ml),
       "niosh-7400"});
  if (count.blank_fibres) {
    out.reasons.push_back({fmt::format("The blank's {:g} fibres in {:g} fields were taken off.", *count.blank_fibres,
                                       *count.blank_fields),
                           "niosh-7400"});
  }
  out.reasons.push_back({fmt::format("Fewer than 20 fibres are not a quantity: the limit here is {} f/ml.",
                                     reported_figure(out.quantification_limit_f_per_ml)),
                         "hsg248"});
  out.reasons.push_back(
      {"Low and high are where nine of ten laboratories would land on the same filter.", "niosh-7400"});
  return out;
}

}  // namespace lathbook::clearance
