#pragma once

#include <span>

#include "ohmward/core/floating_point.hpp"
#include "ohmward/core/status.hpp"

namespace ohmward::statistics {

/// Mean of readings where every day met every operator equally often, with what scatters: two-way random effects with
/// interaction. Each component is a standard deviation; 0 where its estimate is negative.
struct CrossedMean {
  double mean = nan;
  double repeat = nan;       ///< from reading to reading, not below the display floor
  double interaction = nan;  ///< of a day with an operator
  double between_days = nan;
  double between_operators = nan;     ///< from operator to operator
  double standard_uncertainty = nan;  ///< of the mean, not below the display floor
  double degrees_of_freedom = nan;    ///< of that, from its mean squares (JCGM 100:2008 G.4)
  Status status = Status::too_few_points;
};

/// One label a reading for day (or set-up) and for operator, any integers.
struct CrossedLabels {
  std::span<const long> days;
  std::span<const long> operators;
};

/// Type A evaluation for such a design. The components are those of `crossed_components` in two_way_components.hpp,
/// with a floor. Mean squares: day − interaction = operators · repeats · σ²(day), operator likewise, interaction −
/// repeat = repeats · σ²(interaction); u² of the mean is the sum of all components over how often each was drawn.
/// `missing_input` where a reading is missing, `too_few_points` below two days, operators or repeats, `few_points`
/// below four days or operators. A display of `display_step` sets a floor of step/√12.
/// @throws InvalidParameter where lengths differ or a day met an operator more or less often than the others did
/// Source: `gum`.
[[nodiscard]] CrossedMean crossed_mean(std::span<const double> readings, const CrossedLabels& labels,
                                       double display_step = 0);

}  // namespace ohmward::statistics
