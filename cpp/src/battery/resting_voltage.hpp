#pragma once

#include "ohmward/battery/battery.hpp"

namespace ohmward::battery {

/// A reading seen by one candidate: what the open-circuit voltage would be, and how uncertain, but for what depends on
/// charge.
struct RestingVoltage {
  double open_circuit_volt;  ///< of the whole battery, moved by what the history says
  double meter_volt;         ///< standard uncertainties of the whole battery
  double relaxation_volt;
  double hysteresis_volt;
  double temperature_tables_volt;
  double celsius;
  double celsius_standard_uncertainty_kelvin;

  [[nodiscard]] double variance() const noexcept {
    return meter_volt * meter_volt + relaxation_volt * relaxation_volt + hysteresis_volt * hysteresis_volt +
           temperature_tables_volt * temperature_tables_volt;
  }
};

[[nodiscard]] RestingVoltage resting_voltage(const Candidate& candidate, const RestingReading& reading) noexcept;

/// Half-width of what may be left of the relaxation [V a cell]: D = relaxation_volt · (1 h / t)^½, at least one minute
/// of rest.
[[nodiscard]] double relaxation_half_width_volt(const RestBehaviour& rest, double rest_hour) noexcept;

/// Standard uncertainties [V] of the whole battery's voltage that belong to a curve. The temperature enters with the
/// curve's greatest coefficient, so that one uncertainty holds along the curve.
struct CurveUncertainty {
  double temperature_volt;
  double curve_volt;
};
[[nodiscard]] CurveUncertainty curve_uncertainty(const OpenCircuitCurve& curve, int cells,
                                                 const RestingVoltage& voltage) noexcept;

/// Posterior on one curve alone with this uncertainty and nothing else, flat prior; empty where the voltage is more
/// than 3 u outside.
[[nodiscard]] ChargePosterior posterior_on_curve(const OpenCircuitCurve& curve, int cells, double open_circuit_volt,
                                                 double standard_uncertainty_volt, double celsius);

/// The words for one candidate. `standard_uncertainty_volt` is that of the whole battery's voltage.
void find_words(const Candidate& candidate, const RestingReading& reading, const RestingVoltage& voltage,
                double standard_uncertainty_volt, CandidateState& state) noexcept;

}  // namespace ohmward::battery
