#pragma once

#include <cstddef>
#include <span>

#include "ohmward/core/checked.hpp"
#include "ohmward/numerics/elementary.hpp"

namespace ohmward::numerics {
inline namespace OHMWARD_LEVEL {
namespace detail {

/// The largest i with x[i] <= at, at most size - 2. `at` lies inside.
[[nodiscard]] constexpr std::size_t interval_of(std::span<const double> x, double at) noexcept {
  std::size_t low = 0, high = x.size() - 1;
  while (high - low > 1) {
    const std::size_t middle = low + (high - low) / 2;
    (x[middle] <= at ? low : high) = middle;
  }
  return low;
}

[[nodiscard]] constexpr Status interpolation_status(std::span<const double> x, std::span<const double> y,
                                                    double at) noexcept {
  if (at != at) return Status::missing_input;
  if (x.size() < 2 || x.size() != y.size()) return Status::too_few_points;
  if (!(at >= x.front() && at <= x.back())) return Status::outside_table;
  return Status::sound;
}

/// Slope at an inner point, by the harmonic mean of its neighbours' weighted with their lengths; 0 at an extremum.
[[nodiscard]] constexpr double inner_slope(double h_left, double h_right, double left, double right) noexcept {
  if (!(left * right > 0)) return 0;
  const double a = 2 * h_right + h_left, b = h_right + 2 * h_left;
  return (a + b) / (a / left + b / right);
}

/// Slope at an end, one-sided through three points, kept from overshooting.
[[nodiscard]] constexpr double end_slope(double h_near, double h_far, double near, double far) noexcept {
  const double slope = ((2 * h_near + h_far) * near - h_near * far) / (h_near + h_far);
  if (!(slope * near > 0)) return 0;
  if (!(near * far > 0) && absolute(slope) > absolute(3 * near)) return 3 * near;
  return slope;
}

}  // namespace detail

/// Straight lines between the points (x, y); x ascending.
/// @return value; outside_table beyond the ends, too_few_points, missing_input.
[[nodiscard]] constexpr Checked<double> interpolate_linear(std::span<const double> x, std::span<const double> y,
                                                           double at) noexcept {
  const Status status = detail::interpolation_status(x, y, at);
  if (status != Status::sound) return no_value(status);
  const std::size_t i = detail::interval_of(x, at);
  if (at == x[i + 1]) return {y[i + 1], Status::sound};
  const double share = (at - x[i]) / (x[i + 1] - x[i]);
  return {y[i] + share * (y[i + 1] - y[i]), Status::sound};
}

/// Cubic curve through the points (x, y), x ascending: smooth, and monotone wherever the points are.
///
/// Slopes after Fritsch and Butland from the neighbouring points only, so nothing is stored. Source: `fritsch-butland`.
/// @return value; outside_table beyond the ends, too_few_points, missing_input.
[[nodiscard]] constexpr Checked<double> interpolate_monotone(std::span<const double> x, std::span<const double> y,
                                                             double at) noexcept {
  const Status status = detail::interpolation_status(x, y, at);
  if (status != Status::sound) return no_value(status);
  if (x.size() == 2) return interpolate_linear(x, y, at);
  const auto length = [&](std::size_t i) { return x[i + 1] - x[i]; };
  const auto chord = [&](std::size_t i) { return (y[i + 1] - y[i]) / length(i); };
  const std::size_t last = x.size() - 1;
  const auto slope = [&](std::size_t i) {
    if (i == 0) return detail::end_slope(length(0), length(1), chord(0), chord(1));
    if (i == last) return detail::end_slope(length(last - 1), length(last - 2), chord(last - 1), chord(last - 2));
    return detail::inner_slope(length(i - 1), length(i), chord(i - 1), chord(i));
  };
  const std::size_t i = detail::interval_of(x, at);
  const double h = length(i), t = (at - x[i]) / h, u = 1 - t;
  const double value =
      u * u * ((1 + 2 * t) * y[i] + t * h * slope(i)) + t * t * ((3 - 2 * t) * y[i + 1] - u * h * slope(i + 1));
  return {value, Status::sound};
}

}  // namespace OHMWARD_LEVEL
}  // namespace ohmward::numerics
