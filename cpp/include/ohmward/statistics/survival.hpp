#pragma once

#include <cstddef>
#include <span>
#include <vector>

#include "ohmward/core/floating_point.hpp"
#include "ohmward/core/status.hpp"

namespace ohmward::statistics {

/// How long one unit was watched: from entry until it failed or watching ended.
/// Any one unit of time. At risk at t where entry < t <= until.
struct Lifetime {
  double entry
  = -infinity;  ///< -infinity: watched from its beginning
  double until = nan;
  bool failed = false;  ///< false: still whole then
};

/// The curve at one time of failure, and until the next.
struct SurvivalStep {
  double time = nan;
  std::size_t at_risk = 0;
  std::size_t failed = 0;
  double survival = nan;
  double standard_uncertainty = nan;  ///< Greenwood; NaN where the curve has reached 0
  double low = nan;                   ///< interval by ln(-ln S), NaN where the curve has reached 0
  double high = nan;
};

struct SurvivalCurve {
  std::vector<SurvivalStep> steps;  ///< one a different time of failure, ascending
  double last_time = nan;           ///< latest end of watching: beyond it nothing was seen
  double level = nan;
  std::vector<double>
      first_exits;  ///< when watching ended of the units that were watched from the earliest entry on, ascending
  Status status = Status::too_few_points;

  /// The step that holds at a time. Before the first failure the curve is 1 without a standard uncertainty, and its low
  /// end the exact one of n units of which none failed, ((1 - level) / 2)^(1/n); n counts those that were watched from
  /// the earliest entry until then. NaN beyond last_time.
  [[nodiscard]] SurvivalStep at(double time) const;
};

/// Share that outlives each time (Kaplan, Meier), with late entries (left truncation) and ties: units that leave whole
/// at a time of failure were at risk there.
///
///     S(t) = prod (1 - d/n);  var ln S = sum d / (n (n - d));  ends S^exp(-+ z sqrt(var) / ln S)
///
/// @param level of the pointwise intervals, within (0, 1)
/// @throws InvalidParameter for no lifetime, a NaN or infinite until, a NaN entry, entry >= until, or a level outside
///         (0, 1)
/// Status: sound; few_points (fewer than 10 failures, or the curve reached 0 while others were still to come: late
/// entries and an early risk set that died out); too_few_points (no failure, no step: at() still gives the low end).
/// Source: `kaplan-meier`. Accuracy: within 1e-12 of lifelines and statsmodels (test_statistics.py).
[[nodiscard]] SurvivalCurve kaplan_meier(std::span<const Lifetime> lifetimes, double level = 0.95);

struct LogRankGroup {
  long label = 0;
  std::size_t units = 0;
  std::size_t failed = 0;
  double expected = 0;  ///< failures if all groups had one curve
};

struct LogRank {
  std::vector<LogRankGroup> groups;  ///< by label, ascending
  double chi_squared = nan;
  double degrees_of_freedom = nan;
  double p_value = nan;
  Status status = Status::too_few_points;
};

/// Do groups fail alike? Observed against expected failures at each time, with the hypergeometric covariance for ties
/// and late entries.
/// @param groups one label a lifetime, any integers
/// @throws InvalidParameter as kaplan_meier, or where the lengths differ
/// Status: sound; few_points (expected failures below 5 in a group: chi-squared is rough); too_few_points (one group,
/// no failure, or groups never at risk together). Source: `mantel-logrank`. Accuracy: within 1e-10 of lifelines and
/// statsmodels (test_statistics.py).
[[nodiscard]] LogRank log_rank(std::span<const Lifetime> lifetimes, std::span<const long> groups);

}  // namespace ohmward::statistics
