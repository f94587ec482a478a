#pragma once

namespace ohmward::statistics {

/// Density of the standard normal distribution.
[[nodiscard]] double normal_density(double z) noexcept;
/// Probability that a standard normal quantity is at most z.
[[nodiscard]] double normal_cdf(double z) noexcept;
/// Inverse of normal_cdf; NaN outside 0..1.
[[nodiscard]] double normal_quantile(double probability) noexcept;

/// Probability that a t-distributed quantity is at most x; infinite degrees of freedom give the normal one.
[[nodiscard]] double student_t_cdf(double x, double degrees_of_freedom) noexcept;
/// Inverse of student_t_cdf; NaN outside 0..1 or for degrees of freedom not above 0.
[[nodiscard]] double student_t_quantile(double probability, double degrees_of_freedom) noexcept;

/// NaN outside 0..1 or for degrees of freedom not above 0.
[[nodiscard]] double chi_squared_quantile(double probability, double degrees_of_freedom) noexcept;
/// Quantile of the gamma distribution of unit scale.
[[nodiscard]] double gamma_quantile(double probability, double shape) noexcept;

}  // namespace ohmward::statistics
