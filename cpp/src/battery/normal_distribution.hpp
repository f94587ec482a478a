#pragma once

#include <cmath>

namespace ohmward::battery {

/// Probability that a standard normal value is at most z.
[[nodiscard]] inline double normal_cumulative(double z) noexcept { return std::erfc(-z * 0.70710678118654752440) / 2; }

}  // namespace ohmward::battery
