#pragma once

/// @file
/// Medians by selection.

#include <algorithm>
#include <cmath>
#include <cstddef>
#include <span>
#include <vector>

#include "ohmward/core/floating_point.hpp"

namespace ohmward::screening {

/// What a median absolute deviation is multiplied by to estimate the standard deviation of a normal distribution:
/// 1 / normal_quantile(3/4).
inline constexpr double deviation_of_mad = 1.4826022185056018;

/// Median; the mean of the middle two where there are two. NaN where empty. Reorders `values`.
[[nodiscard]] inline double median(std::span<double> values) {
  if (values.empty()) return nan;
  const auto middle = values.begin() + static_cast<std::ptrdiff_t>(values.size() / 2);
  std::nth_element(values.begin(), middle, values.end());
  if (values.size() % 2 == 1) return *middle;
  return 0.5 * (*middle + *std::max_element(values.begin(), middle));
}

struct Spread {
  double centre = nan;
  double deviation = nan;  ///< robust standard deviation
};

/// Median and robust standard deviation. Reorders `values`, which then hold absolute deviations.
[[nodiscard]] inline Spread spread(std::span<double> values) {
  Spread result{.centre = median(values)};
  for (double& value : values) value = std::abs(value - result.centre);
  result.deviation = deviation_of_mad * median(values);
  return result;
}

/// Median of sorted values without the one at `left_out`; NaN where nothing is left.
[[nodiscard]] inline double median_without(std::span<const double> sorted, std::size_t left_out) {
  if (sorted.size() < 2) return nan;
  const std::size_t n = sorted.size() - 1;
  const auto at = [&](std::size_t i) { return sorted[i < left_out ? i : i + 1]; };
  return n % 2 == 1 ? at(n / 2) : 0.5 * (at(n / 2 - 1) + at(n / 2));
}

}  // namespace ohmward::screening
