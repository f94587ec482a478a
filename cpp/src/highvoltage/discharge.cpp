#include "ohmward/highvoltage/discharge.hpp"

#include <algorithm>
#include <cmath>
#include <vector>

namespace ohmward::highvoltage {
namespace {

struct LogPoint {
  double second;  ///< since the first reading
  double log_volt;
  double weight;  ///< 1/u(ln U)²
};

/// y = intercept + slope·t with covariance.
struct Line {
  double intercept;
  double slope;
  double u2_intercept;
  double u2_slope;
  double covariance;
  double chi_square;
};

Line fit_line(std::span<const LogPoint> points) noexcept {
  double w = 0;
  double wt = 0;
  double wy = 0;
  for (const LogPoint& p : points) {
    w += p.weight;
    wt += p.weight * p.second;
    wy += p.weight * p.log_volt;
  }
  const double mean_t = wt / w;
  const double mean_y = wy / w;
  double tt = 0;
  double ty = 0;
  for (const LogPoint& p : points) {
    tt += p.weight * (p.second - mean_t) * (p.second - mean_t);
    ty += p.weight * (p.second - mean_t) * (p.log_volt - mean_y);
  }
  const double slope = ty / tt;
  Line line{.intercept = mean_y - slope * mean_t,
            .slope = slope,
            .u2_intercept = 1 / w + mean_t * mean_t / tt,
            .u2_slope = 1 / tt,
            .covariance = -mean_t / tt,
            .chi_square = 0};
  for (const LogPoint& p : points) {
    const double residual = p.log_volt - line.intercept - line.slope * p.second;
    line.chi_square += p.weight * residual * residual;
  }
  return line;
}

/// All t with |intercept + slope·t - level| <= k·u: the times at which the level may be crossed (Fieller).
Interval crossing(const Line& line, double level, double u2_level, double k) noexcept {
  const double k2 = k * k;
  const double c = line.intercept - level;
  const double qa = line.slope * line.slope - k2 * line.u2_slope;
  const double qb = 2 * (c * line.slope - k2 * line.covariance);
  const double qc = c * c - k2 * (line.u2_intercept + u2_level);
  const double root = std::sqrt(std::max(0.0, qb * qb - 4 * qa * qc));
  if (qa > 0) return {(-qb - root) / (2 * qa), (-qb + root) / (2 * qa)};
  // The slope may be zero: no upper end. The lower end is the crossing of the steepest line that still fits.
  const double lower = c > 0 && qc > 0 ? 2 * qc / (-qb + root) : 0;
  return {lower, infinity};
}

void remark(Decay& decay, DecayRemark which) noexcept { decay.remarks |= 1U << static_cast<unsigned>(which); }

Status check(std::span<const DecayPoint> points, const DecaySettings& s) noexcept {
  if (points.size() < 2) return Status::too_few_points;
  if (!(s.threshold_volt > 0) || !(s.coverage_factor > 0) || !(s.gain_relative_standard_uncertainty >= 0))
    return Status::out_of_domain;
  for (std::size_t i = 0; i < points.size(); ++i) {
    const DecayPoint& p = points[i];
    if (std::isnan(p.second) || std::isnan(p.volt) || !(p.standard_uncertainty_volt > 0)) return Status::missing_input;
    if (!std::isfinite(p.second) || !std::isfinite(p.volt) || !std::isfinite(p.standard_uncertainty_volt))
      return Status::out_of_domain;
    if (i > 0 && !(p.second > points[i - 1].second)) return Status::contradiction;
  }
  return Status::sound;
}

/// Slopes of both halves apart by more than 3 u: the later one tells what is still to come.
bool find_second_slope(Decay& decay, std::span<const LogPoint> points, Line& line) noexcept {
  if (points.size() < 4) return false;
  constexpr double clearly = 3;
  const Line early = fit_line(points.first(points.size() / 2));
  const Line late = fit_line(points.last(points.size() - points.size() / 2));
  const double difference = late.slope - early.slope;
  if (!(std::abs(difference) > clearly * std::sqrt(early.u2_slope + late.u2_slope))) return false;
  remark(decay, difference > 0 ? DecayRemark::slows_down : DecayRemark::speeds_up);
  line = late;
  return true;
}

}  // namespace

Decay fit_decay(std::span<const DecayPoint> points, const DecaySettings& s) {
  Decay decay;
  decay.status = check(points, s);
  if (!has_value(decay.status)) return decay;

  constexpr double noise = 3;
  std::vector<LogPoint> usable;
  usable.reserve(points.size());
  for (const DecayPoint& p : points) {
    const double volt = std::abs(p.volt);
    const double relative = p.standard_uncertainty_volt / volt;
    if (volt > noise * p.standard_uncertainty_volt)
      usable.push_back({p.second - points.front().second, std::log(volt), 1 / (relative * relative)});
    else
      remark(decay, DecayRemark::some_in_noise);
  }
  const double last = std::abs(points.back().volt);
  const double last_u =
      std::hypot(points.back().standard_uncertainty_volt, last * s.gain_relative_standard_uncertainty);
  if (last + s.coverage_factor * last_u < s.threshold_volt) remark(decay, DecayRemark::below_threshold);
  if (usable.size() < 2) {
    decay.status = Status::inside_noise;
    return decay;
  }

  Line line = fit_line(usable);
  decay.chi_square = line.chi_square;
  decay.degrees_of_freedom = static_cast<int>(usable.size()) - 2;
  decay.initial_volt = std::exp(line.intercept);
  find_second_slope(decay, usable, line);
  decay.time_constant_second = -1 / line.slope;
  decay.time_constant_standard_uncertainty_second = std::sqrt(line.u2_slope) / (line.slope * line.slope);
  const double level = std::log(s.threshold_volt);
  const double u2_level = s.gain_relative_standard_uncertainty * s.gain_relative_standard_uncertainty;
  const double start = points.front().second;
  const Interval when = crossing(line, level, u2_level, s.coverage_factor);
  decay.threshold_interval = {start + when.low, start + when.high};
  const bool decays = line.slope + s.coverage_factor * std::sqrt(line.u2_slope) < 0;
  if (!decays && !decay.has(DecayRemark::below_threshold)) remark(decay, DecayRemark::stuck);
  if (!(line.slope < 0)) {
    decay.time_constant_second = decay.time_constant_standard_uncertainty_second = nan;
    decay.status = Status::no_solution;
    return decay;
  }
  decay.threshold_second = start + (level - line.intercept) / line.slope;
  decay.status = usable.size() == 2 ? Status::few_points : Status::sound;
  return decay;
}

Checked<double> volt_after_touch(const TouchedCapacitor& c) noexcept {
  if (std::isnan(c.volt) || std::isnan(c.capacitance_farad) || std::isnan(c.resistance_ohm) ||
      std::isnan(c.meter_ohm) || std::isnan(c.second))
    return no_value(Status::missing_input);
  if (!(c.capacitance_farad > 0) || !(c.resistance_ohm > 0) || !(c.meter_ohm > 0) || !(c.second >= 0))
    return no_value(Status::out_of_domain);
  const double siemens = 1 / c.resistance_ohm + 1 / c.meter_ohm;
  return {c.volt * std::exp(-c.second * siemens / c.capacitance_farad), Status::sound};
}

const char* text(DecayRemark remark) noexcept {
  switch (remark) {
    case DecayRemark::stuck: return "no decay shown";
    case DecayRemark::slows_down: return "decay slows down: another capacitor or path feeds it";
    case DecayRemark::speeds_up:
      return "decay speeds up: a tester of low input resistance or active discharge joined in";
    case DecayRemark::below_threshold: return "last reading below the threshold with its uncertainty";
    case DecayRemark::some_in_noise: return "readings inside the noise left out";
  }
  return "unknown remark";
}

}  // namespace ohmward::highvoltage
