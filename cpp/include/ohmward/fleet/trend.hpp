#pragma once

#include <span>
#include <vector>

#include "ohmward/temperature/to_reference.hpp"
#include "ohmward/uncertainty/quantity.hpp"

namespace ohmward::fleet {

/// One reading of one part in its history.
struct HistoryReading {
  double day = nan;                    ///< since any origin
  uncertainty::Quantity resistance{};  ///< as read, log scale; bounds count as bounds
  double part_celsius = nan;
  double standard_uncertainty_kelvin = nan;
  bool after_repair = false;  ///< the first reading after a repair: the level may have changed
};

/// How much like parts scatter from day to day about their own trends: what a part with few readings borrows.
struct LikeScatter {
  double scatter = nan;  ///< of ln R, beyond the stated uncertainties
  double degrees_of_freedom =
      0;  ///< how many of a part's own it is worth; small where the parts differ among themselves

  [[nodiscard]] bool known() const noexcept { return degrees_of_freedom > 0 && scatter >= 0; }
};

struct TrendOptions {
  const temperature::Law& law;     ///< none: as read
  double reference_celsius = nan;  ///< needed with a law
  double lower_limit_ohm = nan;    ///< at the reference temperature; NaN: no crossing is asked for
  double level = 0.95;             ///< of intervals and of the bound that crosses the limit, two-sided
  double horizon_day = 3650;       ///< beyond it no crossing is told
  LikeScatter like{};              ///< from `like_scatter`; not known: the part's own readings alone decide
};

/// ln R = level + slope * t, with a step at each repair.
struct Trend {
  Status status = Status::too_few_points;
  double slope_per_year = nan;                       ///< of ln R
  double slope_standard_uncertainty_per_year = nan;  ///< scatter, readings, and the law's constant as one shared term
  double slope_low_per_year = nan;                   ///< interval at the level, with Student's factor
  double slope_high_per_year = nan;
  double robust_slope_per_year = nan;  ///< within the stretches between repairs: not moved by one wild reading
  double robust_low_per_year = nan;
  double robust_high_per_year = nan;
  double law_share = nan;           ///< share of the slope's variance that the law's constant makes
  std::vector<double> repair_step;  ///< ln(R after / R before), one a repair
  std::vector<double> repair_step_standard_uncertainty;
  double scatter = nan;             ///< of ln R about the trend, beyond the stated uncertainties
  double degrees_of_freedom = nan;  ///< behind the intervals
  double level_day = nan;           ///< day of the last reading
  double level_ohm = nan;           ///< height of the trend at that day, after all repairs
  double crossing_day =
      nan;  ///< first day from the last reading on at which the lower bound of the trend lies below the limit
  double expected_crossing_day = nan;  ///< the same for the trend itself
  std::size_t exact = 0, bounds = 0, left_out = 0;
};

/// Trend of one part.
///
/// Corrected to the reference temperature where a law is given; a reading without its part temperature is then left
/// out. The law's constant is one unknown for all readings: its error follows the season, so it enters the slope as a
/// shared term and not as scatter. The common gain of a meter moves the level only. With the scatter of like parts the
/// variance is (d0 s0^2 + d s^2)/(d0 + d) on d0 + d degrees of freedom: a part with few readings borrows from its like.
/// Status: sound; few_points (fewer
/// than 6 exact readings: intervals are honest but wide); too_few_points (no more exact readings than coefficients);
/// no_law (reference without a law).
[[nodiscard]] Trend trend(std::span<const HistoryReading> history, const TrendOptions& options);

/// What like parts are worth to one of them, and the least scatter of ln R between visits that is believed (0.09
/// decades). Settings without a source, chosen by tests/power/trend_power.py: more freedom or less scatter names too
/// many parts that did not change.
inline constexpr double like_degrees_of_freedom = 8;
inline constexpr double least_like_scatter = 0.2;

/// The scatter that like parts have in common, from each part's own trend: the most likely s0 where the variances of
/// the parts are s0^2 times F-distributed, one in five of them anywhere; found once with and once without the readings
/// that lie off both their neighbours; at least `least_like_scatter`. Parts without a degree of freedom do not count;
/// not known below 3 parts. Source: `moderated-variance`.
[[nodiscard]] LikeScatter like_scatter(std::span<const std::vector<HistoryReading>> parts, const TrendOptions& options);

/// One of several like readings (three phases, like parts) against the rest.
struct LikeResult {
  double ratio = nan;                 ///< to the median of all, of two to the other
  double standard_uncertainty = nan;  ///< of ln(ratio), of this reading and of the median
  bool stands_out = false;
  Status status = Status::too_few_points;
};

/// Compares like readings. One stands out where its ratio to the median of all, of two to the other lies outside
/// [1/factor, factor] by more than two standard uncertainties. Bounds count as bounds: one stands out only if the bound
/// says so.
[[nodiscard]] std::vector<LikeResult> compare_like(std::span<const uncertainty::Quantity> readings, double factor = 3);

}  // namespace ohmward::fleet
