#pragma once

#include "ohmward/core/checked.hpp"

/// Physics of the acid of a lead-acid cell.
namespace ohmward::battery::acid {

/// Molality [mol/kg] of battery acid by its specific gravity at 25 °C, 1.050 ... 1.320, linear between ten rows.
/// Status: outside_table. Source: `acid-density-model`.
[[nodiscard]] Checked<double> molality(double specific_gravity) noexcept;

/// Specific gravity at 25 °C by molality [mol/kg], 0.814 ... 7.310; the inverse of molality().
[[nodiscard]] Checked<double> specific_gravity(double molality) noexcept;

/// Electromotive force [V] of a cell at 25 °C by molality 0.1 ... 8 mol/kg: E = U₊ − U₋, polynomials of log10.
/// Status: out_of_domain, outside_fitted_range (the value is given; fitted for 0.1 ... 8). Source:
/// `acid-half-cell-fit`.
[[nodiscard]] Checked<double> cell_emf_volt(double molality) noexcept;

/// Specific gravity that belongs to a cell voltage at rest and 25 °C, through cell_emf_volt. Status: outside_table.
[[nodiscard]] Checked<double> specific_gravity_at_rest(double cell_volt) noexcept;

/// Cell voltage at rest by the workshop rule: specific gravity + 0.845. Source: `lead-acid-cell-rule`.
[[nodiscard]] double cell_rule_volt(double specific_gravity) noexcept;

struct HydrometerReading {
  double specific_gravity;
  double celsius;
};
/// Specific gravity referred to 80 °F (26.7 °C): 0.004 more for every 10 °F above. Source: `hydrometer-correction`.
[[nodiscard]] double corrected_specific_gravity(const HydrometerReading& reading) noexcept;

/// Freezing point [°C] of the acid, 1.000 ... 1.280, linear between rows. Status: outside_table.
/// Source: `acid-freezing-point`.
[[nodiscard]] Checked<double> freezing_celsius(double specific_gravity) noexcept;

/// Fall of the specific gravity of a new wet battery [1/day] at 10 ... 37.8 °C. Status: outside_fitted_range beyond,
/// where the nearest rows are extended. Source: `lead-acid-self-discharge`.
[[nodiscard]] Checked<double> self_discharge_per_day(double celsius) noexcept;

/// Half-width [V a cell] of the disagreement of circulating temperature tables at `celsius`.
/// Source: `lead-acid-temperature-disagreement`.
[[nodiscard]] double temperature_disagreement_cell_volt(double celsius) noexcept;

}  // namespace ohmward::battery::acid
