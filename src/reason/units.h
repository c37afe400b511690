// Every conversion of units, once. Names elsewhere carry their unit; only these functions may change it.
#pragma once

namespace lathbook::units {

inline constexpr double kMinutesPerHour = 60.0;
inline constexpr double kHoursPerYear = 8760.0;         ///< continuous year
inline constexpr double kWorkingHoursPerYear = 1920.0;  ///< working year (ANSES/Inserm convention)
inline constexpr double kMlPerM3 = 1e6;
inline constexpr double kCm2PerM2 = 1e4;
inline constexpr double kMPerFoot = 0.3048;  ///< exact by definition

[[nodiscard]] constexpr double fibres_per_m3(double f_per_ml) { return f_per_ml * kMlPerM3; }
[[nodiscard]] constexpr double f_per_ml(double fibres_per_m3) { return fibres_per_m3 / kMlPerM3; }
[[nodiscard]] constexpr double fibres_per_m2(double f_per_cm2) { return f_per_cm2 * kCm2PerM2; }
[[nodiscard]] constexpr double f_per_cm2(double fibres_per_m2) { return fibres_per_m2 / kCm2PerM2; }
[[nodiscard]] constexpr double hours(double minutes) { return minutes / kMinutesPerHour; }
[[nodiscard]] constexpr double minutes(double hours) { return hours * kMinutesPerHour; }
[[nodiscard]] constexpr double metres(double feet) { return feet * kMPerFoot; }

}  // namespace lathbook::units
