#include "ohmward/statistics/distributions.hpp"

#include <boost/math/distributions/chi_squared.hpp>
#include <boost/math/distributions/gamma.hpp>
#include <boost/math/distributions/students_t.hpp>
#include <boost/math/special_functions/beta.hpp>
#include <boost/math/special_functions/gamma.hpp>
#include <cmath>

#include "ohmward/core/floating_point.hpp"
#include "ohmward/numerics/normal.hpp"
#include "statistics/quiet_policy.hpp"

// The quiet policy never throws; what is found are constants that Boost.Math initialises with its own.
// NOLINTBEGIN(bugprone-exception-escape)
namespace ohmward::statistics {
namespace {

bool is_probability(double p) noexcept { return p >= 0 && p <= 1; }

/// Quantile of a distribution, with its ends told apart from overflow.
template <class Distribution>
double quantile_of(const Distribution& distribution, double p, double lowest) noexcept {
  if (!is_probability(p)) return nan;
  if (p == 0) return lowest;
  return p == 1 ? infinity : boost::math::quantile(distribution, p);
}

}  // namespace

double student_t_cdf(double x, double degrees_of_freedom) noexcept {
  if (!(degrees_of_freedom > 0)) return nan;
  if (std::isinf(degrees_of_freedom)) return numerics::normal_probability(x);
  if (std::isinf(x)) return x > 0 ? 1 : 0;
  return boost::math::cdf(boost::math::students_t_distribution<double, QuietPolicy>(degrees_of_freedom), x);
}

double student_t_quantile(double probability, double degrees_of_freedom) noexcept {
  if (!(degrees_of_freedom > 0)) return nan;
  if (std::isinf(degrees_of_freedom)) return numerics::normal_quantile(probability);
  return quantile_of(boost::math::students_t_distribution<double, QuietPolicy>(degrees_of_freedom), probability,
                     -infinity);
}

double chi_squared_quantile(double probability, double degrees_of_freedom) noexcept {
  if (!(degrees_of_freedom > 0)) return nan;
  return quantile_of(boost::math::chi_squared_distribution<double, QuietPolicy>(degrees_of_freedom), probability, 0);
}

double chi_squared_upper(double x, double degrees_of_freedom) noexcept {
  if (!(degrees_of_freedom > 0) || !(x >= 0)) return nan;
  return std::isinf(x) ? 0 : boost::math::gamma_q(degrees_of_freedom / 2, x / 2, QuietPolicy{});
}

double gamma_quantile(double probability, double shape) noexcept {
  if (!(shape > 0)) return nan;
  return quantile_of(boost::math::gamma_distribution<double, QuietPolicy>(shape), probability, 0);
}

double beta_quantile(double probability, double first_shape, double second_shape) noexcept {
  if (!is_probability(probability) || !(first_shape > 0) || !(second_shape > 0)) return nan;
  return boost::math::ibeta_inv(first_shape, second_shape, probability, QuietPolicy{});
}

}  // namespace ohmward::statistics
// NOLINTEND(bugprone-exception-escape)
