#include "ohmward/fleet/trend.hpp"

#include <algorithm>
#include <cmath>

#include "fleet/prepared.hpp"
#include "ohmward/numerics/elementary.hpp"
#include "ohmward/statistics/censored_regression.hpp"
#include "ohmward/statistics/distributions.hpp"
#include "ohmward/statistics/robust_slope.hpp"

namespace ohmward::fleet {
namespace {

using statistics::CensoredRegression;
using statistics::Observation;
using uncertainty::Quantity;

/// Median over the stretches' pairs: the slope of what is left when each stretch has lost its own median.
statistics::RobustSlope robust(const Prepared& p, const std::vector<double>& steps, double level) {
  std::vector<Observation> y = p.y;
  for (std::size_t i = 0; i < y.size(); ++i)
    for (int s = 0; s < p.stretch[i]; ++s) y[i].y -= steps[static_cast<std::size_t>(s)];
  return statistics::robust_slope(p.day, y, level);
}

}  // namespace

Trend trend(std::span<const HistoryReading> history, const TrendOptions& options) {
  Trend result;
  if (std::isfinite(options.reference_celsius) && options.law.kind == temperature::LawKind::none) {
    result.status = Status::no_law;
    return result;
  }
  const Prepared p = prepare(history, options.law, options.reference_celsius);
  result.left_out = p.left_out;
  if (p.day.empty()) return result;
  const Line model(p);
  const std::size_t repairs = model.repairs, coefficients = model.coefficients();
  const std::vector<double> x = model.all(p);

  CensoredRegression line = statistics::censored_regression(p.y, x, coefficients);
  result.exact = line.exact;
  result.degrees_of_freedom = line.degrees_of_freedom;
  double scatter = line.scatter;
  if (options.like.known()) {
    const Scatter joined = drawn_together(line.scatter, line.degrees_of_freedom, options.like);
    scatter = joined.value;
    line = statistics::censored_regression(with_scatter(p.y, scatter), x, coefficients, false);
    result.degrees_of_freedom = joined.degrees_of_freedom;
  }
  result.bounds = p.y.size() - line.exact;
  result.status = line.status;
  if (!has_value(line.status)) return result;
  constexpr std::size_t enough = 6;
  if (line.exact < enough) result.status = worse(Status::few_points, line.status);
  result.scatter = scatter;

  // The same regression on readings moved by one standard uncertainty of the law: what the shared term does to each
  // coefficient.
  std::vector<double> by_law(coefficients, 0.0);
  if (std::any_of(p.by_law.begin(), p.by_law.end(), [](double shift) { return shift != 0; })) {
    std::vector<Observation> moved = p.y;
    for (std::size_t i = 0; i < moved.size(); ++i) moved[i].y += p.by_law[i];
    const CensoredRegression other =
        options.like.known() ? statistics::censored_regression(with_scatter(moved, scatter), x, coefficients, false)
                             : statistics::censored_regression(moved, x, coefficients);
    if (has_value(other.status))
      for (std::size_t j = 0; j < coefficients; ++j) by_law[j] = other.coefficient[j] - line.coefficient[j];
  }
  const auto covariance = [&](std::size_t i, std::size_t j) {
    return line.covariance[i * coefficients + j] + by_law[i] * by_law[j];
  };
  const double factor = statistics::student_t_quantile((1 + options.level) / 2, result.degrees_of_freedom);
  result.slope_per_year = line.coefficient[1];
  result.slope_standard_uncertainty_per_year = std::sqrt(covariance(1, 1));
  result.slope_low_per_year = result.slope_per_year - factor * result.slope_standard_uncertainty_per_year;
  result.slope_high_per_year = result.slope_per_year + factor * result.slope_standard_uncertainty_per_year;
  result.law_share = by_law[1] * by_law[1] / covariance(1, 1);
  for (std::size_t s = 0; s < repairs; ++s) {
    result.repair_step.push_back(line.coefficient[2 + s]);
    result.repair_step_standard_uncertainty.push_back(std::sqrt(covariance(2 + s, 2 + s)));
  }
  const statistics::RobustSlope slope = robust(p, result.repair_step, options.level);
  result.robust_slope_per_year = slope.slope * days_per_year;
  result.robust_low_per_year = slope.low * days_per_year;
  result.robust_high_per_year = slope.high * days_per_year;

  const auto height = [&](double day, double coverage) {
    const std::vector<double> row = model.at(day, p.stretch.back());
    double mean = 0, variance = 0;
    for (std::size_t i = 0; i < coefficients; ++i) {
      mean += row[i] * line.coefficient[i];
      for (std::size_t j = 0; j < coefficients; ++j) variance += row[i] * row[j] * covariance(i, j);
    }
    return mean - coverage * std::sqrt(variance);
  };
  result.level_day = p.day.back();
  result.level_ohm = numerics::exp(height(p.day.back(), 0));
  if (!(options.lower_limit_ohm > 0)) return result;
  const double limit = numerics::log(options.lower_limit_ohm);
  const auto first_below = [&](double coverage) {
    const double start = p.day.back();
    if (height(start, coverage) < limit) return start;
    constexpr double step = 7;
    double before = start, day = start + step;
    while (day <= start + options.horizon_day && !(height(day, coverage) < limit)) {
      before = day;
      day += step;
    }
    if (day > start + options.horizon_day) return nan;
    double low = before, high = day;
    for (int i = 0; i < 40; ++i) {
      const double middle = 0.5 * (low + high);
      (height(middle, coverage) < limit ? high : low) = middle;
    }
    return high;
  };
  result.crossing_day = first_below(factor);
  result.expected_crossing_day = first_below(0);
  return result;
}

std::vector<LikeResult> compare_like(std::span<const Quantity> readings, double factor) {
  std::vector<LikeResult> results(readings.size());
  const auto count = std::count_if(readings.begin(), readings.end(), usable);
  for (std::size_t i = 0; i < readings.size(); ++i) {
    LikeResult& result = results[i];
    if (!usable(readings[i])) {
      result.status = has_value(readings[i].status) ? Status::unknown_bound : readings[i].status;
      continue;
    }
    // Of three or more the median of all is the yardstick; of two each is the other's.
    std::vector<const Quantity*> yardstick;
    for (std::size_t j = 0; j < readings.size(); ++j)
      if (usable(readings[j]) && (count > 2 || j != i)) yardstick.push_back(&readings[j]);
    if (yardstick.empty()) continue;
    std::sort(yardstick.begin(), yardstick.end(),
              [](const Quantity* a, const Quantity* b) { return a->value < b->value; });
    const std::size_t n = yardstick.size();
    const Quantity& low = *yardstick[(n - 1) / 2];
    const Quantity& high = *yardstick[n / 2];
    const double u_other = 0.5 * (independent(low) + independent(high)), u_own = independent(readings[i]);
    result.ratio = readings[i].value / std::sqrt(low.value * high.value);
    result.standard_uncertainty = std::sqrt(u_own * u_own + u_other * u_other);
    result.status = count > 2 ? Status::sound : Status::few_points;
    const double ln = numerics::log(result.ratio), edge = numerics::log(factor) + 2 * result.standard_uncertainty;
    const bool own_may_be_higher = readings[i].censoring == Censoring::above;
    const bool own_may_be_lower = readings[i].censoring == Censoring::below;
    const bool others_may_be_higher = low.censoring == Censoring::above || high.censoring == Censoring::above;
    const bool others_may_be_lower = low.censoring == Censoring::below || high.censoring == Censoring::below;
    result.stands_out = (ln < -edge && !own_may_be_higher && !others_may_be_lower) ||
                        (ln > edge && !own_may_be_lower && !others_may_be_higher);
  }
  return results;
}

}  // namespace ohmward::fleet
