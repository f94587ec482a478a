#pragma once

/// @file
/// How long an insulation charges, and how long its absorption can be seen.
///
/// Status as in formula/insulation.hpp.

#include "ohmward/formula/insulation.hpp"

namespace ohmward::formula {

/// A tester that can deliver only so much current.
struct SourceLoad {
  double set_volt;        ///< voltage it was set to [V], > 0
  double source_ampere;   ///< greatest current it delivers [A], > 0
  double resistance_ohm;  ///< what it reads [ohm], >= 0; +inf is no load
};

/// A capacitance charged by a tester.
struct Charging {
  double capacitance_farad;  ///< [F], >= 0
  double test_voltage_volt;  ///< [V], > 0
  double source_ampere;      ///< greatest current that the tester delivers [A], > 0
};

/// From when on nothing is left of absorption.
struct AbsorptionWindow {
  double resistance_ohm;                      ///< what the part has settled to, or the last reading [ohm], > 0
  double capacitance_farad;                   ///< [F], > 0
  double visible_share;                       ///< least share of the current that the meter can show [1], > 0
  double loss_factor = generous_loss_factor;  ///< [1], > 0
};

inline namespace OHMWARD_LEVEL {

/// Voltage that the tester really applies [V]: min(U, I R). `at_reduced_voltage` (5) below U; an over-range reading
/// draws nothing. Source: computed.
[[nodiscard]] constexpr Checked<double> applied_voltage_volt(const SourceLoad& load) noexcept {
  if (detail::missing(load.set_volt) || detail::missing(load.source_ampere) || detail::missing(load.resistance_ohm))
    return no_value(Status::missing_input);
  if (!(detail::positive(load.set_volt) && detail::positive(load.source_ampere)) || !(load.resistance_ohm >= 0))
    return no_value(Status::out_of_domain);
  const double sagged = load.source_ampere * load.resistance_ohm;
  if (sagged < load.set_volt) return {sagged, Status::at_reduced_voltage};
  return {load.set_volt, Status::sound};
}

/// Time in which a tester at its current limit charges the part [s]: C U / I. Source: computed.
[[nodiscard]] constexpr Checked<double> charging_time_second(const Charging& c) noexcept {
  if (detail::missing(c.capacitance_farad) || detail::missing(c.test_voltage_volt) || detail::missing(c.source_ampere))
    return no_value(Status::missing_input);
  const bool possible = detail::not_negative(c.capacitance_farad) && detail::positive(c.test_voltage_volt) &&
                        detail::positive(c.source_ampere);
  const double second = c.capacitance_farad * c.test_voltage_volt / c.source_ampere;
  if (!possible || !detail::finite(second)) return no_value(Status::out_of_domain);
  return {second, Status::sound};
}

/// Time after which absorption is a smaller share of the current than the meter can show [s]: with R_a(t) of equation
/// (I1) the share is R/R_a(t), so t = R 2 pi C tan(delta) / (10 share). Source: `hamon-relation`, computed.
[[nodiscard]] constexpr Checked<double> absorption_window_second(const AbsorptionWindow& w) noexcept {
  if (detail::missing(w.resistance_ohm) || detail::missing(w.capacitance_farad) || detail::missing(w.visible_share) ||
      detail::missing(w.loss_factor))
    return no_value(Status::missing_input);
  if (w.resistance_ohm > numerics::largest_finite) return no_value(Status::unknown_bound);
  const bool possible = detail::positive(w.resistance_ohm) && detail::positive(w.capacitance_farad) &&
                        detail::positive(w.visible_share) && detail::positive(w.loss_factor);
  const double second = w.resistance_ohm * two_pi * w.capacitance_farad * w.loss_factor / (10 * w.visible_share);
  if (!possible || !detail::finite(second)) return no_value(Status::out_of_domain);
  return {second, Status::sound};
}

}  // namespace OHMWARD_LEVEL
}  // namespace ohmward::formula
