#include "ohmward/highvoltage/winding.hpp"

#include <algorithm>
#include <cmath>

namespace ohmward::highvoltage {

WindingSymmetry winding_symmetry(const WindingReadings& readings, const formula::Conductor& law) noexcept {
  using uncertainty::Part;
  WindingSymmetry result;
  const std::array terminals{readings.uv, readings.vw, readings.wu};
  const auto has_celsius = [](const TerminalReading& t) { return !std::isnan(t.celsius); };
  const bool referred = std::all_of(terminals.begin(), terminals.end(), has_celsius);
  const bool some = std::any_of(terminals.begin(), terminals.end(), has_celsius);
  result.status = some && !referred ? Status::assumed_input : Status::sound;
  std::array<double, 3> u{};       // of each referred resistance by the meter
  std::array<double, 3> u_warm{};  // and by its temperature
  for (std::size_t i = 0; i < terminals.size(); ++i) {
    const TerminalReading& t = terminals[i];
    const bool possible = t.ohm > 0 && std::isfinite(t.ohm);
    if (!possible)
      result.status = worse(result.status, std::isnan(t.ohm) ? Status::missing_input : Status::out_of_domain);
    const auto at_reference =
        referred ? formula::to_reference(formula::ResistanceAt{.resistance_ohm = t.ohm, .celsius = t.celsius}, law)
                 : Checked<double>{t.ohm, Status::sound};
    if (possible && !at_reference.has_value()) result.status = worse(result.status, at_reference.status);
    result.referred_ohm[i] = at_reference.value;
    u[i] = t.standard_uncertainty_ohm * (at_reference.value / t.ohm);
    const double slope = referred ? formula::slope_per_kelvin(t.celsius, law).value : 0;
    u_warm[i] = at_reference.value * slope * t.celsius_standard_uncertainty_kelvin;
  }
  if (!has_value(result.status)) {
    result.referred_ohm = {nan, nan, nan};
    return result;
  }

  const auto& r = result.referred_ohm;
  result.phase_ohm = {0.5 * (r[0] + r[2] - r[1]), 0.5 * (r[0] + r[1] - r[2]), 0.5 * (r[1] + r[2] - r[0])};
  const double mean = (r[0] + r[1] + r[2]) / 3;
  const auto deviation = [&](double ohm) { return std::abs(ohm - mean); };
  const auto worst = static_cast<std::size_t>(
      std::max_element(r.begin(), r.end(), [&](double a, double b) { return deviation(a) < deviation(b); }) -
      r.begin());
  // d = R_i - mean has the coefficients 2/3, -1/3, -1/3.
  const auto of_deviation = [&](const std::array<double, 3>& parts) {
    double sum = 0;
    for (std::size_t i = 0; i < parts.size(); ++i) {
      const double coefficient = i == worst ? 2.0 / 3 : -1.0 / 3;
      sum += coefficient * coefficient * parts[i] * parts[i];
    }
    return std::sqrt(sum) / mean;
  };
  result.imbalance.value = deviation(r[worst]) / mean;
  result.imbalance.status = result.status;
  result.imbalance.parts.set(Part::reading, of_deviation(u));
  result.imbalance.parts.set(Part::temperature, of_deviation(u_warm));
  return result;
}

}  // namespace ohmward::highvoltage
