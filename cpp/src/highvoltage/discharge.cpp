#include "ohmward/highvoltage/discharge.hpp"

#include <algorithm>
#include <cmath>
#include <vector>

namespace ohmward::highvoltage {
namespace {

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

}  // namespace

Decay fit_decay(std::span<const DecayPoint> points, const DecaySettings& s) {
  Decay decay;
  decay.status = check(points, s);
  if (!has_value(decay.status)) return decay;

  formula::DecaySums sums;
  for (const DecayPoint& p : points) static_cast<void>(sums.push(p));
  const formula::DecayState state = sums.state(s);
  decay.initial_volt = state.initial_volt;
  decay.time_constant_second = state.time_constant_second;
  decay.time_constant_standard_uncertainty_second = state.time_constant_standard_uncertainty_second;
  decay.threshold_second = state.threshold_second;
  decay.threshold_interval = {state.threshold_low_second, state.threshold_high_second};
  decay.chi_square = state.chi_square;
  decay.degrees_of_freedom = static_cast<int>(state.degrees_of_freedom);
  decay.remarks = state.remarks;
  decay.status = state.status;
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
