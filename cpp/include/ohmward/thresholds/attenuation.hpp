#pragma once

#include <span>

#include "ohmward/core/floating_point.hpp"
#include "ohmward/core/status.hpp"
#include "ohmward/statistics/censored_regression.hpp"
#include "ohmward/statistics/roc.hpp"

namespace ohmward::thresholds {

/// Scores of one class, as a normal distribution that the meter has blurred.
struct ClassOfScores {
  double mean = nan;
  double scatter = nan;        ///< standard deviation of the units themselves
  double meter_scatter = nan;  ///< root mean square of the stated standard uncertainties
  double degrees_of_freedom = nan;
};

/// How much of the overlap of two classes the meter makes.
struct Attenuation {
  ClassOfScores with{};
  ClassOfScores without{};
  double area_as_read = nan;         ///< by ranks, as given
  double area_without_meter = nan;   ///< the same, deconvolved
  double low = nan, high = nan;      ///< its interval
  double normal_area_as_read = nan;  ///< of the two fitted normal distributions, blurred
  double normal_area_without_meter = nan;
  double meter_share = nan;  ///< of the variance of scores within the classes
  Status status = Status::too_few_points;
};

/// Area that a meter without any scatter of its own would reach.
///
/// Each class is normal with variance scatter² + u_i², fitted by maximum likelihood with bounds as bounds. The rank
/// area is carried over by its normal deviate: z = Phi⁻¹(area) times the square root of (variance as read / variance
/// without the meter), which is exact where both classes are normal (binormal). The interval takes the area's own
/// standard error and the uncertainty of the variances, first order.
/// Only what differs from reading to reading blurs: an error that all readings share must not be in u_i.
/// @param as_read area by ranks of the same scores
/// @throws InvalidParameter for a level outside (0, 1)
/// Status: sound; few_points (fewer than 10 exact readings in a class); too_few_points; inside_noise (the meter alone
/// would scatter as much as the scores do: no area); out_of_domain (the area as read is 0 or 1).
/// Sources: `attenuation`, `binormal-area`. A test recovers a known truth (test_attenuation.cpp).
[[nodiscard]] Attenuation attenuation(std::span<const statistics::Observation> with,
                                      std::span<const statistics::Observation> without, const statistics::Area& as_read,
                                      double level = 0.95);

}  // namespace ohmward::thresholds
