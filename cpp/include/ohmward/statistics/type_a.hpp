#pragma once

#include <cstddef>
#include <span>
#include <vector>

#include "ohmward/core/floating_point.hpp"
#include "ohmward/core/status.hpp"

namespace ohmward::statistics {

/// A mean of repeated readings (JCGM 100:2008 4.2). Missing readings (NaN) are left out and counted.
struct MeanOfReadings {
  double mean = nan;
  double standard_deviation = nan;    ///< of one reading
  double standard_uncertainty = nan;  ///< of the mean
  double degrees_of_freedom = nan;
  std::size_t readings = 0;
  std::size_t missing = 0;
  Status status = Status::too_few_points;
};

/// Mean of independent readings. `display_step` above 0 sets a floor: a display that always shows the same can still
/// not tell less than step/√12 a reading (JCGM 100:2008 F.2.2.1); the floor has infinite degrees of freedom.
/// Source: `gum`.
[[nodiscard]] MeanOfReadings mean_of(std::span<const double> readings, double display_step = 0) noexcept;

/// Mean of readings in a row that are not independent: u² = s²/n · τ with τ = 1 + 2 Σ (1 − k/n) r_k, summed while
/// neighbouring pairs of autocorrelations stay positive (initial positive sequence) and never below 1.
/// Degrees of freedom n/τ − 1. Source: `initial-positive-sequence`.
[[nodiscard]] MeanOfReadings mean_of_autocorrelated(std::span<const double> readings);

/// Standard deviation pooled over groups: √(Σ ν s² / Σ ν), with Σ ν degrees of freedom. Source: `gum`.
struct Pooled {
  double standard_deviation = nan;
  double degrees_of_freedom = nan;
};
[[nodiscard]] Pooled pooled(std::span<const double> standard_deviations,
                            std::span<const double> degrees_of_freedom) noexcept;

/// Components of variance over days, operators or set-ups: one-way random effects, also with unequal groups
/// (JCGM 100:2008 H.5 for equal ones).
struct VarianceComponents {
  double mean = nan;                  ///< of the group means where groups are equal, else of all readings
  double within = nan;                ///< standard deviation within a group, not below the display floor
  double between = nan;               ///< standard deviation between groups; 0 where the estimate is negative
  double standard_uncertainty = nan;  ///< of the mean
  double degrees_of_freedom = nan;
  double f_ratio = nan;  ///< mean square between over mean square within
  Status status = Status::too_few_points;
};
/// @param groups one label a reading, any integers @param display_step floor as in mean_of
/// @throws InvalidParameter where the two lengths differ
/// Source: `gum`.
[[nodiscard]] VarianceComponents variance_components(std::span<const double> readings, std::span<const long> groups,
                                                     double display_step = 0);

/// Means of quantities observed together in the same n sets, and the covariance of those means
/// (JCGM 100:2008 eq. 17). Source: `gum`.
struct JointMeans {
  std::vector<double> means;
  std::vector<double> covariance;  ///< of the means, row after row
  double degrees_of_freedom = nan;
};
/// @param observations one quantity after another, each of `sets` readings
/// @throws InvalidParameter for fewer than two sets, a wrong length or a missing reading
[[nodiscard]] JointMeans joint_means(std::span<const double> observations, std::size_t sets);

}  // namespace ohmward::statistics
