#pragma once

/// @file
/// Resistances in parallel, discharge, energy and isolation by voltmeter.
///
/// Status of every function here: sound (0); missing_input (-1): an input is NaN; out_of_domain (-2): an input is
/// negative, zero where a quotient needs more, or infinite, or the result overflows; unknown_bound (-6): a reading is
/// +inf, an over-range display without a known ceiling; contradiction (-12): the inputs can not all be true;
/// below_smallest (-14): the result is not a normal number.
/// Accuracy: relative error below 6 * 2^-53, differences of readings taken as exact (tests FormulaHighvoltage.*).

#include "ohmward/formula/outcome.hpp"

namespace ohmward::formula {

/// A part's leak from two readings of the whole.
struct RemovedPart {
  double before_ohm;  ///< with the part [ohm], > 0
  double after_ohm;   ///< without it [ohm], > before_ohm
};

/// A resistor that discharges a capacitor.
struct Discharge {
  double resistance_ohm;     ///< [ohm], > 0
  double capacitance_farad;  ///< [F], > 0
  double initial_volt;       ///< [V], >= final_volt
  double final_volt;         ///< [V], > 0
};

/// Voltages with and without a known resistor between one pole and chassis.
struct IsolationReadings {
  double pack_volt;      ///< pole to pole [V], > 0
  double negative_volt;  ///< negative pole to chassis [V], >= 0
  double positive_volt;  ///< positive pole to chassis [V], >= 0
  double loaded_volt;    ///< the larger of the two once more, with the resistor on that side [V], > 0
  double resistor_ohm;   ///< [ohm], > 0
};

inline namespace OHMWARD_LEVEL {
namespace outcome {

[[nodiscard]] constexpr Outcome parallel_resistance(double first_ohm, double second_ohm) noexcept {
  const bool no_path = detail::any(detail::zero(first_ohm), detail::zero(second_ohm));
  return detail::judged({.missing = detail::any_missing(first_ohm, second_ohm),
                         .possible = detail::all_not_negative(first_ohm, second_ohm),
                         .over_range = detail::any_over_range(first_ohm, second_ohm)},
                        no_path ? 0 : first_ohm / (1 + first_ohm / second_ohm), no_path);
}

/// The one that, in parallel with `other`, gives `whole`.
[[nodiscard]] constexpr Outcome without_parallel(double whole_ohm, double other_ohm) noexcept {
  return detail::judged({.missing = detail::any_missing(whole_ohm, other_ohm),
                         .possible = detail::all_positive(whole_ohm, other_ohm),
                         .over_range = detail::any_over_range(whole_ohm, other_ohm),
                         .contradiction = whole_ohm >= other_ohm},
                        whole_ohm * (other_ohm / (other_ohm - whole_ohm)), false);
}

[[nodiscard]] constexpr Outcome discharge_time(const Discharge& d) noexcept {
  const double decay = numerics::log1p((d.initial_volt - d.final_volt) / d.final_volt);
  return detail::judged(
      {.missing = detail::any_missing(d.resistance_ohm, d.capacitance_farad, d.initial_volt, d.final_volt),
       .possible = detail::all_positive(d.resistance_ohm, d.capacitance_farad, d.initial_volt, d.final_volt),
       .over_range = detail::any_over_range(d.initial_volt, d.final_volt),
       .contradiction = d.final_volt > d.initial_volt},
      d.resistance_ohm * d.capacitance_farad * decay, d.final_volt == d.initial_volt);
}

[[nodiscard]] constexpr Outcome energy_above(double capacitance_farad, double voltage_volt,
                                             double threshold_volt) noexcept {
  const bool above = voltage_volt > threshold_volt;
  const double surplus = above ? (voltage_volt - threshold_volt) * (voltage_volt + threshold_volt) : 0;
  return detail::judged({.missing = detail::any_missing(capacitance_farad, voltage_volt, threshold_volt),
                         .possible = detail::all_not_negative(capacitance_farad, voltage_volt, threshold_volt),
                         .over_range = detail::over_range(voltage_volt)},
                        0.5 * capacitance_farad * surplus, detail::any(!above, detail::zero(capacitance_farad)));
}

namespace isolation {

[[nodiscard]] constexpr double larger(const IsolationReadings& v) noexcept {
  return v.negative_volt >= v.positive_volt ? v.negative_volt : v.positive_volt;
}

[[nodiscard]] constexpr double smaller(const IsolationReadings& v) noexcept {
  return v.negative_volt >= v.positive_volt ? v.positive_volt : v.negative_volt;
}

[[nodiscard]] constexpr Outcome judged(const IsolationReadings& v, double value) noexcept {
  return detail::judged(
      {.missing = detail::any_missing(v.pack_volt, v.negative_volt, v.positive_volt, v.loaded_volt, v.resistor_ohm),
       .possible = detail::all(detail::all_positive(v.pack_volt, larger(v), v.loaded_volt, v.resistor_ohm),
                               detail::all_not_negative(v.negative_volt, v.positive_volt)),
       .over_range = detail::any_over_range(v.pack_volt, v.negative_volt, v.positive_volt, v.loaded_volt),
       .contradiction = v.loaded_volt >= larger(v)},
      value, false);
}

}  // namespace isolation

[[nodiscard]] constexpr Outcome isolation_by_pack_voltage(const IsolationReadings& v) noexcept {
  const double free = isolation::larger(v);
  const double drop = (free - v.loaded_volt) / v.loaded_volt;
  return isolation::judged(v, v.resistor_ohm * (v.pack_volt / free) * drop);
}

[[nodiscard]] constexpr Outcome isolation_by_pole_voltages(const IsolationReadings& v) noexcept {
  const double free = isolation::larger(v);
  const double drop = (free - v.loaded_volt) / v.loaded_volt;
  return isolation::judged(v, v.resistor_ohm * (1 + isolation::smaller(v) / free) * drop);
}

}  // namespace outcome

/// Two resistances in parallel [ohm]: what a part reads with a meter or another part across it.
[[nodiscard]] constexpr Checked<double> parallel_resistance_ohm(double first_ohm, double second_ohm) noexcept {
  return outcome::parallel_resistance(first_ohm, second_ohm).checked();
}

/// A reading freed of the meter's own resistance [ohm]: 1 / (1/reading - 1/meter). Contradiction (-12) where the
/// reading is not below the meter's resistance.
[[nodiscard]] constexpr Checked<double> unloaded_resistance_ohm(double reading_ohm, double meter_ohm) noexcept {
  return outcome::without_parallel(reading_ohm, meter_ohm).checked();
}

/// Leak of a part from readings with and without it [ohm]: 1 / (1/before - 1/after). Contradiction (-12) where removing
/// it did not raise the reading: it was not this part, or something else changed.
///
///     leak_of_removed_part_ohm({.before_ohm = 420e3, .after_ohm = 480e3}).value  // 3.36e6
[[nodiscard]] constexpr Checked<double> leak_of_removed_part_ohm(const RemovedPart& readings) noexcept {
  return outcome::without_parallel(readings.before_ohm, readings.after_ohm).checked();
}

/// Time to discharge from one voltage to another [s]: R C ln(U0/U).
[[nodiscard]] constexpr Checked<double> discharge_time_second(const Discharge& circuit) noexcept {
  return outcome::discharge_time(circuit).checked();
}

/// Energy of a charged capacitor [J]: C U^2 / 2.
[[nodiscard]] constexpr Checked<double> capacitor_energy_joule(double capacitance_farad, double voltage_volt) noexcept {
  return outcome::energy_above(capacitance_farad, voltage_volt, 0).checked();
}

/// Energy that is released down to a threshold voltage [J]: C (U^2 - U_t^2) / 2, not below 0.
[[nodiscard]] constexpr Checked<double> capacitor_energy_above_joule(double capacitance_farad, double voltage_volt,
                                                                     double threshold_volt) noexcept {
  return outcome::energy_above(capacitance_farad, voltage_volt, threshold_volt).checked();
}

/// Isolation resistance of the worse side [ohm], from the pack voltage:
///
///     R_i = R_o V_b (1/V' - 1/V),  V the larger of the two pole voltages, V' the same with R_o across it        (H1)
///
/// One meter moved from pole to pole does not disturb it, whatever its resistance. Two meters left in place are in
/// parallel with the sides: free the result with unloaded_resistance_ohm. Contradiction where V' >= V.
/// Source: `un-r100-isolation-annex`.
[[nodiscard]] constexpr Checked<double> isolation_by_pack_voltage_ohm(const IsolationReadings& readings) noexcept {
  return outcome::isolation_by_pack_voltage(readings).checked();
}

/// The same from the pole voltages alone:
///
///     R_i = R_o (1 + V_small/V) (V - V') / V'                                                                    (H2)
///
/// Equal to (H1) only where the pole voltages add up to the pack voltage; with one meter that is moved it comes out
/// low by (V1 + V2)/V_b. Source: `fmvss-305-isolation`.
[[nodiscard]] constexpr Checked<double> isolation_by_pole_voltages_ohm(const IsolationReadings& readings) noexcept {
  return outcome::isolation_by_pole_voltages(readings).checked();
}

}  // namespace OHMWARD_LEVEL
}  // namespace ohmward::formula
