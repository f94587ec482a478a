#include "ohmward/insulation/steps.hpp"

#include <algorithm>
#include <cmath>
#include <vector>

#include "ohmward/insulation/ratio.hpp"
#include "ohmward/numerics/elementary.hpp"

namespace ohmward::insulation {
namespace {

using uncertainty::Quantity;

bool sensible(const VoltageStep& s) noexcept {
  return s.applied_volt > 0 && std::isfinite(s.applied_volt) && s.resistance_ohm > 0 &&
         std::isfinite(s.resistance_ohm) && s.relative_standard_uncertainty > 0 &&
         std::isfinite(s.relative_standard_uncertainty);
}

/// 99 % point of chi-squared by Wilson and Hilferty, within 1 % from 1 degree of freedom on.
double chi_squared_99(double freedom) noexcept {
  constexpr double normal_99 = 2.3263478740408408;
  const double a = 2 / (9 * freedom);
  const double root = 1 - a + normal_99 * std::sqrt(a);
  return freedom * root * root * root;
}

Quantity resistance(const VoltageStep& s) noexcept {
  Quantity quantity{.value = s.resistance_ohm, .scale = Scale::log, .status = Status::sound};
  quantity.parts.set(uncertainty::Part::reading, s.relative_standard_uncertainty);
  return quantity;
}

}  // namespace

StepResult steps(std::span<const VoltageStep> readings) {
  StepResult result;
  std::vector<VoltageStep> used;
  std::copy_if(readings.begin(), readings.end(), std::back_inserter(used), sensible);
  if (used.size() < 2) return result;
  const auto by_voltage = [](const VoltageStep& a, const VoltageStep& b) { return a.applied_volt < b.applied_volt; };
  const auto [lowest, highest] = std::minmax_element(used.begin(), used.end(), by_voltage);
  if (!(highest->applied_volt > lowest->applied_volt)) return result;

  double w = 0, x = 0, y = 0;
  for (const VoltageStep& s : used) {
    const double current = s.applied_volt / s.resistance_ohm;
    const double weight = 1 / (current * current * s.relative_standard_uncertainty * s.relative_standard_uncertainty);
    w += weight, x += weight * s.applied_volt, y += weight * current;
  }
  x /= w, y /= w;
  double xx = 0, xy = 0;
  const auto weight_of = [](const VoltageStep& s) {
    const double u = s.applied_volt / s.resistance_ohm * s.relative_standard_uncertainty;
    return 1 / (u * u);
  };
  for (const VoltageStep& s : used) {
    const double dx = s.applied_volt - x;
    xx += weight_of(s) * dx * dx;
    xy += weight_of(s) * dx * (s.applied_volt / s.resistance_ohm - y);
  }
  result.conductance_siemens = xy / xx;
  result.conductance_standard_uncertainty = 1 / std::sqrt(xx);
  result.offset_ampere = y - result.conductance_siemens * x;
  result.offset_standard_uncertainty = std::sqrt(1 / w + x * x / xx);
  result.degrees_of_freedom = static_cast<double>(used.size()) - 2;
  result.status = used.size() == 2 ? Status::few_points : Status::sound;
  if (result.degrees_of_freedom > 0) {
    result.chi_squared = 0;
    for (const VoltageStep& s : used) {
      const double rest =
          s.applied_volt / s.resistance_ohm - result.offset_ampere - result.conductance_siemens * s.applied_volt;
      result.chi_squared += weight_of(s) * rest * rest;
    }
    result.bends = result.chi_squared > chi_squared_99(result.degrees_of_freedom);
  }
  const Quantity high = resistance(*highest), low = resistance(*lowest);
  result.high_over_low = ratio({.late = high, .early = low});
  const double upper = result.high_over_low.value * numerics::exp(2 * result.high_over_low.standard_uncertainty());
  result.falls = upper <= 1 - suspicious_fall;
  return result;
}

}  // namespace ohmward::insulation
