#pragma once

/// @file
/// Ratios, charge and discharge of an insulation, one reading at a time.
///
/// Status of every function here: sound (0); missing_input (-1): an input is NaN; out_of_domain (-2): an input is
/// negative, zero where a quotient needs more, or infinite, or the result overflows; unknown_bound (-6): a reading is
/// +inf, an over-range display without a known ceiling; contradiction (-12): the inputs can not all be true;
/// not_applicable (-13): see attainable_ratio; below_smallest (-14): the result is not a normal number.
/// Accuracy: relative error below 4 * 2^-53, attainable_ratio 8 * 2^-53 (1 + ratio) (tests FormulaInsulation.*).

#include "ohmward/formula/outcome.hpp"

namespace ohmward::formula {

inline constexpr double two_pi = 6.283185307179586;

/// Two readings of one run of one insulation.
struct RatioReadings {
  double late_ohm;   ///< resistance at the later time [ohm], >= 0
  double early_ohm;  ///< resistance at the earlier time [ohm], > 0
};

/// The generous end of what insulations lose at some millihertz and of how fast the absorption current falls, so that
/// "can not show more" is safe. Source: `hamon-relation` (common practice for the figures).
inline constexpr double generous_loss_factor = 0.2;
inline constexpr double generous_absorption_exponent = 1;

/// What limits the ratio that a part can show.
struct Attainable {
  double early_ohm;                                           ///< resistance at the earlier time [ohm], > 0
  double capacitance_farad;                                   ///< [F], > 0
  double early_second;                                        ///< [s], > 0
  double late_second;                                         ///< [s], > early_second
  double loss_factor = generous_loss_factor;                  ///< tan delta at 0.1/early_second [1], > 0
  double absorption_exponent = generous_absorption_exponent;  ///< n of I ~ t^-n [1], > 0
};

/// Voltage of an insulation left alone, at two times.
struct ChargeLoss {
  double initial_volt;       ///< [V], > final_volt
  double final_volt;         ///< [V], > 0
  double elapsed_second;     ///< between the two [s], > 0
  double capacitance_farad;  ///< [F], > 0
};

/// One minute after an insulation was short-circuited.
struct DischargeReading {
  double current_ampere;     ///< discharge current [A], >= 0
  double test_voltage_volt;  ///< voltage before [V], > 0
  double capacitance_farad;  ///< [F], > 0
};

inline namespace OHMWARD_LEVEL {
namespace outcome {

[[nodiscard]] constexpr Outcome resistance_ratio(const RatioReadings& r) noexcept {
  return detail::judged({.missing = detail::any_missing(r.late_ohm, r.early_ohm),
                         .possible = detail::all(detail::not_negative(r.late_ohm), detail::positive(r.early_ohm)),
                         .over_range = detail::any_over_range(r.late_ohm, r.early_ohm)},
                        r.late_ohm / r.early_ohm, detail::zero(r.late_ohm));
}

[[nodiscard]] constexpr Outcome absorption_resistance(double second, double capacitance_farad,
                                                      double loss_factor) noexcept {
  const double loss = two_pi * capacitance_farad * loss_factor;
  return detail::judged({.missing = detail::any_missing(second, capacitance_farad, loss_factor),
                         .possible = detail::all_positive(second, capacitance_farad, loss_factor)},
                        10 * second / loss, false);
}

[[nodiscard]] constexpr Outcome attainable_ratio(const Attainable& a) noexcept {
  const Outcome absorption = absorption_resistance(a.early_second, a.capacitance_farad, a.loss_factor);
  const double x = a.early_ohm / absorption.value;
  const double remaining = numerics::pow(a.early_second / a.late_second, a.absorption_exponent);
  const bool is_missing = detail::any_missing(a.early_ohm, a.capacitance_farad, a.early_second, a.late_second,
                                              a.loss_factor, a.absorption_exponent);
  const bool possible = detail::all(absorption.code >= 0, a.late_second > a.early_second,
                                    detail::all_positive(a.early_ohm, a.late_second, a.absorption_exponent));
  return detail::judged({.missing = is_missing,
                         .possible = possible,
                         .over_range = detail::over_range(a.early_ohm),
                         .not_applicable = x >= 1},
                        1 / (1 - x * (1 - remaining)), false);
}

[[nodiscard]] constexpr Outcome time_constant(double resistance_ohm, double capacitance_farad) noexcept {
  return detail::judged({.missing = detail::any_missing(resistance_ohm, capacitance_farad),
                         .possible = detail::all_not_negative(resistance_ohm, capacitance_farad),
                         .over_range = detail::over_range(resistance_ohm)},
                        resistance_ohm * capacitance_farad,
                        detail::any(detail::zero(resistance_ohm), detail::zero(capacitance_farad)));
}

[[nodiscard]] constexpr Outcome resistance_by_loss_of_charge(const ChargeLoss& c) noexcept {
  const double decay = numerics::log1p((c.initial_volt - c.final_volt) / c.final_volt);
  return detail::judged(
      {.missing = detail::any_missing(c.initial_volt, c.final_volt, c.elapsed_second, c.capacitance_farad),
       .possible = detail::all_positive(c.initial_volt, c.final_volt, c.elapsed_second, c.capacitance_farad),
       .over_range = detail::any_over_range(c.initial_volt, c.final_volt),
       .contradiction = c.final_volt >= c.initial_volt},
      c.elapsed_second / (c.capacitance_farad * decay), false);
}

[[nodiscard]] constexpr Outcome capacitance_from_charge(double charge_coulomb, double voltage_volt) noexcept {
  return detail::judged({.missing = detail::any_missing(charge_coulomb, voltage_volt),
                         .possible = detail::all(detail::not_negative(charge_coulomb), detail::positive(voltage_volt)),
                         .over_range = detail::over_range(voltage_volt)},
                        charge_coulomb / voltage_volt, detail::zero(charge_coulomb));
}

[[nodiscard]] constexpr Outcome dielectric_discharge(const DischargeReading& d) noexcept {
  return detail::judged({.missing = detail::any_missing(d.current_ampere, d.test_voltage_volt, d.capacitance_farad),
                         .possible = detail::all(detail::not_negative(d.current_ampere),
                                                 detail::all_positive(d.test_voltage_volt, d.capacitance_farad)),
                         .over_range = detail::over_range(d.current_ampere)},
                        1000 * d.current_ampere / (d.test_voltage_volt * d.capacitance_farad),
                        detail::zero(d.current_ampere));
}

}  // namespace outcome

/// Ratio R(t2)/R(t1) [1]: polarisation index, dielectric absorption ratio or any other pair of times.
///
///     resistance_ratio({.late_ohm = 4e9, .early_ohm = 2e9}).value  // 2
///
/// Source: `ieee-43`.
[[nodiscard]] constexpr Checked<double> resistance_ratio(const RatioReadings& readings) noexcept {
  return outcome::resistance_ratio(readings).checked();
}

/// Resistance that equals the absorption current at time t [ohm]:
///
///     R_a(t) = 10 t / (2 pi C tan delta),  tan delta at f = 0.1/t                                                (I1)
///
/// Source: `hamon-relation`.
[[nodiscard]] constexpr Checked<double> absorption_resistance_ohm(double second, double capacitance_farad,
                                                                  double loss_factor) noexcept {
  return outcome::absorption_resistance(second, capacitance_farad, loss_factor).checked();
}

/// The highest ratio R(t2)/R(t1) that a part of this capacitance can show at this resistance [1]:
///
///     x = R(t1)/R_a(t1),  ratio = 1 / (1 - x (1 - (t1/t2)^n))                                                    (I2)
///
/// not_applicable (-13) where x >= 1: absorption can account for all of the current, so nothing limits the ratio.
/// Source: `hamon-relation`, computed.
[[nodiscard]] constexpr Checked<double> attainable_ratio(const Attainable& part) noexcept {
  return outcome::attainable_ratio(part).checked();
}

/// R C [s]. Source: `circuit-laws`.
[[nodiscard]] constexpr Checked<double> time_constant_second(double resistance_ohm, double capacitance_farad) noexcept {
  return outcome::time_constant(resistance_ohm, capacitance_farad).checked();
}

/// Insulation resistance from its own discharge [ohm]: R = t / (C ln(V1/V2)). Contradiction unless the voltage falls.
/// Source: `loss-of-charge`.
[[nodiscard]] constexpr Checked<double> resistance_by_loss_of_charge_ohm(const ChargeLoss& readings) noexcept {
  return outcome::resistance_by_loss_of_charge(readings).checked();
}

/// C = Q/U [F]; Q is the integral of the discharge current less the absorption tail.
[[nodiscard]] constexpr Checked<double> capacitance_from_charge_farad(double charge_coulomb,
                                                                      double voltage_volt) noexcept {
  return outcome::capacitance_from_charge(charge_coulomb, voltage_volt).checked();
}

/// Dielectric discharge [mA/(V F)]: 1000 I / (U C), I one minute after the short circuit.
/// Source: `dielectric-discharge`.
[[nodiscard]] constexpr Checked<double> dielectric_discharge(const DischargeReading& reading) noexcept {
  return outcome::dielectric_discharge(reading).checked();
}

}  // namespace OHMWARD_LEVEL
}  // namespace ohmward::formula
