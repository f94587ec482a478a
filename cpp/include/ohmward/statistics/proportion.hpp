#pragma once

#include <cstdint>

#include "ohmward/core/floating_point.hpp"
#include "ohmward/core/status.hpp"

namespace ohmward::statistics {

/// How many of the trials were events.
struct Count {
  std::int64_t events;
  std::int64_t trials;
};

/// A share of all with its two-sided interval; no trial gives too_few_points and NaN.
struct Proportion {
  double value = nan;
  double low = nan;
  double high = nan;
  Status status = Status::too_few_points;
};

/// Exact interval of a binomial share (Clopper, Pearson): each end is the share at which so many events, or as few,
/// have the probability (1 - level) / 2. Covers at least the level, whatever the true share is. With no event the low
/// end is 0, with nothing but events the high end is 1.
/// @param level within (0, 1)
/// @throws InvalidParameter for events below 0 or above the trials, or a level outside (0, 1)
/// Source: `clopper-pearson`. Accuracy: within 1e-12, relative, of statsmodels' proportion_confint
/// (test_statistics.py).
[[nodiscard]] Proportion clopper_pearson(Count count, double level = 0.95);

/// Interval from the score of the binomial likelihood (Wilson): shorter than the exact one, covers the level on
/// average over true shares and not at each of them.
/// @param level within (0, 1)
/// @throws InvalidParameter as clopper_pearson
/// Source: `wilson-score`. Accuracy: within 1e-13 of scipy's binomtest (test_statistics.py).
[[nodiscard]] Proportion wilson(Count count, double level = 0.95);

}  // namespace ohmward::statistics
