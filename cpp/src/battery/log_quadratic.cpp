#include "log_quadratic.hpp"

#include <algorithm>
#include <array>
#include <cmath>
#include <numbers>

#include "normal_tail.hpp"

namespace ohmward::battery {
namespace {

constexpr double root_two_pi = 2.5066282746310005024;
constexpr double far_out = 6 * std::numbers::sqrt2;  // from there the tail keeps its digits by a continued fraction

/// exp(x²) erfc(x) for large x >= 6 by its continued fraction; 24 levels give full double accuracy there.
double scaled_complement(double x) noexcept {
  double tail = x;
  for (int level = 24; level >= 1; --level) tail = x + 0.5 * level / tail;
  return std::numbers::inv_sqrtpi / tail;
}

/// Where the exponent varies little over [0, t]: the series of exp about the middle, to the sixth power of t.
/// The first terms left out are below 1e-10 of the result inside the limits that integral() sets.
double nearly_flat(const LogQuadratic& q, double t) noexcept {
  const double half = t / 2;
  const double b = q.linear + 2 * q.quadratic * half;
  const double slope2 = b * b, q2 = q.quadratic, h2 = t * t;
  const double second = slope2 / 2 + q2;
  const double fourth = slope2 * slope2 / 24 + slope2 * q2 / 2 + q2 * q2 / 2;
  const double sixth =
      slope2 * slope2 * slope2 / 720 + slope2 * slope2 * q2 / 24 + slope2 * q2 * q2 / 4 + q2 * q2 * q2 / 6;
  return std::exp(q.log_density(half)) * t * (1 + h2 * (second / 12 + h2 * (fourth / 80 + h2 * sixth / 448)));
}

double by_error_function(const LogQuadratic& q, double t) noexcept {
  const double root = std::sqrt(-2 * q.quadratic), scale = root_two_pi / root;
  double from = -q.linear / root, to = from + root * t;  // distances from the peak in standard deviations
  if (from <= 0 && to >= 0)
    return std::exp(q.constant + from * from / 2) * scale * (1 - normal_tail(from) - normal_tail(to));
  double near = q.constant, far = q.log_density(t);
  if (to < 0) {
    std::swap(near, far);
    from = -to;
    to = root * t + from;
  }
  if (from > far_out) {
    const double half_scale = scale / 2;
    return half_scale * (std::exp(near) * scaled_complement(from / std::numbers::sqrt2) -
                         std::exp(far) * scaled_complement(to / std::numbers::sqrt2));
  }
  return std::exp(near + from * from / 2) * scale * (normal_tail(from) - normal_tail(to));
}

/// Weights and abscissae of the 7-point Gauss-Legendre rule on [-1, 1]. Source: computed from the Legendre polynomial
/// P7.
constexpr std::array legendre_at{-0.94910791234275852, -0.74153118559939444, -0.40584515137739717, 0.0,
                                 0.40584515137739717,  0.74153118559939444,  0.94910791234275852};
constexpr std::array legendre_weight{0.12948496616886969, 0.27970539148927666, 0.38183005050511894, 0.41795918367346939,
                                     0.38183005050511894, 0.27970539148927666, 0.12948496616886969};

/// Where the density on [0, width] is above exp(-depth) of its peak.
struct Support {
  double from, to;
};

Support support(const LogQuadratic& q, double width, double depth) noexcept {
  const double peak = q.mode(width), slope = q.linear + 2 * q.quadratic * peak;
  // From the peak the exponent falls as slope·d + quadratic·d²; the slope is 0 or points out of the piece.
  const double fall = std::abs(slope), curve = -q.quadratic;
  const double reach = 2 * depth / (fall + std::sqrt(fall * fall + 4 * curve * depth));
  return {std::max(0.0, peak - reach), std::min(width, peak + reach)};
}

/// A tilt without curvature to speak of.
bool is_exponential(const LogQuadratic& q, double width) noexcept { return -q.quadratic * width * width < 1e-10; }

}  // namespace

double LogQuadratic::mode(double width) const noexcept {
  if (quadratic < 0) return std::clamp(-linear / (2 * quadratic), 0.0, width);
  return linear > 0 ? width : 0.0;
}

double LogQuadratic::integral(double t) const noexcept {
  const double tilt = std::abs(linear + quadratic * t) * t, curvature = -quadratic * t * t;
  if (tilt < 0.5 && curvature < 0.03) return nearly_flat(*this, t);
  if (is_exponential(*this, t)) {
    return linear > 0 ? -std::exp(log_density(t)) * std::expm1(-linear * t) / linear
                      : std::exp(constant) * std::expm1(linear * t) / linear;
  }
  return by_error_function(*this, t);
}

LogQuadratic::Moments LogQuadratic::moments(double width) const noexcept {
  constexpr int panels = 16;
  constexpr double depth = 36;
  const Support inside = support(*this, width, depth);
  const double panel = (inside.to - inside.from) / panels;
  Moments sum;
  for (int i = 0; i < panels; ++i)
    for (std::size_t k = 0; k < legendre_at.size(); ++k) {
      const double t = inside.from + panel * (i + (1 + legendre_at[k]) / 2);
      const double share = legendre_weight[k] * panel / 2 * t * std::exp(log_density(t));
      sum.first += share;
      sum.second += share * t;
    }
  return sum;
}

}  // namespace ohmward::battery
