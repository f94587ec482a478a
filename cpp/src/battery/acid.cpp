#include "ohmward/battery/acid.hpp"

#include <algorithm>
#include <cmath>
#include <span>

#include "ohmward_tables/acid_density.hpp"
#include "ohmward_tables/acid_freezing.hpp"
#include "ohmward_tables/acid_half_cells.hpp"
#include "ohmward_tables/lead_acid_self_discharge.hpp"
#include "ohmward_tables/lead_acid_temperature_tables.hpp"

namespace ohmward::battery::acid {
namespace {

constexpr double twelve_volt_cells = 6;
constexpr double cell_rule_offset_volt = 0.845;           // Source: `lead-acid-cell-rule`
constexpr double hydrometer_reference_fahrenheit = 80;    // Source: `hydrometer-correction`
constexpr double hydrometer_per_fahrenheit = 0.004 / 10;  // Source: `hydrometer-correction`

/// On the line through the two rows next to `at`; rising x.
double on_line(std::span<const double> x, std::span<const double> y, double at) noexcept {
  const auto after = std::upper_bound(x.begin() + 1, x.end() - 1, at);
  const auto i = static_cast<std::size_t>(after - x.begin());
  return y[i - 1] + (y[i] - y[i - 1]) / (x[i] - x[i - 1]) * (at - x[i - 1]);
}

Checked<double> inside_table(std::span<const double> x, std::span<const double> y, double at) noexcept {
  if (std::isnan(at)) return no_value(Status::missing_input);
  if (at < x.front() || at > x.back()) return no_value(Status::outside_table);
  return {on_line(x, y, at), Status::sound};
}

double emf(double molality) noexcept {
  const double l = std::log10(molality);
  double sum = 0;
  for (std::size_t i = tables::acid_half_cells::rows; i-- > 0;)
    sum = sum * l + (tables::acid_half_cells::positive_volt[i] - tables::acid_half_cells::negative_volt[i]);
  return sum;
}

}  // namespace

Checked<double> molality(double specific_gravity) noexcept {
  return inside_table(tables::acid_density::specific_gravity, tables::acid_density::molality, specific_gravity);
}

Checked<double> specific_gravity(double molality) noexcept {
  return inside_table(tables::acid_density::molality, tables::acid_density::specific_gravity, molality);
}

Checked<double> cell_emf_volt(double molality) noexcept {
  if (std::isnan(molality)) return no_value(Status::missing_input);
  if (!(molality > 0) || std::isinf(molality)) return no_value(Status::out_of_domain);
  const bool fitted = molality >= 0.1 && molality <= 8;
  return {emf(molality), fitted ? Status::sound : Status::outside_fitted_range};
}

Checked<double> specific_gravity_at_rest(double cell_volt) noexcept {
  if (std::isnan(cell_volt)) return no_value(Status::missing_input);
  double low = tables::acid_density::molality[0], high = tables::acid_density::molality[tables::acid_density::rows - 1];
  if (cell_volt < emf(low) || cell_volt > emf(high)) return no_value(Status::outside_table);
  while (high - low > 1e-12 * high) {  // the electromotive force rises with molality
    const double middle = low + (high - low) / 2;
    if (middle == low || middle == high) break;
    (emf(middle) < cell_volt ? low : high) = middle;
  }
  return specific_gravity(low);
}

double cell_rule_volt(double specific_gravity) noexcept { return specific_gravity + cell_rule_offset_volt; }

double corrected_specific_gravity(const HydrometerReading& reading) noexcept {
  const double fahrenheit = reading.celsius * 1.8 + 32;
  return reading.specific_gravity + hydrometer_per_fahrenheit * (fahrenheit - hydrometer_reference_fahrenheit);
}

Checked<double> freezing_celsius(double specific_gravity) noexcept {
  return inside_table(tables::acid_freezing::specific_gravity, tables::acid_freezing::freezing_celsius,
                      specific_gravity);
}

Checked<double> self_discharge_per_day(double celsius) noexcept {
  namespace table = tables::lead_acid_self_discharge;
  if (std::isnan(celsius)) return no_value(Status::missing_input);
  double logarithm[table::rows];
  std::transform(std::begin(table::specific_gravity_per_day), std::end(table::specific_gravity_per_day), logarithm,
                 [](double rate) { return std::log(rate); });
  const bool inside = celsius >= table::celsius[0] && celsius <= table::celsius[table::rows - 1];
  return {std::exp(on_line(table::celsius, logarithm, celsius)), inside ? Status::sound : Status::outside_fitted_range};
}

double temperature_disagreement_cell_volt(double celsius) noexcept {
  namespace table = tables::lead_acid_temperature_tables;
  const double agreed = table::celsius[table::rows - 1];
  const double mirrored = celsius > agreed ? 2 * agreed - celsius : celsius;
  return std::abs(on_line(table::celsius, table::half_width_volt, mirrored)) / twelve_volt_cells;
}

}  // namespace ohmward::battery::acid
