#pragma once

namespace ohmward::statistics {

/// Probability that a t-distributed quantity is at most x; infinite degrees of freedom give the normal one.
[[nodiscard]] double student_t_cdf(double x, double degrees_of_freedom) noexcept;
/// Inverse of student_t_cdf; NaN outside 0..1 or for degrees of freedom not above 0.
[[nodiscard]] double student_t_quantile(double probability, double degrees_of_freedom) noexcept;

/// NaN outside 0..1 or for degrees of freedom not above 0.
[[nodiscard]] double chi_squared_quantile(double probability, double degrees_of_freedom) noexcept;
/// Probability that a chi-squared quantity is above x, without the loss of 1 less a number near 1.
[[nodiscard]] double chi_squared_upper(double x, double degrees_of_freedom) noexcept;
/// Quantile of the gamma distribution of unit scale.
[[nodiscard]] double gamma_quantile(double probability, double shape) noexcept;
/// Quantile of the beta distribution; NaN outside 0..1 or for a shape not above 0.
[[nodiscard]] double beta_quantile(double probability, double first_shape, double second_shape) noexcept;

}  // namespace ohmward::statistics
