#include "air/aerodynamic.h"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>
#include <string>

namespace lathbook::air {
namespace {

constexpr double kGravityMPerS2 = 9.80665;
constexpr double kZeroCelsiusK = 273.15;
constexpr double kReferenceK = 293.15;
constexpr double kReferenceKpa = 101.325;
constexpr double kReferenceViscosityPaS = 1.81e-5;
constexpr double kReferencePathUm = 0.066;
constexpr double kSutherlandK = 110.4;
constexpr double kShortestFibre = 3.0;  // length over diameter

double perpendicular(double aspect) { return 9.0 / 8.0 * (std::log(2 * aspect) + 0.193); }
double parallel(double aspect) { return 9.0 / 4.0 * (std::log(2 * aspect) - 0.807); }

/// D with D^2 Cc(D) = target, by Newton on a smooth increasing function; Cc >= 1 gives the starting point from above.
double invert_slip(double target_um2, double path_um) {
  double diameter = std::sqrt(target_um2);
  for (int i = 0; i < 60; ++i) {
    const double x = diameter / path_um;
    const double fade = 1.05 * std::exp(-0.39 * x);
    const double value = diameter * diameter + path_um * diameter * (2.34 + fade) - target_um2;
    const double slope = 2 * diameter + path_um * (2.34 + fade) - 0.39 * diameter * fade;
    const double next = std::max(diameter - value / slope, diameter * 0.1);
    if (std::abs(next - diameter) <= 1e-15 * diameter) return next;
    diameter = next;
  }
  return diameter;
}

}  // namespace

double viscosity_pa_s(const AirState& air) {
  const double t = air.temperature_c + kZeroCelsiusK;
  return kReferenceViscosityPaS * std::pow(t / kReferenceK, 1.5) * (kReferenceK + kSutherlandK) / (t + kSutherlandK);
}

double mean_free_path_um(const AirState& air) {
  const double t = air.temperature_c + kZeroCelsiusK;
  return kReferencePathUm * (kReferenceKpa / air.pressure_kpa) * (t / kReferenceK) * (1 + kSutherlandK / kReferenceK) /
         (1 + kSutherlandK / t);
}

double slip_hinds(double diameter_um, double path_um) {
  return 1 + path_um / diameter_um * (2.34 + 1.05 * std::exp(-0.39 * diameter_um / path_um));
}

double slip_davies(double diameter_um, double path_um) {
  return 1 + 2 * path_um / diameter_um * (1.257 + 0.4 * std::exp(-0.55 * diameter_um / path_um));
}

double settling_m_per_s(double aerodynamic_diameter_um, const AirState& air) {
  const double d_m = aerodynamic_diameter_um * 1e-6;
  return 1000.0 * d_m * d_m * kGravityMPerS2 * slip_hinds(aerodynamic_diameter_um, mean_free_path_um(air)) /
         (18 * viscosity_pa_s(air));
}

double fibre_aerodynamic_um(double diameter_um, double length_um, double density_g_per_cm3) {
  const double aspect = std::max(length_um / diameter_um, kShortestFibre);
  return diameter_um * std::sqrt(density_g_per_cm3 * (parallel(aspect) + 2 * perpendicular(aspect)) / 3);
}

reason::Result<Fall> fall_of(const Particle& particle, const AirState& air) {
  const double path_um = mean_free_path_um(air);
  Fall fall;
  if (particle.length_um) {
    const double aspect = *particle.length_um / particle.diameter_um;
    if (aspect < kShortestFibre) {
      return reason::Fault{"/length_um", fmt::format("{}", *particle.length_um),
                           "is too short for a fibre of this diameter",
                           fmt::format("at least three diameters, {:g} um", kShortestFibre * particle.diameter_um)};
    }
    const double d = particle.diameter_um;
    const double rho = particle.density_g_per_cm3;
    fall.aerodynamic_diameter_um = fibre_aerodynamic_um(d, *particle.length_um, rho);
    fall.across_um = d * std::sqrt(rho * perpendicular(aspect));
    fall.along_um = d * std::sqrt(rho * parallel(aspect));
    fall.timbrell_um = 1.3 * std::sqrt(rho) * std::pow(d, 5.0 / 6.0) * std::pow(*particle.length_um, 1.0 / 6.0);
    fall.slip = slip_hinds(fall.aerodynamic_diameter_um, path_um);
    fall.reasons.push_back({"A slender rod falling at random; its aerodynamic sphere carries the slip", "cox-1970"});
  } else {
    fall.slip = slip_hinds(particle.diameter_um, path_um);
    fall.aerodynamic_diameter_um =
        invert_slip(particle.density_g_per_cm3 * particle.diameter_um * particle.diameter_um * fall.slip, path_um);
    fall.reasons.push_back({"A sphere: the aerodynamic diameter carries density and slip", "hinds-1999"});
  }
  fall.settling_m_per_s = settling_m_per_s(fall.aerodynamic_diameter_um, air);
  fall.reasons.push_back({"Stokes' law with slip correction, mean free path 0.066 um at 20 C", "hinds-1999"});
  if (fall.aerodynamic_diameter_um > 80) {
    fall.reasons.push_back(
        {"Above about 80 um air drags more than Stokes' law says: the true fall is slower", "hinds-1999"});
  }
  return fall;
}

}  // namespace lathbook::air
