#include "ohmward/insulation/discharge.hpp"

#include <cmath>

#include "ohmward/formula/insulation.hpp"

namespace ohmward::insulation {
namespace {

constexpr double reading_second = 60, tail_from_second = 10;

struct Tail {
  double ampere = nan;
  double exponent = nan;

  [[nodiscard]] double at(double second) const noexcept {
    return second > 0 ? ampere * numerics::exp(-exponent * numerics::log(second)) : infinity;
  }
};

Tail fitted_tail(std::span<const DischargeSample> samples) noexcept {
  double n = 0, x = 0, y = 0, xx = 0, xy = 0;
  for (const DischargeSample& s : samples) {
    if (s.time_second < tail_from_second || !(s.current_ampere > 0)) continue;
    const double lx = numerics::log(s.time_second), ly = numerics::log(s.current_ampere);
    n += 1, x += lx, y += ly, xx += lx * lx, xy += lx * ly;
  }
  if (n < 3) return {};
  const double slope = (n * xy - x * y) / (n * xx - x * x);
  return {numerics::exp((y - slope * x) / n), -slope};
}

/// Current at a time, straight in the logarithms between two readings; NaN outside them.
double current_at(std::span<const DischargeSample> samples, double second) noexcept {
  for (std::size_t i = 1; i < samples.size(); ++i) {
    const DischargeSample &a = samples[i - 1], &b = samples[i];
    if (second < a.time_second || second > b.time_second || !(a.time_second > 0)) continue;
    if (second == b.time_second) return b.current_ampere;
    if (!(a.current_ampere > 0) || !(b.current_ampere > 0)) return nan;
    const double share = numerics::log(second / a.time_second) / numerics::log(b.time_second / a.time_second);
    return a.current_ampere * numerics::exp(share * numerics::log(b.current_ampere / a.current_ampere));
  }
  return nan;
}

/// Current above the tail; all of it at 0 s, where the tail has no value.
double above_tail(const DischargeSample& s, const Tail& tail) noexcept {
  const double rest = s.current_ampere - (std::isnan(tail.ampere) ? 0 : tail.at(s.time_second));
  return s.time_second > 0 ? std::fmax(rest, 0.0) : s.current_ampere;
}

/// Straight line of ln(current above the tail) in time, down to a tenth of the first one.
double time_constant_of(std::span<const DischargeSample> samples, const Tail& tail) noexcept {
  const double first = above_tail(samples[0], tail);
  double n = 0, x = 0, y = 0, xx = 0, xy = 0;
  for (const DischargeSample& s : samples) {
    const double above = above_tail(s, tail);
    if (!(above >= 0.1 * first) || !(above > 0)) break;
    const double ln = numerics::log(above);
    n += 1, x += s.time_second, y += ln, xx += s.time_second * s.time_second, xy += s.time_second * ln;
  }
  const double slope = (n * xy - x * y) / (n * xx - x * x);
  return n >= 2 && slope < 0 ? -1 / slope : nan;
}

double charge_above(std::span<const DischargeSample> samples, const Tail& tail) noexcept {
  const auto above = [&](const DischargeSample& s) { return above_tail(s, tail); };
  double charge = 0;
  for (std::size_t i = 1; i < samples.size(); ++i)
    charge += 0.5 * (above(samples[i]) + above(samples[i - 1])) * (samples[i].time_second - samples[i - 1].time_second);
  const double first = above(samples[0]), second = above(samples[1]);
  if (samples[0].time_second > 0 && first > second && second > 0) {
    const double rate = numerics::log(first / second) / (samples[1].time_second - samples[0].time_second);
    charge += first * (numerics::exp(rate * samples[0].time_second) - 1) / rate;
  }
  return charge;
}

}  // namespace

DischargeResult discharge(std::span<const DischargeSample> samples, const DischargeConditions& conditions) noexcept {
  DischargeResult result;
  if (samples.size() < 2) return result;
  double before = -1;
  for (const DischargeSample& s : samples) {
    if (std::isnan(s.time_second) || std::isnan(s.current_ampere)) {
      result.status = Status::missing_input;
      return result;
    }
    if (!(s.time_second > before) || !(s.time_second >= 0) || !(s.current_ampere >= 0) ||
        !std::isfinite(s.time_second) || !std::isfinite(s.current_ampere)) {
      result.status = Status::out_of_domain;
      return result;
    }
    before = s.time_second;
  }
  const Tail tail = fitted_tail(samples);
  result.tail_ampere = tail.ampere;
  result.tail_exponent = tail.exponent;
  result.time_constant_second = time_constant_of(samples, tail);
  result.status = Status::sound;
  result.capacitance_farad = conditions.capacitance_farad;
  if (std::isnan(conditions.capacitance_farad)) {
    const Checked<double> c =
        formula::capacitance_from_charge_farad(charge_above(samples, tail), conditions.test_voltage_volt);
    result.capacitance_farad = c.value;
    result.status = c.status;
    if (samples[0].time_second > 1) result.status = worse(result.status, Status::few_points);
  }
  result.current_at_60_second_ampere = current_at(samples, reading_second);
  if (std::isnan(result.current_at_60_second_ampere)) {
    result.status = worse(result.status, Status::outside_curve);
    return result;
  }
  const Checked<double> dd = formula::dielectric_discharge({.current_ampere = result.current_at_60_second_ampere,
                                                            .test_voltage_volt = conditions.test_voltage_volt,
                                                            .capacitance_farad = result.capacitance_farad});
  result.dielectric_discharge = dd.value;
  result.status = worse(result.status, dd.status);
  if (!(conditions.charge_second >= usual_charge_second))
    result.status = worse(result.status, Status::outside_fitted_range);
  result.band = band(Index::dielectric_discharge, dd.value);
  return result;
}

}  // namespace ohmward::insulation
