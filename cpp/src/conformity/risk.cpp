#include "ohmward/conformity/risk.hpp"

#include <algorithm>
#include <boost/math/quadrature/gauss_kronrod.hpp>
#include <cmath>
#include <vector>

#include "ohmward/core/errors.hpp"
#include "ohmward/numerics/normal.hpp"
#include "ohmward/statistics/distributions.hpp"

namespace ohmward::conformity {
namespace {

using uncertainty::Quantity;

double on_scale(double value, Scale scale) noexcept { return scale == Scale::log ? std::log(value) : value; }

/// P(lower ≤ x ≤ upper) for x = centre + u·t; an end that is NaN is open.
double between(double lower, double upper, double centre, double u, double dof) noexcept {
  const double above = std::isnan(upper) ? 1.0 : statistics::student_t_cdf((upper - centre) / u, dof);
  const double below = std::isnan(lower) ? 0.0 : statistics::student_t_cdf((lower - centre) / u, dof);
  // Far above both ends the difference of two numbers near 1 would lose its digits.
  if (below > 0.5)
    return statistics::student_t_cdf((centre - lower) / u, dof) -
           (std::isnan(upper) ? 0.0 : statistics::student_t_cdf((centre - upper) / u, dof));
  return above - below;
}

void require(const Meter& meter) {
  if (!(meter.standard_uncertainty > 0) || !std::isfinite(meter.standard_uncertainty))
    throw InvalidParameter("standard_uncertainty", meter.standard_uncertainty, "a finite number above 0");
}

/// Points where an integrand over the true value bends, in order, within the prior.
std::vector<double> break_points(const Prior& prior, const Meter& meter, const Limit& limit, double reading = nan) {
  constexpr double tails[] = {-40, -12, -8, -5, -3, -1, 0, 1, 3, 5, 8, 12, 40};
  const double low = std::max(prior.low, prior.location - 40 * prior.scale);
  const double high = std::min(prior.high, prior.location + 40 * prior.scale);
  std::vector<double> points{low, high};
  const auto add_around = [&](double centre, double width, bool log) {
    if (std::isnan(centre)) return;
    for (const double tail : tails) points.push_back(log ? centre * std::exp(tail * width) : centre + tail * width);
  };
  const Acceptance acceptance = acceptance_of(limit, meter.standard_uncertainty, meter.scale);
  const bool log = meter.scale == Scale::log;
  add_around(prior.location, prior.scale, false);
  for (const double end : {acceptance.lower, acceptance.upper, reading})
    add_around(end, meter.standard_uncertainty, log);
  points.push_back(limit.lower);
  points.push_back(limit.upper);
  std::erase_if(points, [&](double x) { return !(x >= low && x <= high); });
  std::sort(points.begin(), points.end());
  points.erase(std::unique(points.begin(), points.end()), points.end());
  return points;
}

/// Integrals inside and outside the limit, piece by piece; no piece crosses an end of the limit.
struct Split {
  double inside = 0;
  double outside = 0;
  [[nodiscard]] double all() const noexcept { return inside + outside; }
};

template <class Integrand>
Split integrate(const std::vector<double>& points, const Limit& limit, Integrand&& integrand) {
  using Rule15 = boost::math::quadrature::gauss_kronrod<double, 31>;
  Split sum;
  for (std::size_t i = 0; i + 1 < points.size(); ++i) {
    const double middle = points[i] + (points[i + 1] - points[i]) / 2;
    const double piece = Rule15::integrate(integrand, points[i], points[i + 1], 5, 1e-10);
    const bool inside = !(middle < limit.lower) && !(middle > limit.upper);
    (inside ? sum.inside : sum.outside) += piece;
  }
  return sum;
}

double require_mass(const Split& mass) {
  if (!(mass.all() > 0) || !std::isfinite(mass.all()))
    throw InvalidParameter("prior", mass.all(), "a density with a finite mass above 0");
  return mass.all();
}

double require_positive(std::string_view field, double value) {
  if (!(value > 0) || !std::isfinite(value)) throw InvalidParameter(field, value, "a finite number above 0");
  return value;
}

}  // namespace

double probability_of_conformity(const Quantity& quantity, const Limit& limit) noexcept {
  const double u = quantity.standard_uncertainty();
  if (!has_value(quantity.status) || !(u > 0) || std::isinf(u) || quantity.censoring != Censoring::exact) return nan;
  if (std::isnan(limit.lower) && std::isnan(limit.upper)) return nan;
  const Scale scale = quantity.scale;
  return between(on_scale(limit.lower, scale), on_scale(limit.upper, scale), on_scale(quantity.value, scale), u,
                 quantity.degrees_of_freedom);
}

SpecificRisk specific_risk(const Quantity& quantity, const Limit& limit) noexcept {
  const double conforms = probability_of_conformity(quantity, limit);
  const bool accepted = judge(quantity, limit).verdict == Verdict::pass;
  return {.accepted = accepted, .risk = accepted ? 1 - conforms : conforms};
}

double capability_index(const Limit& limit, double standard_uncertainty) noexcept {
  return (limit.upper - limit.lower) / (4 * standard_uncertainty);
}

Prior normal_prior(const LocationAndScale& of) {
  require_positive("scale", of.scale);
  if (!std::isfinite(of.location)) throw InvalidParameter("location", of.location, "a finite number");
  return {.density = [of](double x) { return numerics::normal_density((x - of.location) / of.scale) / of.scale; },
          .location = of.location,
          .scale = of.scale};
}

Prior lognormal_prior(const LocationAndScale& of) {
  require_positive("location", of.location);
  require_positive("scale", of.scale);
  if (of.scale > 3) throw InvalidParameter("scale", of.scale, "at most 3: twenty-fold up or down");
  const double low = of.location * std::exp(-10 * of.scale);
  const double high = of.location * std::exp(10 * of.scale);
  return {.density =
              [of](double x) {
                return x > 0 ? numerics::normal_density(std::log(x / of.location) / of.scale) / (x * of.scale) : 0.0;
              },
          .low = low,
          .high = high,
          .location = of.location,
          .scale = of.location * std::max(1.0, std::expm1(of.scale * 10) / 40)};
}

Prior rectangular_prior(const LocationAndScale& of) {
  require_positive("scale", of.scale);
  if (!std::isfinite(of.location)) throw InvalidParameter("location", of.location, "a finite number");
  return {.density = [of](double) { return 0.5 / of.scale; },
          .low = of.location - of.scale,
          .high = of.location + of.scale,
          .location = of.location,
          .scale = of.scale};
}

double probability_of_acceptance(double true_value, const Meter& meter, const Limit& limit) noexcept {
  const Acceptance acceptance = acceptance_of(limit, meter.standard_uncertainty, meter.scale);
  if (!acceptance.is_possible()) return 0;
  return between(on_scale(acceptance.lower, meter.scale), on_scale(acceptance.upper, meter.scale),
                 on_scale(true_value, meter.scale), meter.standard_uncertainty, infinity);
}

GlobalRisks global_risks(const Prior& prior, const Meter& meter, const Limit& limit) {
  check(limit);
  require(meter);
  const std::vector<double> points = break_points(prior, meter, limit);
  const Split mass = integrate(points, limit, prior.density);
  const double all = require_mass(mass);
  const Split accepted =
      integrate(points, limit, [&](double x) { return prior.density(x) * probability_of_acceptance(x, meter, limit); });
  const Split rejected = integrate(
      points, limit, [&](double x) { return prior.density(x) * (1 - probability_of_acceptance(x, meter, limit)); });
  return {.conforming = mass.inside / all,
          .accepted = accepted.all() / all,
          .consumer_joint = accepted.outside / all,
          .producer_joint = rejected.inside / all,
          .consumer_conditional = accepted.outside / accepted.all(),
          .producer_conditional = rejected.inside / rejected.all()};
}

Posterior with_prior(const Prior& prior, const Meter& meter, double reading, const Limit& limit) {
  check(limit);
  require(meter);
  if (!std::isfinite(reading)) throw InvalidParameter("reading", reading, "a finite number");
  const std::vector<double> points = break_points(prior, meter, limit, reading);
  const double shown = on_scale(reading, meter.scale);
  const auto likelihood = [&](double x) {
    return prior.density(x) * numerics::normal_density((shown - on_scale(x, meter.scale)) / meter.standard_uncertainty);
  };
  const Split mass = integrate(points, limit, likelihood);
  const double all = require_mass(mass);
  const double mean = integrate(points, limit, [&](double x) { return x * likelihood(x); }).all() / all;
  const double square =
      integrate(points, limit, [&](double x) { return (x - mean) * (x - mean) * likelihood(x); }).all() / all;
  return {.mean = mean, .standard_deviation = std::sqrt(square), .probability_of_conformity = mass.inside / all};
}

Rule rule_for_consumer_risk(const Prior& prior, const Meter& meter, const Limit& limit, double risk) {
  if (!(risk > 0 && risk < 1)) throw InvalidParameter("risk", risk, "between 0 and 1");
  const auto with = [&](double factor) {
    Limit guarded_limit = limit;
    guarded_limit.rule = factor > 0 ? guarded({.multiple = 1, .coverage_factor = factor}) : simple();
    return guarded_limit;
  };
  const auto meets = [&](double factor) { return global_risks(prior, meter, with(factor)).consumer_joint <= risk; };
  if (meets(0)) return simple();
  double low = 0;
  double high = 10;
  if (!meets(high)) throw InvalidParameter("risk", risk, "a risk that a guard band of 10 u reaches");
  while (high - low > 1e-10) {
    const double middle = (low + high) / 2;
    (meets(middle) ? high : low) = middle;
  }
  return with(high).rule;
}

}  // namespace ohmward::conformity
