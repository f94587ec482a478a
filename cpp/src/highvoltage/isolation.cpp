#include "ohmward/highvoltage/isolation.hpp"

#include <algorithm>
#include <cmath>

#include "ohmward/formula/highvoltage.hpp"

namespace ohmward::highvoltage {
namespace {

using uncertainty::Part;
using uncertainty::Quantity;

/// One-sided 95 %: 1.645 for a normal error, at most 1.68 for a sum of rectangles; rounded up. Source:
/// `computed-bound-factor`.
constexpr double bound_factor = 1.7;
/// A difference below 2 u is not told from noise, u(R)/R would exceed one half.
constexpr double noise_factor = 2;
/// The bound holds V' at 1.7 u already; at k = 2 this part widens it by more than the step from 1.7 u to 2 u.
constexpr double bound_reading_part = 0.1;
/// Pole voltages that miss their expected sum by more than 4 u contradict each other.
constexpr double contradiction_factor = 4;

/// The readings with the loaded pole first.
struct Arranged {
  Voltage pack;
  Voltage free;    ///< pole with the larger voltage, without the resistor
  Voltage loaded;  ///< the same with it
  Voltage other;
  Pole weak_pole;  ///< opposite to the resistor
};

Voltage unsigned_voltage(Voltage voltage) noexcept {
  return {std::abs(voltage.volt), voltage.standard_uncertainty_volt};
}

Arranged arrange(const VoltmeterReadings& r) noexcept {
  const Voltage negative = unsigned_voltage(r.negative);
  const Voltage positive = unsigned_voltage(r.positive);
  const bool at_negative = negative.volt >= positive.volt;
  return {.pack = unsigned_voltage(r.pack),
          .free = at_negative ? negative : positive,
          .loaded = unsigned_voltage(r.loaded),
          .other = at_negative ? positive : negative,
          .weak_pole = at_negative ? Pole::plus : Pole::minus};
}

double square(double x) noexcept { return x * x; }
double quadrature(double a, double b, double c = 0) noexcept { return std::sqrt(a * a + b * b + c * c); }

/// Least R with A - R·B = k·u(A - R·B), where A = Ro·Vb·(V - V') and B = V·V'. NaN where there is none above 0.
///
/// With R = x·A/B this is (1 - x)² = q0 + 2·h·x + q2·x². Its discriminant q0 + 2h + q2 + h² - q0·q2 is formed from
/// these small numbers, so that nothing cancels where the uncertainties are small; h and q2 are kept multiplied by V'
/// and V'², so that V' may be zero.
double lower_root(const VoltmeterReadings& r, const Arranged& v) noexcept {
  const double free = v.free.volt;
  const double loaded = v.loaded.volt;
  const double drop = free - loaded;
  const double u2_free = square(v.free.standard_uncertainty_volt);
  const double u2_loaded = square(v.loaded.standard_uncertainty_volt);
  const double u2_scale =
      square(v.pack.standard_uncertainty_volt / v.pack.volt) + square(r.resistor_relative_standard_uncertainty);
  const double k2 = bound_factor * bound_factor;
  const double q0 = k2 * ((u2_free + u2_loaded) / square(drop) + u2_scale);
  const double h_loaded = k2 * (free * u2_loaded - loaded * u2_free) / (drop * free);
  const double q2_loaded = k2 * (square(loaded / free) * u2_free + u2_loaded);
  if (!(q0 < 1)) return nan;  // even R = 0 can not be excluded
  const double discriminant =
      square(loaded) * q0 + 2 * loaded * h_loaded + q2_loaded + square(h_loaded) - q0 * q2_loaded;
  return (1 - q0) * r.resistor_ohm * (v.pack.volt / free) * drop / (loaded + h_loaded + std::sqrt(discriminant));
}

/// Pole voltages as they should add up, given the sides found, and how well.
struct Sum {
  double volt;
  double standard_uncertainty_volt;
};
Sum expected_sum(const VoltmeterReadings& r, const Arranged& v, double weak, double strong, double relative) noexcept {
  const double noise =
      quadrature(v.free.standard_uncertainty_volt, v.other.standard_uncertainty_volt, v.pack.standard_uncertainty_volt);
  if (r.meters == Meters::fixed || std::isnan(r.meter_ohm)) return {v.pack.volt, noise};
  const double sides = 1 / weak + 1 / strong;
  const double meter = 1 / r.meter_ohm;
  const double share = sides / (sides + meter);
  const double slope = v.pack.volt * share * (1 - share);
  return {v.pack.volt * share, quadrature(noise, slope * relative, slope * r.meter_relative_standard_uncertainty)};
}

struct Relative {
  double reading;
  double resistor;
};
Relative relative_parts(const VoltmeterReadings& r, const Arranged& v) noexcept {
  const double drop = v.free.volt - v.loaded.volt;
  const double by_loaded = v.free.volt / (v.loaded.volt * drop) * v.loaded.standard_uncertainty_volt;
  const double by_free = v.loaded.volt / (v.free.volt * drop) * v.free.standard_uncertainty_volt;
  const double by_pack = v.pack.standard_uncertainty_volt / v.pack.volt;
  return {quadrature(by_loaded, by_free, by_pack), r.resistor_relative_standard_uncertainty};
}

/// Frees the result of the meter in parallel; the bound takes the meter at its upper end, where less is taken off.
void free_of_meter(VoltmeterIsolation& result, const VoltmeterReadings& r) noexcept {
  Quantity& weak = result.weak;
  const Checked<double> freed = formula::unloaded_resistance_ohm(weak.value, r.meter_ohm);
  if (!freed.has_value()) {
    weak.value = nan;
    weak.status = freed.status;
    result.lower_bound_ohm = nan;
    return;
  }
  const double stretch = freed.value / weak.value;
  weak.parts.set(Part::reading, weak.parts[Part::reading] * stretch);
  weak.parts.set(Part::resistor, weak.parts[Part::resistor] * stretch);
  weak.parts.set(Part::loading, freed.value / r.meter_ohm * r.meter_relative_standard_uncertainty);
  weak.value = freed.value;
  const double highest_meter = r.meter_ohm * (1 + bound_factor * r.meter_relative_standard_uncertainty);
  result.lower_bound_ohm = formula::unloaded_resistance_ohm(result.lower_bound_ohm, highest_meter).value;
  result.strong_ohm = formula::unloaded_resistance_ohm(result.strong_ohm, r.meter_ohm).value;
  result.by_pole_voltages_ohm = formula::unloaded_resistance_ohm(result.by_pole_voltages_ohm, r.meter_ohm).value;
  result.remarks |= 1U << static_cast<unsigned>(IsolationRemark::loading_corrected);
}

void remark(VoltmeterIsolation& result, IsolationRemark which) noexcept {
  result.remarks |= 1U << static_cast<unsigned>(which);
}

VoltmeterIsolation& refused(VoltmeterIsolation& result, Status reason) noexcept {
  result.weak.value = nan;
  result.weak.status = reason;
  result.lower_bound_ohm = result.strong_ohm = result.by_pole_voltages_ohm = result.best_resistor_ohm = nan;
  return result;
}

/// The resistor's usual size is required ohm per volt times pack voltage, within a fifth. Source:
/// `un-r100-isolation-annex`.
bool unusual_size(const VoltmeterReadings& r, const Arranged& v) noexcept {
  constexpr double tolerance = 0.2;
  const double usual = r.required_ohm_per_volt * v.pack.volt;
  return std::abs(r.resistor_ohm - usual) > tolerance * usual;
}

bool alike(const Arranged& v) noexcept {
  const double noise = quadrature(v.free.standard_uncertainty_volt, v.other.standard_uncertainty_volt);
  return !(v.free.volt - v.other.volt > noise_factor * noise);
}

/// A resistor at the smaller voltage makes the result that of the other side, which is not the weaker one.
bool wrong_pole(const VoltmeterReadings& r, const Arranged& v) noexcept {
  const Pole larger = v.weak_pole == Pole::plus ? Pole::minus : Pole::plus;
  return r.loaded_pole != Pole::unknown && r.loaded_pole != larger && !alike(v);
}

void state_sides(VoltmeterIsolation& result, const VoltmeterReadings& r, const Arranged& v) noexcept {
  if (alike(v)) remark(result, IsolationRemark::sides_alike);
  result.weak_pole = v.weak_pole;
  result.strong_ohm = result.weak.value * (v.free.volt / v.other.volt);
  if (unusual_size(r, v)) remark(result, IsolationRemark::resistor_size);
}

}  // namespace

VoltmeterIsolation isolation_by_voltmeter(const VoltmeterReadings& r) noexcept {
  VoltmeterIsolation result;
  result.weak.scale = Scale::log;
  const Arranged v = arrange(r);
  const formula::IsolationReadings plain{.pack_volt = v.pack.volt,
                                         .negative_volt = std::abs(r.negative.volt),
                                         .positive_volt = std::abs(r.positive.volt),
                                         .loaded_volt = v.loaded.volt,
                                         .resistor_ohm = r.resistor_ohm};
  const double drop = v.free.volt - v.loaded.volt;
  const double drop_noise = quadrature(v.free.standard_uncertainty_volt, v.loaded.standard_uncertainty_volt);
  const bool drop_is_noise = std::abs(drop) <= noise_factor * drop_noise;
  const bool loaded_is_noise = v.loaded.volt <= noise_factor * v.loaded.standard_uncertainty_volt;
  const Checked<double> value = formula::isolation_by_pack_voltage_ohm(plain);
  if (wrong_pole(r, v)) {
    remark(result, IsolationRemark::wrong_pole_loaded);
    return refused(result, Status::contradiction);
  }
  if (drop_is_noise) remark(result, IsolationRemark::drop_inside_noise);
  if (drop_is_noise && (value.has_value() || value.status == Status::contradiction))
    return refused(result, Status::inside_noise);
  const bool at_zero = v.loaded.volt == 0 && loaded_is_noise && value.status == Status::out_of_domain;
  if (!value.has_value() && !at_zero) return refused(result, value.status);
  if (r.meters == Meters::fixed && !(r.meter_ohm > 0))
    return refused(result, std::isnan(r.meter_ohm) ? Status::missing_input : Status::out_of_domain);

  const Relative relative = relative_parts(r, v);
  result.weak.value = value.value;
  result.weak.status = Status::sound;
  result.weak.parts.set(Part::reading, relative.reading);
  result.weak.parts.set(Part::resistor, relative.resistor);
  result.lower_bound_ohm = lower_root(r, v);
  result.by_pole_voltages_ohm = formula::isolation_by_pole_voltages_ohm(plain).value;
  state_sides(result, r, v);

  const Sum sum = expected_sum(r, v, result.weak.value, result.strong_ohm, result.weak.standard_uncertainty());
  const double off = std::abs(v.free.volt + v.other.volt - sum.volt);
  if (!loaded_is_noise && off > contradiction_factor * sum.standard_uncertainty_volt) {
    remark(result, IsolationRemark::poles_do_not_add_up);
    return refused(result, Status::contradiction);
  }
  if (r.meters == Meters::fixed) free_of_meter(result, r);
  if (!loaded_is_noise) {
    const Checked<double> best = best_resistor_ohm({.weak_ohm = result.weak.value,
                                                    .strong_ohm = result.strong_ohm,
                                                    .meter_ohm = r.meter_ohm > 0 ? r.meter_ohm : infinity});
    result.best_resistor_ohm = best.value;
    return result;
  }
  remark(result, IsolationRemark::loaded_inside_noise);
  result.weak.value = result.lower_bound_ohm;
  result.weak.censoring = Censoring::above;
  result.weak.parts.set(Part::reading, bound_reading_part);
  result.weak.status = std::isnan(result.lower_bound_ohm) ? Status::inside_noise : Status::bound_only;
  result.strong_ohm = result.by_pole_voltages_ohm = nan;
  return result;
}

Checked<double> best_resistor_ohm(const Sides& sides) noexcept {
  if (std::isnan(sides.weak_ohm) || std::isnan(sides.strong_ohm) || std::isnan(sides.meter_ohm))
    return no_value(Status::missing_input);
  if (!(sides.weak_ohm > 0) || !(sides.strong_ohm > 0) || !(sides.meter_ohm > 0))
    return no_value(Status::out_of_domain);
  constexpr double loaded_share =
      0.47462661756260555;  // root of 2 x^4/(1 + x^4) = 1 - x/(1 - x). Source: `computed-best-resistor`.
  const double parallel = 1 / (1 / sides.weak_ohm + 1 / sides.strong_ohm + 1 / sides.meter_ohm);
  return {parallel * (loaded_share / (1 - loaded_share)), Status::sound};
}

TesterIsolation isolation_by_tester(const TesterReadings& r) noexcept {
  TesterIsolation result;
  const bool both =
      has_value(r.plus.status) && has_value(r.minus.status) && !std::isnan(r.plus.value) && !std::isnan(r.minus.value);
  if (!both) {
    result.weak.scale = Scale::log;
    result.weak.status = Status::missing_input;
    return result;
  }
  const bool plus_is_weak = r.plus.value <= r.minus.value;
  result.weak = plus_is_weak ? r.plus : r.minus;
  const bool exact = r.plus.censoring == Censoring::exact && r.minus.censoring == Censoring::exact;
  result.poles_joined = exact && std::abs(r.plus.value - r.minus.value) <= r.display_step_ohm;
  if (result.poles_joined)
    result.findings.add(Finding::poles_joined);
  else if (exact || r.plus.value != r.minus.value)
    result.weak_pole = plus_is_weak ? Pole::plus : Pole::minus;

  if (r.whole) {
    const bool possible = r.working_volt > 0 && std::isfinite(r.working_volt);
    result.ohm_per_volt = possible
                              ? Checked<double>{result.weak.value / r.working_volt, result.weak.status}
                              : no_value(std::isnan(r.working_volt) ? Status::missing_input : Status::out_of_domain);
  }
  if (!std::isnan(r.required_test_voltage_volt)) {
    if (std::isnan(r.test_voltage_volt))
      result.findings.add(Finding::test_voltage_missing);
    else if (r.test_voltage_volt < r.required_test_voltage_volt)
      result.findings.add(Finding::test_voltage_too_low);
  }
  return result;
}

std::string_view text(Pole pole) noexcept {
  switch (pole) {
    case Pole::unknown: return "pole not told";
    case Pole::plus: return "HV+";
    case Pole::minus: return "HV-";
  }
  return "unknown pole";
}

std::string_view text(IsolationRemark remark) noexcept {
  switch (remark) {
#define OHMWARD_ISOLATION_REMARK_ENTRY(name, bit, text) \
  case IsolationRemark::name: return text;
    OHMWARD_ISOLATION_REMARK_TABLE(OHMWARD_ISOLATION_REMARK_ENTRY)
#undef OHMWARD_ISOLATION_REMARK_ENTRY
  }
  return "unknown remark";
}

}  // namespace ohmward::highvoltage
