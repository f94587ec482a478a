#pragma once

namespace ohmward {

/// Celsius zero in kelvin; exact by definition. Source: `si-brochure`.
inline constexpr double celsius_zero_kelvin = 273.15;

/// Boltzmann constant over the elementary charge [eV/K]; both exact since 2019, here to 10 digits.
/// Source: `si-brochure`.
inline constexpr double boltzmann_electronvolt_per_kelvin = 8.617333262e-5;

inline constexpr double seconds_per_hour = 3600;
inline constexpr double seconds_per_day = 86400;

}  // namespace ohmward
