#pragma once

/// @file
/// The normal distribution as a censored likelihood needs it: in logarithms, also far out.

#include <cmath>
#include <numbers>

namespace ohmward::statistics {

inline double log_normal_density(double z) noexcept { return -0.5 * z * z - 0.5 * std::log(2 * std::numbers::pi); }

/// ln of the normal distribution function.
inline double log_normal_cdf(double z) noexcept {
  if (z > -30) return std::log(0.5 * std::erfc(-z / std::numbers::sqrt2));
  return log_normal_density(z) - std::log(-z) - 1 / (z * z);
}

}  // namespace ohmward::statistics
