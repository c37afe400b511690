// How a particle or fibre falls in still air.
//
// Settling: v = rho0 D^2 g Cc(D) / (18 mu), D the aerodynamic diameter: that of the sphere of 1 g/cm3 that falls as
// fast. Slip: Cc(d) = 1 + (lambda/d) (2.34 + 1.05 exp(-0.39 d/lambda)). Sphere: D solves D^2 Cc(D) = (rho/rho0) d^2
// Cc(d). Fibre of diameter d and length L (b = L/d >= 3), slender rod in random orientation:
//   D = d sqrt(rho/rho0 F), F = (F_par + 2 F_perp)/3, F_perp = 9/8 (ln 2b + 0.193), F_par = 9/4 (ln 2b - 0.807);
//   the rod's own slip is left out of D (thin rods slip more than the sphere: they fall up to about 20 % faster at 0.5
//   um).
// Air: mu by Sutherland's law and lambda by Willeke's, from 1.81e-5 Pa s and 0.066 um at 20 C and 101.325 kPa.
// Domain: diameters 0.01 to 100 um; Stokes' law reads up to 10 % too fast from about 80 um. Checked against the fall
// table after Hinds (tests/published/settling.csv), the 3 d rule's fall times, and its own inverse.
#pragma once

#include <optional>

#include "reason/fault.h"
#include "reason/reason.h"

namespace lathbook::air {

/// The air a particle falls in.
struct AirState {
  double temperature_c = 20.0;
  double pressure_kpa = 101.325;
};

[[nodiscard]] double viscosity_pa_s(const AirState& air);
[[nodiscard]] double mean_free_path_um(const AirState& air);

/// Slip correction of a sphere, in the form of Hinds (the one used everywhere else here).
[[nodiscard]] double slip_hinds(double diameter_um, double mean_free_path_um);
/// The same in the form of Davies; within 1.5 % of the other from 0.1 to 100 um.
[[nodiscard]] double slip_davies(double diameter_um, double mean_free_path_um);

/// Speed of the sphere of unit density with this aerodynamic diameter.
[[nodiscard]] double settling_m_per_s(double aerodynamic_diameter_um, const AirState& air = {});

struct Particle {
  double diameter_um = 0;
  std::optional<double> length_um;  ///< there = a fibre, absent = a sphere
  double density_g_per_cm3 = 1;
};

struct Fall {
  double slip = 1;  ///< of the sphere itself; of a fibre's aerodynamic sphere
  double aerodynamic_diameter_um = 0;
  double settling_m_per_s = 0;
  /// Fibres only: the two orientations and Timbrell's fit D = 1.3 rho^(1/2) d^(5/6) L^(1/6).
  std::optional<double> across_um;
  std::optional<double> along_um;
  std::optional<double> timbrell_um;
  reason::Reasons reasons;
};

/// Faults: a fibre shorter than three diameters.
[[nodiscard]] reason::Result<Fall> fall_of(const Particle& particle, const AirState& air = {});

/// Aerodynamic diameter of a fibre in random orientation (see above); `aspect` is taken as at least 3.
[[nodiscard]] double fibre_aerodynamic_um(double diameter_um, double length_um, double density_g_per_cm3);

}  // namespace lathbook::air
