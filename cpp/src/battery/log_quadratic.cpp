#include "log_quadratic.hpp"

#include <algorithm>
#include <array>
#include <cmath>

namespace ohmward::battery {
namespace {

constexpr double sqrt_pi = 1.7724538509055160273;

/// exp(x²) erfc(x) for large x >= 6 by its continued fraction; 24 levels give full double accuracy there.
double scaled_complement(double x) noexcept {
  double tail = x;
  for (int level = 24; level >= 1; --level) tail = x + 0.5 * level / tail;
  return 1 / (sqrt_pi * tail);
}

/// Where the exponent varies little over [0, t]: the series of exp about the middle, to the sixth power of t.
/// The first term left out is below 1e-11 of the result inside the limits that integral() sets.
double nearly_flat(const LogQuadratic& q, double t) noexcept {
  const double half = t / 2;
  const double b = q.linear + 2 * q.quadratic * half;
  const double slope2 = b * b, q2 = q.quadratic, h2 = t * t;
  const double second = slope2 / 2 + q2;
  const double fourth = slope2 * slope2 / 24 + slope2 * q2 / 2 + q2 * q2 / 2;
  const double sixth = slope2 * slope2 * slope2 / 720 + slope2 * slope2 * q2 / 24 + slope2 * q2 * q2 / 4 + q2 * q2 * q2 / 6;
  return std::exp(q.log_density(half)) * t * (1 + h2 * (second / 12 + h2 * (fourth / 80 + h2 * sixth / 448)));
}

double by_error_function(const LogQuadratic& q, double t) noexcept {
  const double root = std::sqrt(-q.quadratic);
  double from = -q.linear / (2 * root), to = from + root * t;  // distances from the peak in units of √2 standard deviations
  const double scale = sqrt_pi / (2 * root);
  if (from <= 0 && to >= 0) return std::exp(q.constant + from * from) * scale * (std::erf(to) - std::erf(from));
  double near = q.constant, far = q.log_density(t);
  if (to < 0) {
    std::swap(near, far);
    from = -to;
    to = root * t + from;
  }
  if (from > 6) return scale * (std::exp(near) * scaled_complement(from) - std::exp(far) * scaled_complement(to));
  return std::exp(near + from * from) * scale * (std::erfc(from) - std::erfc(to));
}

/// Weights and abscissae of the 7-point Gauss-Legendre rule on [-1, 1]. Source: computed from the Legendre polynomial P7.
constexpr std::array legendre_at{-0.94910791234275852, -0.74153118559939444, -0.40584515137739717, 0.0,
                                 0.40584515137739717,  0.74153118559939444,  0.94910791234275852};
constexpr std::array legendre_weight{0.12948496616886969, 0.27970539148927666, 0.38183005050511894, 0.41795918367346939,
                                     0.38183005050511894, 0.27970539148927666, 0.12948496616886969};

double moment_by_rule(const LogQuadratic& q, double width, int power) noexcept {
  double sum = 0;
  for (std::size_t i = 0; i < legendre_at.size(); ++i) {
    const double t = width / 2 * (1 + legendre_at[i]);
    sum += legendre_weight[i] * (power == 1 ? t : t * t) * std::exp(q.log_density(t));
  }
  return sum * width / 2;
}

bool is_smooth(const LogQuadratic& q, double width) noexcept {
  return std::abs(q.linear) * width - q.quadratic * width * width < 3;
}

/// A tilt without curvature: the moments follow from the exponential.
bool is_exponential(const LogQuadratic& q, double width) noexcept {
  return -q.quadratic * width * width < 1e-10;
}

}  // namespace

double LogQuadratic::mode(double width) const noexcept {
  if (quadratic < 0) return std::clamp(-linear / (2 * quadratic), 0.0, width);
  return linear > 0 ? width : 0.0;
}

double LogQuadratic::integral(double t) const noexcept {
  const double tilt = std::abs(linear + quadratic * t) * t, curvature = -quadratic * t * t;
  if (tilt < 0.5 && curvature < 0.1) return nearly_flat(*this, t);
  if (is_exponential(*this, t)) {
    return linear > 0 ? -std::exp(log_density(t)) * std::expm1(-linear * t) / linear
                      : std::exp(constant) * std::expm1(linear * t) / linear;
  }
  return by_error_function(*this, t);
}

double LogQuadratic::first_moment(double width, double mass) const noexcept {
  if (is_smooth(*this, width)) return moment_by_rule(*this, width, 1);
  const double start = std::exp(constant), end = std::exp(log_density(width));
  if (is_exponential(*this, width)) return (end * width - mass) / linear;
  return (end - start - linear * mass) / (2 * quadratic);
}

double LogQuadratic::second_moment(double width, double mass, double first) const noexcept {
  if (is_smooth(*this, width)) return moment_by_rule(*this, width, 2);
  const double end = std::exp(log_density(width));
  if (is_exponential(*this, width)) return (end * width * width - 2 * first) / linear;
  return (end * width - mass - linear * first) / (2 * quadratic);
}

}  // namespace ohmward::battery
