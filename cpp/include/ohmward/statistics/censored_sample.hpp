#pragma once

#include <cstddef>
#include <span>

#include "ohmward/core/floating_point.hpp"
#include "ohmward/core/status.hpp"

namespace ohmward::statistics {

/// What is known of one value: it lies between the two. Equal ends are an exact value, -infinity or infinity leaves an
/// end open. A NaN says that nothing is known: left out.
struct Bounds {
  double low = -infinity;
  double high = infinity;
};

/// Normal distribution of a sample that is partly known by bounds, by maximum likelihood.
struct CensoredSample {
  double mean = nan;
  double standard_deviation = nan;  ///< of the likelihood: without bounds divided by n, not by n - 1
  double mean_standard_uncertainty = nan;
  double standard_deviation_standard_uncertainty = nan;
  double correlation = nan;  ///< of the errors of the two
  double log_likelihood = nan;
  std::size_t exact = 0;
  std::size_t bounded = 0;  ///< known by one bound or two
  std::size_t missing = 0;
  Status status = Status::too_few_points;
};

/// Newton in mean / s and 1 / s, where the likelihood is concave: one maximum or none. Standard uncertainties from its
/// own second derivatives there.
///
/// @throws InvalidParameter for no observation, a low end above the high end, or an exact value that is not finite
/// Status: sound; few_points (fewer than 10 observations that say something: the standard deviation is then low by more
/// than about 1 / (2 n) of itself); too_few_points (none or one); no_solution (one value meets all bounds, or
/// the bounds do not fix the scatter); not_converged.
/// Source: `olsen-1978`. Accuracy: mean and standard deviation within 1e-6 of scipy's fit of CensoredData, their
/// standard uncertainties within 1e-4 of second differences of the likelihood; lifelines' LogNormalFitter agrees within
/// 1e-4 and 1e-3 (test_statistics.py).
[[nodiscard]] CensoredSample censored_normal(std::span<const Bounds> observations);

/// The same of ln x for positive x: mean and standard deviation are those of ln x, the log likelihood is that of x.
/// A low end of 0 or less is no bound.
/// @throws InvalidParameter as censored_normal, or for a high end not above 0
[[nodiscard]] CensoredSample censored_lognormal(std::span<const Bounds> observations);

}  // namespace ohmward::statistics
