#pragma once

/// @file
/// Error function, normal distribution and its quantile, with the same bits on every machine.
///
/// Accuracy: see each function; held by tests/cpp/numerics/test_accuracy.cpp.

#include "ohmward/numerics/elementary.hpp"

namespace ohmward::numerics {
inline namespace OHMWARD_LEVEL {
namespace detail {

template <int degree>
[[nodiscard]] constexpr double quotient(const double (&above)[degree], const double (&below)[degree],
                                        double x) noexcept {
  return horner(above, x) / horner(below, x);
}

/// Rational approximations of Cody, lowest power first. Source: `cody-erf`.
namespace cody {
inline constexpr double erf_above[] = {3.20937758913846947e03, 3.77485237685302021e02, 1.13864154151050156e02,
                                       3.16112374387056560e00, 1.85777706184603153e-1};
inline constexpr double erf_below[] = {2.84423683343917062e03, 1.28261652607737228e03, 2.44024637934444173e02,
                                       2.36012909523441209e01, 1};
inline constexpr double middle_above[] = {1.23033935479799725e03, 2.05107837782607147e03, 1.71204761263407058e03,
                                          8.81952221241769090e02, 2.98635138197400131e02, 6.61191906371416295e01,
                                          8.88314979438837594e00, 5.64188496988670089e-1, 2.15311535474403846e-8};
inline constexpr double middle_below[] = {1.23033935480374942e03, 3.43936767414372164e03, 4.36261909014324716e03,
                                          3.29079923573345963e03, 1.62138957456669019e03, 5.37181101862009858e02,
                                          1.17693950891312499e02, 1.57449261107098347e01, 1};
inline constexpr double far_above[] = {6.58749161529837803e-4, 1.60837851487422766e-2, 1.25781726111229246e-1,
                                       3.60344899949804439e-1, 3.05326634961232344e-1, 1.63153871373020978e-2};
inline constexpr double far_below[] = {2.33520497626869185e-3, 6.05183413124413191e-2, 5.27905102951428412e-1,
                                       1.87295284992346725e00, 2.56852019228982242e00, 1};
inline constexpr double one_over_root_pi = 5.6418958354775628695e-1;
}  // namespace cody

/// e^(-c y^2), c = 1 or 1/2; the square taken apart so that its rounding does no harm.
[[nodiscard]] constexpr double exp_of_minus_square(double y, double c) noexcept {
  const double high = truncated(y, 32);
  return exp(-(c * (high * high))) * exp(-(c * ((y - high) * (y + high))));
}

/// A result below the smallest normal number counts as zero. NaN stays.
[[nodiscard]] constexpr double flushed(double x) noexcept { return x < smallest_normal ? 0 : x; }

/// erfc(y) / e^(-y^2) for y > 0.46875.
[[nodiscard]] constexpr double scaled_erfc(double y) noexcept {
  const double middle = quotient(cody::middle_above, cody::middle_below, y);
  const double z = 1 / (y * y);
  const double far = (cody::one_over_root_pi - z * quotient(cody::far_above, cody::far_below, z)) / y;
  return y <= 4 ? middle : far;
}

inline constexpr double erf_small = 0.46875;
inline constexpr double root_half = 0.70710678118654752440;

[[nodiscard]] constexpr double erf_of_small(double x) noexcept {
  return x * quotient(cody::erf_above, cody::erf_below, x * x);
}

}  // namespace detail

/// 2/sqrt(pi) times the integral of e^(-t^2) from 0 to x; +0 for a zero of either sign. Error below 5 ulp.
[[nodiscard]] constexpr double erf(double x) noexcept {
  const double y = detail::absolute(x);
  const double within = y < 10 ? y : 10;
  const double far = 1 - detail::exp_of_minus_square(within, 1) * detail::scaled_erfc(within);
  const double near = y < smallest_normal ? 0 : detail::erf_of_small(x);
  return y <= detail::erf_small ? near : (x > 0 ? far : (x < 0 ? -far : nan));
}

/// 1 - erf(x) without its loss for large x; +0 beyond 26.5. Error below 8.5 ulp.
[[nodiscard]] constexpr double erfc(double x) noexcept {
  const double y = detail::absolute(x);
  const double within = y < 28 ? y : 28;
  const double far = detail::flushed(detail::exp_of_minus_square(within, 1) * detail::scaled_erfc(within));
  const double near = 1 - detail::erf_of_small(y <= detail::erf_small ? x : 0);
  return y <= detail::erf_small ? near : (x > 0 ? far : (x < 0 ? 2 - far : nan));
}

/// Probability that a standard normal variable is at most x. Error below 9 ulp.
[[nodiscard]] constexpr double normal_probability(double x) noexcept {
  const double y = detail::absolute(x);
  const double within = y < 40 ? y : 40;
  const double z = within * detail::root_half;
  const double tail = detail::flushed(0.5 * (detail::exp_of_minus_square(within, 0.5) * detail::scaled_erfc(z)));
  const double near = 0.5 + 0.5 * detail::erf_of_small((z <= detail::erf_small ? x : 0) * detail::root_half);
  return z <= detail::erf_small ? near : (x > 0 ? 1 - tail : (x < 0 ? tail : nan));
}

/// Density of the standard normal distribution.
[[nodiscard]] constexpr double normal_density(double x) noexcept {
  constexpr double one_over_root_two_pi = 0.39894228040143267794;
  const double y = detail::absolute(x);
  const double value = detail::flushed(one_over_root_two_pi * detail::exp_of_minus_square(y < 40 ? y : 40, 0.5));
  return x == x ? value : nan;
}

namespace detail {

/// Rational approximations of Wichura (AS 241), lowest power first. Source: `wichura-as241`.
namespace wichura {
inline constexpr double centre_above[] = {3.3871328727963666080e0, 1.3314166789178437745e2, 1.9715909503065514427e3,
                                          1.3731693765509461125e4, 4.5921953931549871457e4, 6.7265770927008700853e4,
                                          3.3430575583588128105e4, 2.5090809287301226727e3};
inline constexpr double centre_below[] = {1,
                                          4.2313330701600911252e1,
                                          6.8718700749205790830e2,
                                          5.3941960214247511077e3,
                                          2.1213794301586595867e4,
                                          3.9307895800092710610e4,
                                          2.8729085735721942674e4,
                                          5.2264952788528545610e3};
inline constexpr double tail_above[] = {1.42343711074968357734e0,  4.63033784615654529590e0, 5.76949722146069140550e0,
                                        3.64784832476320460504e0,  1.27045825245236838258e0, 2.41780725177450611770e-1,
                                        2.27238449892691845833e-2, 7.74545014278341407640e-4};
inline constexpr double tail_below[] = {1,
                                        2.05319162663775882187e0,
                                        1.67638483018380384940e0,
                                        6.89767334985100004550e-1,
                                        1.48103976427480074590e-1,
                                        1.51986665636164571966e-2,
                                        5.47593808499534494600e-4,
                                        1.05075007164441684324e-9};
inline constexpr double far_above[] = {6.65790464350110377720e0,  5.46378491116411436990e0,  1.78482653991729133580e0,
                                       2.96560571828504891230e-1, 2.65321895265761230930e-2, 1.24266094738807843860e-3,
                                       2.71155556874348757815e-5, 2.01033439929228813265e-7};
inline constexpr double far_below[] = {1,
                                       5.99832206555887937690e-1,
                                       1.36929880922735805310e-1,
                                       1.48753612908506148525e-2,
                                       7.86869131145613259100e-4,
                                       1.84631831751005468180e-5,
                                       1.42151175831644588870e-7,
                                       2.04426310338993978564e-15};
}  // namespace wichura

}  // namespace detail

/// The x that normal_probability(x) = p belongs to: -inf at 0, +inf at 1, NaN outside.
///
/// Relative error below 1e-15.
[[nodiscard]] inline double normal_quantile(double p) noexcept {
  namespace w = detail::wichura;
  const double q = p - 0.5;
  const double s = 0.180625 - q * q;
  const double centre = q * detail::quotient(w::centre_above, w::centre_below, s);
  const double r = sqrt(-log(q < 0 ? p : 1 - p));
  const double tail = detail::quotient(w::tail_above, w::tail_below, r - 1.6);
  const double far = detail::quotient(w::far_above, w::far_below, r - 5);
  const double size = r <= 5 ? tail : (r < infinity ? far : r);
  const bool possible = (p >= 0) & (p <= 1);
  return possible ? (s >= 0 ? centre : (q < 0 ? -size : size)) : nan;
}

}  // namespace OHMWARD_LEVEL
}  // namespace ohmward::numerics
