#pragma once

/// @file
/// The formulas of this room with their slopes, for first-order uncertainty of many rows.
///
/// Value and status are those of the formula itself; the slopes are its exact derivatives, written out because a loop
/// over them vectorises. Test Rows.AgreeWithTheBudgetOfATextbookModel holds u to 64 * 2^-53 of dual numbers. A slope
/// of a row without a value is meaningless.

#include "ohmward/formula/bonding.hpp"
#include "ohmward/formula/highvoltage.hpp"
#include "ohmward/formula/insulation.hpp"
#include "ohmward/formula/temperature.hpp"

namespace ohmward::formula {

/// A result with its slope along each input, in the order of the arguments.
template <int inputs>
struct Sloped {
  Outcome of;
  double by[inputs];
  /// Along the relative gain error that all readings of one meter share: what a ratio does not feel.
  double by_gain;
};

inline namespace OHMWARD_LEVEL {
namespace sloped {

namespace detail {
[[nodiscard]] constexpr double square(double x) noexcept { return x * x; }
}  // namespace detail

/// Along resistance, temperature and the constant that `prepared` was given a unit uncertainty of.
template <class Prepared>
[[nodiscard]] constexpr Sloped<3> to_reference(const ResistanceAt& reading, const Prepared& law) noexcept {
  const formula::detail::LawAt at = formula::detail::at(reading.celsius, law);
  const Outcome of = formula::detail::corrected(reading, law, at, false, true);
  return {of, {at.factor, of.value * -at.slope_per_kelvin, of.value * at.per_constant}, of.value};
}

[[nodiscard]] constexpr Sloped<2> resistance_ratio(const RatioReadings& r) noexcept {
  const Outcome of = outcome::resistance_ratio(r);
  return {of, {1 / r.early_ohm, -of.value / r.early_ohm}, 0};
}

[[nodiscard]] constexpr Sloped<2> capacitance_from_charge(double charge_coulomb, double voltage_volt) noexcept {
  const Outcome of = outcome::capacitance_from_charge(charge_coulomb, voltage_volt);
  return {of, {1 / voltage_volt, -of.value / voltage_volt}, 0};
}

[[nodiscard]] constexpr Sloped<4> resistance_by_loss_of_charge(const ChargeLoss& c) noexcept {
  const Outcome of = outcome::resistance_by_loss_of_charge(c);
  const double per_decay = of.value * of.value * c.capacitance_farad / c.elapsed_second;
  return {of,
          {-per_decay / c.initial_volt, per_decay / c.final_volt, of.value / c.elapsed_second,
           -of.value / c.capacitance_farad},
          0};
}

[[nodiscard]] constexpr Sloped<3> dielectric_discharge(const DischargeReading& d) noexcept {
  const Outcome of = outcome::dielectric_discharge(d);
  return {of,
          {1000 / (d.test_voltage_volt * d.capacitance_farad), -of.value / d.test_voltage_volt,
           -of.value / d.capacitance_farad},
          0};
}

/// Two readings; of two that are zero there is no slope.
[[nodiscard]] constexpr Sloped<2> parallel_resistance(double first_ohm, double second_ohm) noexcept {
  const Outcome of = outcome::parallel_resistance(first_ohm, second_ohm);
  return {
      of, {1 / detail::square(1 + first_ohm / second_ohm), 1 / detail::square(1 + second_ohm / first_ohm)}, of.value};
}

[[nodiscard]] constexpr Sloped<2> leak_of_removed_part(const RemovedPart& r) noexcept {
  const Outcome of = outcome::without_parallel(r.before_ohm, r.after_ohm);
  return {of, {detail::square(of.value / r.before_ohm), -detail::square(of.value / r.after_ohm)}, of.value};
}

/// The gain is that of the reading alone.
[[nodiscard]] constexpr Sloped<2> unloaded_resistance(double reading_ohm, double meter_ohm) noexcept {
  const Outcome of = outcome::without_parallel(reading_ohm, meter_ohm);
  const double by_reading = detail::square(of.value / reading_ohm);
  return {of, {by_reading, -detail::square(of.value / meter_ohm)}, by_reading * reading_ohm};
}

[[nodiscard]] constexpr Sloped<4> discharge_time(const Discharge& d) noexcept {
  const Outcome of = outcome::discharge_time(d);
  const double constant = d.resistance_ohm * d.capacitance_farad;
  return {of,
          {of.value / d.resistance_ohm, of.value / d.capacitance_farad, constant / d.initial_volt,
           -constant / d.final_volt},
          0};
}

[[nodiscard]] constexpr Sloped<2> capacitor_energy(double capacitance_farad, double voltage_volt) noexcept {
  return {outcome::energy_above(capacitance_farad, voltage_volt, 0),
          {0.5 * voltage_volt * voltage_volt, capacitance_farad * voltage_volt},
          0};
}

namespace detail {

/// Puts the slopes along the larger and the smaller pole voltage where they belong.
[[nodiscard]] constexpr Sloped<5> isolation(const IsolationReadings& v, const Outcome& of, double by_pack,
                                            double by_larger, double by_smaller, double by_loaded) noexcept {
  const bool negative_is_larger = v.negative_volt >= v.positive_volt;
  return {of,
          {by_pack, negative_is_larger ? by_larger : by_smaller, negative_is_larger ? by_smaller : by_larger, by_loaded,
           of.value / v.resistor_ohm},
          0};
}

}  // namespace detail

/// The voltages share the gain of their meter, which cancels.
[[nodiscard]] constexpr Sloped<5> isolation_by_pack_voltage(const IsolationReadings& v) noexcept {
  const Outcome of = outcome::isolation_by_pack_voltage(v);
  const double free = outcome::isolation::larger(v);
  const double scale = v.resistor_ohm * v.pack_volt;
  return detail::isolation(v, of, of.value / v.pack_volt, scale / detail::square(free), 0,
                           -scale / detail::square(v.loaded_volt));
}

[[nodiscard]] constexpr Sloped<5> isolation_by_pole_voltages(const IsolationReadings& v) noexcept {
  const Outcome of = outcome::isolation_by_pole_voltages(v);
  const double free = outcome::isolation::larger(v);
  const double both = free + outcome::isolation::smaller(v);
  const double by_smaller = of.value / both;
  return detail::isolation(v, of, 0, by_smaller + v.resistor_ohm * both / detail::square(free), by_smaller,
                           -v.resistor_ohm * both / detail::square(v.loaded_volt));
}

/// The gain acts on the difference only.
[[nodiscard]] constexpr Sloped<2> above_null(double displayed_ohm, double null_ohm) noexcept {
  const Outcome of = outcome::above_null(displayed_ohm, null_ohm);
  return {of, {1, -1}, of.value};
}

}  // namespace sloped
}  // namespace OHMWARD_LEVEL
}  // namespace ohmward::formula
