#pragma once

#include "ohmward/battery/estimate.hpp"
#include "ohmward/battery/open_circuit_curve.hpp"
#include "ohmward/core/status.hpp"

namespace ohmward::battery {

/// Two voltages at rest of a battery that nothing was connected to in between.
struct TwoRests {
  double first_volt = nan;
  double second_volt = nan;
  double standard_uncertainty_volt = nan;  ///< of each reading on its own; the common gain and the curve cancel
  double first_celsius = nan;              ///< NaN: the curve's reference temperature
  double second_celsius = nan;
  double elapsed_hour = nan;          ///< above 0
  double capacity_ampere_hour = nan;  ///< above 0
};

/// Charge that was lost and the current that this means: I = C (s₁ − s₂)/Δt.
///
/// `status`: sound; wide (the curve is so flat there that the loss is not known to a factor of two); missing_input;
/// out_of_domain; outside_curve (a voltage more than 3 u off the curve); no_solution (the curve falls: one voltage,
/// several charges).
struct SelfDischarge {
  Status status = Status::missing_input;
  Estimate charge_lost = {};  ///< fraction of capacity
  Estimate current_ampere = {};
};

[[nodiscard]] SelfDischarge self_discharge(const TwoRests& rests, const OpenCircuitCurve& curve, int cells);

/// How long a battery may stand.
struct Storage {
  Estimate charge = {};          ///< now
  double floor = nan;            ///< charge at which it must be charged again
  Estimate current_ampere = {};  ///< self-discharge and what stays connected
  double capacity_ampere_hour = nan;
};

/// Time [h] until the floor, t = C (s − floor)/I, first order. Status: missing_input, out_of_domain (no current, no
/// capacity), no_solution (at or below the floor already).
struct StorageTime {
  Status status = Status::missing_input;
  Estimate hour = {};
};
[[nodiscard]] StorageTime storage_time(const Storage& storage) noexcept;

/// Self-discharge of wet lead-acid at `to_celsius` over that at `from_celsius`. Source: `lead-acid-self-discharge`.
struct TemperatureChange {
  double from_celsius;
  double to_celsius;
};
[[nodiscard]] double self_discharge_factor(const TemperatureChange& change) noexcept;

}  // namespace ohmward::battery
