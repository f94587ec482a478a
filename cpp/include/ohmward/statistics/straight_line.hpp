#pragma once

#include <span>

#include "ohmward/core/floating_point.hpp"
#include "ohmward/core/status.hpp"

namespace ohmward::statistics {

struct LinePoint {
  double value = nan;
  double standard_uncertainty = nan;
};

/// y = intercept + slope · (x − origin) by least squares, equal weights (JCGM 100:2008 H.3). Source: `gum`.
struct StraightLine {
  double origin = 0;
  double intercept = nan;
  double slope = nan;
  double intercept_standard_uncertainty = nan;
  double slope_standard_uncertainty = nan;
  double correlation = nan;         ///< of intercept and slope
  double standard_deviation = nan;  ///< of one y about the line
  double degrees_of_freedom = nan;
  Status status = Status::too_few_points;

  /// The line at x with the standard uncertainty of the line alone.
  [[nodiscard]] LinePoint at(double x) const noexcept;
};

/// Pairs with a missing member are left out; fewer than three pairs or one single x give no value.
[[nodiscard]] StraightLine straight_line(std::span<const double> x, std::span<const double> y,
                                         double origin = 0) noexcept;

}  // namespace ohmward::statistics
