#include "resting_voltage.hpp"

#include <algorithm>
#include <cmath>

#include "ohmward/battery/acid.hpp"

namespace ohmward::battery {
namespace {

/// A missing temperature is bounded, not refused: a depot between -5 and 35 °C. A setting, no source.
constexpr double assumed_celsius = 15;
constexpr double assumed_celsius_standard_uncertainty_kelvin = 12;

constexpr double one_minute_hour = 1.0 / 60;
const double root_3 = std::sqrt(3.0);

/// Known history leaves the width of the gap, 5 to 25 mV about 15 mV as a rectangle: (10/√3)/15 of the half gap.
/// Source: `lfp-hysteresis`.
const double known_history_share = 10 / root_3 / 15;

bool is_lead(const Candidate& candidate) noexcept { return candidate.type.chemistry == Chemistry::lead; }

/// What is left of relaxation and surface charge, as the bounds of a rectangle of the whole battery.
struct Remainder {
  double low_volt, high_volt;
};

Remainder remainder(const Candidate& candidate, const RestingReading& reading) noexcept {
  const RestBehaviour& rest = candidate.type.rest;
  const double width = candidate.cells * relaxation_half_width_volt(rest, reading.rest_hour);
  switch (reading.history) {
    case History::after_discharge: return {-width, 0};
    case History::after_charge: {
      const double since = std::isnan(reading.rest_hour) ? 0.0 : reading.rest_hour;
      return {0, width + candidate.cells * rest.surface_charge_volt * std::exp(-since / rest.surface_charge_hour)};
    }
    case History::unknown: break;
  }
  return {-width, width};
}

}  // namespace

double relaxation_half_width_volt(const RestBehaviour& rest, double rest_hour) noexcept {
  if (std::isnan(rest_hour)) return rest.missing_rest_volt;
  return rest.relaxation_volt / std::sqrt(std::max(rest_hour, one_minute_hour));
}

RestingVoltage resting_voltage(const Candidate& candidate, const RestingReading& reading) noexcept {
  const bool known_celsius = !std::isnan(reading.celsius);
  const Remainder left = remainder(candidate, reading);
  const double half_gap = candidate.cells * candidate.type.rest.hysteresis_volt;
  const bool known_history = reading.history != History::unknown;
  const double branch = reading.history == History::after_charge      ? half_gap
                        : reading.history == History::after_discharge ? -half_gap
                                                                      : 0.0;
  RestingVoltage voltage{.open_circuit_volt = reading.voltage_volt - (left.low_volt + left.high_volt) / 2 - branch,
                         .meter_volt = reading.standard_uncertainty_volt,
                         .relaxation_volt = (left.high_volt - left.low_volt) / 2 / root_3,
                         .hysteresis_volt = half_gap * (known_history ? known_history_share : 1.0),
                         .temperature_tables_volt = 0,
                         .celsius = known_celsius ? reading.celsius : assumed_celsius,
                         .celsius_standard_uncertainty_kelvin = known_celsius
                                                                    ? reading.celsius_standard_uncertainty_kelvin
                                                                    : assumed_celsius_standard_uncertainty_kelvin};
  if (is_lead(candidate))
    voltage.temperature_tables_volt =
        candidate.cells * acid::temperature_disagreement_cell_volt(voltage.celsius) / root_3;
  return voltage;
}

CurveUncertainty curve_uncertainty(const OpenCircuitCurve& curve, int cells, const RestingVoltage& voltage) noexcept {
  const double by_celsius = curve.largest_volt_per_kelvin() * voltage.celsius_standard_uncertainty_kelvin;
  const double by_coefficient =
      curve.volt_per_kelvin_standard_uncertainty() * (voltage.celsius - curve.reference_celsius());
  return {.temperature_volt = cells * std::sqrt(by_celsius * by_celsius + by_coefficient * by_coefficient),
          .curve_volt = cells * curve.standard_uncertainty_volt()};
}

namespace {

struct VoltRange {
  double low, high;
};

VoltRange range_of(const BatteryType& type, double low_charge, double high_charge) noexcept {
  VoltRange range{infinity, -infinity};
  for (const auto& curve : type.curves) {
    const double first = curve->charge().front(), width = curve->charge().back() - first;
    range.low = std::min(range.low, curve->volt(first + low_charge * width));
    range.high = std::max(range.high, curve->volt(first + high_charge * width));
  }
  return range;
}

/// How many missing cells would explain a voltage that the whole battery does not show at rest.
int missing_cells(const Candidate& candidate, double volt, double standard_uncertainty_volt,
                  Position position) noexcept {
  const bool lead = is_lead(candidate);
  if (lead && position != Position::below) return 0;
  // Lithium curves end far down: only a voltage where the battery would be all but empty and the others well filled
  // counts.
  if (!lead && volt > candidate.cells * range_of(candidate.type, 0.05, 0.05).low) return 0;
  const VoltRange cell = lead ? range_of(candidate.type, 0, 1) : range_of(candidate.type, 0.1, 0.95);
  for (int missing = 1; missing < candidate.cells; ++missing) {
    const double margin = 3 * standard_uncertainty_volt, left = candidate.cells - missing;
    if (volt >= left * cell.low - margin && volt <= left * cell.high + margin) return missing;
  }
  return 0;
}

/// Ends of the shipped tables of density and of freezing points.
constexpr double thinnest_acid = 1.05, densest_acid = 1.28;

/// The acid of a cell 2 u below the reading freezes at the coldest the battery may be.
bool acid_may_freeze(const Candidate& candidate, double cell_volt, double standard_uncertainty_volt,
                     const RestingReading& reading) noexcept {
  if (!is_lead(candidate) || std::isnan(reading.celsius)) return false;
  const double coldest = reading.celsius - 2 * reading.celsius_standard_uncertainty_kelvin;
  if (coldest > acid::freezing_celsius(thinnest_acid).value) return false;
  const double cautious = cell_volt - 2 * standard_uncertainty_volt / candidate.cells;
  const Checked<double> emf_of_thinnest = acid::cell_emf_volt(acid::molality(thinnest_acid).value);
  const double gravity =
      cautious < emf_of_thinnest.value ? thinnest_acid : acid::specific_gravity_at_rest(cautious).value;
  const Checked<double> freezing = acid::freezing_celsius(std::min(gravity, densest_acid));
  return freezing.has_value() && coldest <= freezing.value;
}

}  // namespace

void find_words(const Candidate& candidate, const RestingReading& reading, const RestingVoltage& voltage,
                double standard_uncertainty_volt, CandidateState& state) noexcept {
  const RestBehaviour& rest = candidate.type.rest;
  Conditions& words = state.conditions;
  const bool charging = reading.voltage_volt > candidate.cells * rest.charging_volt;
  if (charging) words.add(Condition::on_charge);
  if (state.position == Position::above) {
    if (!charging) words.add(Condition::not_rested);
    return;
  }
  const OpenCircuitCurve& curve = *candidate.type.curves.front();
  const double volt_per_kelvin = curve.volt_per_kelvin()[curve.charge().size() / 2];
  const double cell_volt =
      voltage.open_circuit_volt / candidate.cells - volt_per_kelvin * (voltage.celsius - curve.reference_celsius());
  state.missing_cells = missing_cells(candidate, voltage.open_circuit_volt, standard_uncertainty_volt, state.position);
  if (state.missing_cells > 0) {
    words.add(Condition::cell_missing_suspected);
  } else {
    if (state.position == Position::below || cell_volt <= rest.discharged_volt)
      words.add(Condition::discharged);
    else if (cell_volt < rest.low_volt)
      words.add(Condition::low);
    if (acid_may_freeze(candidate, cell_volt, standard_uncertainty_volt, reading)) words.add(Condition::freezing_risk);
  }
  if (reading.rest_hour < rest.rested_hour) words.add(Condition::not_rested);
  if (words.headline() == Condition::unknown) words.add(Condition::rested);
}

}  // namespace ohmward::battery
