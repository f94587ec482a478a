#pragma once

#include <cstddef>
#include <span>
#include <vector>

#include "ohmward/core/censoring.hpp"
#include "ohmward/core/floating_point.hpp"
#include "ohmward/core/status.hpp"

namespace ohmward::statistics {

/// One observation: y, or a bound of it, with its own standard uncertainty and one value a regressor.
struct Observation {
  double y;
  Censoring censoring = Censoring::exact;
  double standard_uncertainty = 0;
};

/// y_i = sum_j x_ij b_j + e_i, e_i normal with variance u_i^2 + s^2; s is common and estimated.
struct CensoredRegression {
  Status status = Status::too_few_points;
  std::vector<double> coefficient;
  std::vector<double> covariance;  ///< row by row, of the coefficients, scaled by no prior knowledge of s
  double scatter = nan;            ///< s
  double log_likelihood = nan;
  double degrees_of_freedom = nan;  ///< exact observations less coefficients
  std::size_t exact = 0;
};

/// Maximum likelihood with censored observations; an overload says nothing and is left out, as is NaN.
///
/// x: row by row, `coefficients` values an observation; its columns must be independent.
/// estimate_scatter false takes s = 0: the stated uncertainties are all there is.
/// Where no observation is censored the estimated scatter is unbiased (divided by the degrees of freedom).
/// Status: sound; too_few_points (fewer exact observations than coefficients, or as many and a scatter wanted);
/// not_converged; no_solution (columns dependent, or all u = 0 without a scatter).
/// Accuracy: coefficients within 1e-6 of lifelines' LogNormalAFTFitter and of numpy's least squares (test_fleet.py).
[[nodiscard]] CensoredRegression censored_regression(std::span<const Observation> observations,
                                                     std::span<const double> x, std::size_t coefficients,
                                                     bool estimate_scatter = true);

}  // namespace ohmward::statistics
