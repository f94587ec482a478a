#include "ohmward/thresholds/attenuation.hpp"

#include <algorithm>
#include <cmath>
#include <vector>

#include "ohmward/numerics/normal.hpp"
#include "ohmward/statistics/distributions.hpp"
#include "statistics/level.hpp"

namespace ohmward::thresholds {
namespace {

using statistics::Observation;

constexpr double few = 10;

double squared(double x) noexcept { return x * x; }

ClassOfScores fitted(std::span<const Observation> scores) {
  const std::vector<double> ones(scores.size(), 1.0);
  const statistics::CensoredRegression fit = statistics::censored_regression(scores, ones, 1);
  ClassOfScores of{.degrees_of_freedom = fit.degrees_of_freedom};
  if (!has_value(fit.status)) return of;
  of.mean = fit.coefficient[0];
  of.scatter = fit.scatter;
  double sum = 0, count = 0;
  for (const Observation& each : scores) {
    if (std::isnan(each.standard_uncertainty) || std::isnan(each.y)) continue;
    sum += squared(each.standard_uncertainty);
    count += 1;
  }
  of.meter_scatter = std::sqrt(sum / count);
  return of;
}

double variance_as_read(const ClassOfScores& of) noexcept { return squared(of.scatter) + squared(of.meter_scatter); }

/// Variance of the estimated variance of a class, normal theory.
double variance_of_variance(const ClassOfScores& of) noexcept {
  return 2 * squared(variance_as_read(of)) / of.degrees_of_freedom;
}

}  // namespace

Attenuation attenuation(std::span<const Observation> with, std::span<const Observation> without,
                        const statistics::Area& as_read, double level) {
  statistics::require_level(level);
  Attenuation result{.with = fitted(with), .without = fitted(without), .area_as_read = as_read.area};
  if (std::isnan(result.with.scatter) || std::isnan(result.without.scatter) || std::isnan(as_read.standard_error))
    return result;
  const double read = variance_as_read(result.with) + variance_as_read(result.without);
  const double own = squared(result.with.scatter) + squared(result.without.scatter);
  const double apart = result.with.mean - result.without.mean;
  result.meter_share = 1 - own / read;
  result.normal_area_as_read = numerics::normal_probability(apart / std::sqrt(read));
  // A scatter of nothing is where the likelihood runs against its edge: the readings scatter no more than the meter.
  if (!(own > 1e-6 * read)) {
    result.status = Status::inside_noise;
    return result;
  }
  result.normal_area_without_meter = numerics::normal_probability(apart / std::sqrt(own));
  if (!(as_read.area > 0 && as_read.area < 1)) {
    result.status = Status::out_of_domain;
    return result;
  }
  const double z = numerics::normal_quantile(as_read.area);
  const double ratio = std::sqrt(read / own);
  const double z_variance = squared(as_read.standard_error / numerics::normal_density(z));
  // ln ratio = (ln V - ln(V - U)) / 2 with V the variance as read; z itself goes with V^(-1/2).
  const double v_variance = variance_of_variance(result.with) + variance_of_variance(result.without);
  const double by_v = -0.5 * (read - own) / (read * own);
  const double ratio_variance = squared(by_v) * v_variance;
  const double shared = by_v * (-0.5 / read) * v_variance;
  const double deviation = ratio * std::sqrt(z_variance + squared(z) * (ratio_variance + 2 * shared));
  const double factor = -statistics::student_t_quantile((1 - level) / 2, as_read.degrees_of_freedom);
  result.area_without_meter = numerics::normal_probability(z * ratio);
  result.low = numerics::normal_probability(z * ratio - factor * deviation);
  result.high = numerics::normal_probability(z * ratio + factor * deviation);
  const double fewest = std::min(result.with.degrees_of_freedom, result.without.degrees_of_freedom) + 1;
  result.status = fewest < few ? Status::few_points : Status::sound;
  return result;
}

}  // namespace ohmward::thresholds
