#include "ohmward/uncertainty/coverage.hpp"

#include <algorithm>
#include <boost/math/special_functions/bessel.hpp>
#include <boost/math/special_functions/gamma.hpp>
#include <cmath>
#include <numbers>

#include "ohmward/core/errors.hpp"
#include "ohmward/numerics/normal.hpp"
#include "ohmward/statistics/degrees_of_freedom.hpp"
#include "ohmward/statistics/distributions.hpp"
#include "statistics/quiet_policy.hpp"

namespace ohmward::uncertainty {
namespace {

using std::numbers::pi;

void require_level(double level) {
  if (!(level > 0 && level < 1)) throw InvalidParameter("level", level, "between 0 and 1");
}

double sinc(double x) noexcept { return std::abs(x) < 1e-4 ? 1 - x * x / 6 : std::sin(x) / x; }

/// Integral of sin(x)/x from 0: power series, then the asymptotic one; error below 1e-8.
double sine_integral(double x) noexcept {
  constexpr double switch_over = 20;
  if (x < switch_over) {
    double term = x;
    double sum = x;
    for (int n = 1; std::abs(term) > 1e-17 * std::abs(sum) && n < 200; ++n) {
      term *= -x * x / ((2.0 * n) * (2.0 * n + 1));
      sum += term / (2 * n + 1);
    }
    return sum;
  }
  double f = 0;
  double g = 0;
  double term = 1 / x;
  for (int n = 0; n < 20; ++n) {  // terms n!/x^(n+1), alternating in pairs
    const double sign = (n / 2) % 2 == 0 ? 1 : -1;
    (n % 2 == 0 ? f : g) += sign * term;
    term *= (n + 1) / x;
  }
  return pi / 2 - f * std::cos(x) - g * std::sin(x);
}

/// Characteristic function of a t distribution of unit scale.
// The quiet policy never throws; what is found are constants that Boost.Math initialises with its own.
// NOLINTBEGIN(bugprone-exception-escape)
double student_t_characteristic(double t, double dof) noexcept {
  if (t == 0) return 1;
  constexpr double expand_from = 300;
  if (dof > expand_from) {  // a mixture of normals whose variance is ν/χ²: its first four moments
    const double a = dof / 2;
    const double v = a * a / ((a - 1) * (a - 1) * (a - 2));
    const double third = 4 * std::sqrt(a - 2) / (a - 3) * v * std::sqrt(v);
    const double fourth = (3 + 6 * (5 * a - 11) / ((a - 3) * (a - 4))) * v * v;
    const double h = t * t / 2;
    return std::exp(-h * a / (a - 1)) * (1 + h * h * (v / 2 - h * (third / 6 - h * fourth / 24)));
  }
  const double x = std::sqrt(dof) * t;
  if (x > 700) return 0;
  const double order = dof / 2;
  const double bessel = boost::math::cyl_bessel_k(order, x, statistics::QuietPolicy());
  if (!std::isfinite(bessel)) return std::exp(-t * t / 2 * dof / (dof - 2));  // far below 1: the first terms suffice
  const double log_factor =
      order * std::log(x) - boost::math::lgamma(order, statistics::QuietPolicy()) - (order - 1) * std::numbers::ln2;
  return std::min(std::exp(log_factor) * bessel, 1.0);
}

double characteristic(const SymmetricPart& part, double t) noexcept {
  const double x = t * part.scale;
  switch (part.shape) {
    case Shape::normal: return std::exp(-x * x / 2);
    case Shape::student_t:
    case Shape::student_t_with_standard_uncertainty: return student_t_characteristic(x, part.second);
    case Shape::rectangular: return sinc(x);
    case Shape::triangular: return sinc(x / 2) * sinc(x / 2);
    case Shape::trapezoidal: return sinc(x * (1 + part.second) / 2) * sinc(x * (1 - part.second) / 2);
    case Shape::curvilinear_trapezoidal:
      return (sine_integral(x * (1 + part.second)) - sine_integral(x * (1 - part.second))) / (2 * part.second * x);
    case Shape::arcsine: return boost::math::cyl_bessel_j(0, x, statistics::QuietPolicy());
    default: return nan;
  }
}
// NOLINTEND(bugprone-exception-escape)

/// What the size of the characteristic function stays below.
double envelope(const SymmetricPart& part, double t) noexcept {
  const double x = t * part.scale;
  switch (part.shape) {
    case Shape::rectangular: return std::min(1.0, 1 / x);
    case Shape::triangular: return std::min(1.0, 4 / (x * x));
    case Shape::trapezoidal:
      return std::min(1.0, 2 / (x * (1 + part.second))) * std::min(1.0, 2 / (x * (1 - part.second)));
    case Shape::curvilinear_trapezoidal: return std::min(1.0, 1 / x);
    case Shape::arcsine: return std::min(1.0, std::sqrt(2 / (pi * x)));
    default: return characteristic(part, t);
  }
}

/// How far out the density of a part has died away.
double reach(const SymmetricPart& part) noexcept {
  if (part.shape == Shape::normal) return 10 * part.scale;
  if (part.shape == Shape::student_t || part.shape == Shape::student_t_with_standard_uncertainty)
    return part.scale * std::max(10.0, std::sqrt(part.second) * std::pow(1e8, 1 / (part.second + 1)));
  if (part.shape == Shape::curvilinear_trapezoidal) return part.scale * (1 + part.second);
  return part.scale;
}

/// Half-width of the central interval of one part alone; NaN where only the series knows.
double half_width_alone(const SymmetricPart& part, double level) {
  switch (part.shape) {
    case Shape::normal: return part.scale * numerics::normal_quantile((1 + level) / 2);
    case Shape::student_t:
    case Shape::student_t_with_standard_uncertainty:
      return part.scale * statistics::student_t_quantile((1 + level) / 2, part.second);
    case Shape::rectangular: return part.scale * level;
    case Shape::triangular: return part.scale * (1 - std::sqrt(1 - level));
    case Shape::trapezoidal:
      return coverage_factor_trapezoid(level, part.second) * part.scale *
             std::sqrt((1 + part.second * part.second) / 6);
    case Shape::arcsine: return part.scale * std::sin(level * pi / 2);
    default: return nan;
  }
}

/// P(|sum| ≤ x) as the Fourier series of the density, repeated so far away that its tails vanish.
class SumOfParts {
 public:
  explicit SumOfParts(std::span<const SymmetricPart> parts) {
    double farthest = 0;
    for (const SymmetricPart& part : parts) farthest += reach(part);
    period_ = 2.5 * farthest;
    constexpr int most_terms = 400'000;
    constexpr double negligible = 1e-11;
    for (int k = 1; k <= most_terms; ++k) {
      const double t = 2 * pi * k / period_;
      double product = 1;
      double bound = 1;
      for (const SymmetricPart& part : parts) {
        product *= characteristic(part, t);
        bound *= envelope(part, t);
      }
      terms_.push_back(product / k);
      if (bound / k < negligible) break;
    }
  }
  [[nodiscard]] double reach_of_all() const noexcept { return period_ / 2.5; }
  [[nodiscard]] double within(double x) const noexcept {
    double sum = 0;
    for (std::size_t k = 0; k < terms_.size(); ++k)
      sum += terms_[k] * std::sin(2 * pi * static_cast<double>(k + 1) * x / period_);
    return 2 * (x / period_ + sum / pi);
  }

