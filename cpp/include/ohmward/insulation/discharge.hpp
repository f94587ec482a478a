#pragma once

#include <span>
#include <string_view>

#include "ohmward/core/floating_point.hpp"
#include "ohmward/core/status.hpp"
#include "ohmward/insulation/minima.hpp"

namespace ohmward::insulation {

/// One reading of a discharge current, taken positive.
struct DischargeSample {
  double time_second;  ///< since the short circuit
  double current_ampere;
};

struct DischargeConditions {
  double test_voltage_volt = nan;
  double charge_second = nan;      ///< how long the voltage was on before
  double capacitance_farad = nan;  ///< measured otherwise; NaN: taken from the charge
};

struct DischargeResult {
  double capacitance_farad = nan;  ///< Q/U, the absorption tail taken off; the given one where there is one
  double current_at_60_second_ampere = nan;
  double dielectric_discharge = nan;  ///< [mA/(V F)]
  double tail_exponent = nan;         ///< n of the tail A t^-n
  double tail_ampere = nan;           ///< A, the tail's current at 1 s
  /// Of what lies above the tail, down to a tenth of its first reading: the capacitance times what it discharges into.
  double time_constant_second = nan;
  Status status = Status::too_few_points;
  Band band{};  ///< of large multi-layer high-voltage insulation; outside that it says nothing
};

/// Charge of usually 30 min before a dielectric discharge; shorter ones give `outside_fitted_range`.
/// Source: `dielectric-discharge-bands`, the figure from memory.
inline constexpr double usual_charge_second = 1800;

/// What the bands rest on. Source: `dielectric-discharge-bands`.
inline constexpr std::string_view discharge_experience =
    "handbooks' edges 2, 4 and 7 for large multi-layer high-voltage insulation, charged for some 30 min before";

/// Dielectric discharge and capacitance of a discharge. The current at 60 s is read off ln I straight in ln t, never
/// extrapolated. The tail A t^-n is fitted to the readings from 10 s on; the charge is the trapezoid integral of what
/// lies above it, carried back to 0 s by the exponential through its first two readings.
/// Status: sound; outside_fitted_range (charged for less than 30 min, or not known how long); few_points (first reading
/// after 1 s: the charge is a guess); too_few_points; missing_input; out_of_domain; outside_curve (60 s not covered).
[[nodiscard]] DischargeResult discharge(std::span<const DischargeSample> samples,
                                        const DischargeConditions& conditions) noexcept;

}  // namespace ohmward::insulation
