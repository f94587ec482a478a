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

double student_t_cdf(double x, double dof) noexcept {
  if (!(dof > 0)) return nan;
  if (std::isinf(dof)) return numerics::normal_probability(x);
  if (std::isinf(x)) return x > 0 ? 1 : 0;
  return boost::math::cdf(boost::math::students_t_distribution<double, QuietPolicy>(dof), x);
}

double student_t_quantile(double p, double dof) noexcept {
  if (!(dof > 0)) return nan;
  if (std::isinf(dof)) return numerics::normal_quantile(p);
  return quantile_of(boost::math::students_t_distribution<double, QuietPolicy>(dof), p, -infinity);
}

double chi_squared_quantile(double p, double dof) noexcept {
  if (!(dof > 0)) return nan;
  return quantile_of(boost::math::chi_squared_distribution<double, QuietPolicy>(dof), p, 0);
}

double chi_squared_upper(double x, double dof) noexcept {
  if (!(dof > 0) || !(x >= 0)) return nan;
  return std::isinf(x) ? 0 : boost::math::gamma_q(dof / 2, x / 2, QuietPolicy{});
}

double gamma_quantile(double p, double shape) noexcept {
  if (!(shape > 0)) return nan;
  return quantile_of(boost::math::gamma_distribution<double, QuietPolicy>(shape), p, 0);
}

double beta_quantile(double p, double a, double b) noexcept {
  if (!is_probability(p) || !(a > 0) || !(b > 0)) return nan;
  return boost::math::ibeta_inv(a, b, p, QuietPolicy{});
}

}  // namespace ohmward::statistics
