#pragma once

#include <span>

#include "ohmward/core/floating_point.hpp"
#include "ohmward/core/status.hpp"
#include "ohmward/statistics/censored_regression.hpp"

namespace ohmward::statistics {

/// A robust straight line.
struct RobustSlope {
  Status status = Status::too_few_points;
  double slope = nan;
  double low = nan;  ///< interval of the slope by Kendall's statistic
  double high = nan;
  double intercept = nan;  ///< median residual; without censoring median(y) - slope * median(x)
};

/// Median of the slopes of all pairs (Theil, Sen); with censored observations the slope at which Kendall's statistic of
/// the residuals vanishes, pairs of unknown order counting nothing (Akritas, Murphy and LaValley). Points with a NaN
/// and overloads are left out.
///
/// The ends are slopes of pairs at the ranks (N -+ z sigma) / 2, sigma^2 the variance of Kendall's statistic with ties
/// in x. Ties in y count as none: residuals about another slope than 0 have none, and the interval is never too short
/// by it. Keeps all slopes: n^2 / 2 of them, 8 bytes each and sorted; 10 000 points take 400 MB, that is the practical
/// bound.
///
/// @param level of the interval, within (0, 1)
/// @throws InvalidParameter for unequal lengths or a level outside (0, 1)
/// Status: sound; few_points (below 4 observations, or so few that the ends would lie beyond the outermost slopes and
/// are those: at 95 % with 4 points); too_few_points (no two different x).
/// Source: `sen-1968`. Accuracy: equals scipy's theilslopes where no y is tied (test_statistics.py).
[[nodiscard]] RobustSlope robust_slope(std::span<const double> x, std::span<const Observation> observations,
                                       double level = 0.95);

}  // namespace ohmward::statistics