 private:
  double period_ = 0;
  std::vector<double> terms_;
};

template <class Function>
double root(Function&& increasing, double low, double high) {
  for (int i = 0; i < 200 && high - low > 1e-12 * high; ++i) {
    const double middle = low + (high - low) / 2;
    (increasing(middle) < 0 ? low : high) = middle;
  }
  return low + (high - low) / 2;
}

SymmetricPart part_of(const Input& input, double sensitivity) {
  const double c = std::abs(sensitivity);
  // A normal input of few degrees of freedom is a t in the sense of JCGM 101.
  if (input.shape == Shape::normal && std::isfinite(input.degrees_of_freedom))
    return {.shape = Shape::student_t, .scale = c * input.parameters[1], .second = input.degrees_of_freedom};
  SymmetricPart part{.shape = input.shape, .scale = c * input.parameters[1], .second = input.parameters[2]};
  if (input.shape == Shape::curvilinear_trapezoidal) part.second /= input.parameters[1];
  if (std::isinf(part.second)) part.shape = Shape::normal;
  return part;
}

}  // namespace

double coverage_factor_t(double level, double degrees_of_freedom) {
  require_level(level);
  if (!(degrees_of_freedom >= 1)) throw InvalidParameter("degrees_of_freedom", degrees_of_freedom, "at least 1");
  return statistics::student_t_quantile((1 + level) / 2, statistics::whole_degrees_of_freedom(degrees_of_freedom));
}

double coverage_factor_trapezoid(double level, double top_fraction) {
  const double beta = top_fraction;
  require_level(level);
  if (!(beta >= 0 && beta <= 1)) throw InvalidParameter("top_fraction", beta, "0 to 1");
  const double u = std::sqrt((1 + beta * beta) / 6);
  if (level / (2 - level) >= beta) return (1 - std::sqrt((1 - level) * (1 - beta * beta))) / u;
  return level * (1 + beta) / (2 * u);
}

double coverage_factor_rectangle_and_normal(double level, double ratio) {
  require_level(level);
  if (!(ratio >= 0) || !std::isfinite(ratio)) throw InvalidParameter("ratio", ratio, "a finite number, at least 0");
  const double a = std::numbers::sqrt3;  // half-width of a rectangle of u = 1
  if (ratio == 0) return a * level;
  const auto integral_of_cdf = [](double z) {
    return z * numerics::normal_probability(z) + numerics::normal_density(z);
  };
  const auto within = [&](double x) {
    return ratio / a * (integral_of_cdf((x + a) / ratio) - integral_of_cdf((x - a) / ratio)) - 1;
  };
  const double u = std::sqrt(1 + ratio * ratio);
  return root([&](double x) { return within(x) - level; }, 0, a + 40 * ratio) / u;
}

double coverage_factor_of_sum(std::span<const SymmetricPart> parts, double standard_uncertainty, double level) {
  require_level(level);
  if (!(standard_uncertainty > 0)) throw InvalidParameter("standard_uncertainty", standard_uncertainty, "above 0");
  std::vector<SymmetricPart> kept;
  double largest = 0;
  for (const SymmetricPart& part : parts) {
    if (!is_symmetric(part.shape))
      throw InvalidParameter("shape", text(part.shape), "a symmetric shape; use Monte Carlo");
    if (!(part.scale >= 0)) throw InvalidParameter("scale", part.scale, "at least 0");
    largest = std::max(largest, part.scale);
  }
  double sum_of_normals = 0;  // normals join; what is too small to be seen is left out
  for (const SymmetricPart& part : parts) {
    if (part.shape == Shape::normal)
      sum_of_normals = std::hypot(sum_of_normals, part.scale);
    else if (part.scale > 1e-7 * largest)
      kept.push_back(part);
  }
  if (sum_of_normals > 1e-7 * largest) kept.push_back({.shape = Shape::normal, .scale = sum_of_normals});
  if (kept.empty()) throw InvalidParameter("parts", 0, "at least one part above 0");
  if (kept.size() == 1) {
    const double alone = half_width_alone(kept.front(), level);
    if (!std::isnan(alone)) return alone / standard_uncertainty;
  }
  const SumOfParts sum(kept);
  return root([&](double x) { return sum.within(x) - level; }, 0, sum.reach_of_all()) / standard_uncertainty;
}

double coverage_factor_of_shape(const Budget& budget, const Output& output, double level) {
  if (budget.is_correlated() || !budget.groups().empty())
    throw InvalidParameter("budget", "correlated inputs", "independent inputs; use Monte Carlo");
  std::vector<SymmetricPart> parts;
  for (std::size_t i = 0; i < budget.size(); ++i) {
    const Input& input = budget.inputs()[i];
    if (output.sensitivities[i] != 0 && !is_symmetric(input.shape))
      throw InvalidParameter("input '" + budget.names()[i] + "'", text(input.shape),
                             "a symmetric shape; use Monte Carlo");
    if (output.sensitivities[i] != 0) parts.push_back(part_of(input, output.sensitivities[i]));
  }
  return coverage_factor_of_sum(parts, output.standard_uncertainty, level);
}

Expanded expanded(const Output& output, double coverage_factor, double level, Scale scale) {
  if (!(coverage_factor > 0)) throw InvalidParameter("coverage_factor", coverage_factor, "above 0");
  Expanded result{.level = level, .coverage_factor = coverage_factor};
  if (scale == Scale::linear) {
    result.expanded_uncertainty = coverage_factor * output.standard_uncertainty;
    result.interval = {output.value - result.expanded_uncertainty, output.value + result.expanded_uncertainty};
    return result;
  }
  if (!(output.value > 0)) throw InvalidParameter("value", output.value, "above 0 on the log scale");
  result.expanded_uncertainty = coverage_factor * output.standard_uncertainty / output.value;
  const double factor = std::exp(result.expanded_uncertainty);
  result.interval = {output.value / factor, output.value * factor};
  return result;
}

}  // namespace ohmward::uncertainty
