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

struct TrendOptions {
  const temperature::Law& law;     ///< none: as read
  double reference_celsius = nan;  ///< needed with a law
  double lower_limit_ohm = nan;    ///< at the reference temperature; NaN: no crossing is asked for
  double level = 0.95;             ///< of intervals and of the bound that crosses the limit, two-sided
  double horizon_day = 3650;       ///< beyond it no crossing is told
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
  double scatter = nan;  ///< of ln R about the trend, beyond the stated uncertainties
  double crossing_day =
      nan;  ///< first day from the last reading on at which the lower bound of the trend lies below the limit
  double expected_crossing_day = nan;  ///< the same for the trend itself
  std::size_t exact = 0, bounds = 0, left_out = 0;
};

/// Trend of one part.
///
/// Corrected to the reference temperature where a law is given; a reading without its part temperature is then left
/// out. The law's constant is one unknown for all readings: its error follows the season, so it enters the slope as a
/// shared term and not as scatter. The common gain of a meter moves the level only. Status: sound; few_points (fewer
/// than 6 exact readings: intervals are honest but wide); too_few_points (no more exact readings than coefficients);
/// no_law (reference without a law).
[[nodiscard]] Trend trend(std::span<const HistoryReading> history, const TrendOptions& options);

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
