#include "ohmward/battery/self_discharge.hpp"

#include <algorithm>
#include <cmath>

#include "ohmward/battery/acid.hpp"
#include "ohmward/core/errors.hpp"

namespace ohmward::battery {
namespace {

constexpr double widest_slope_ratio = 2;

bool rises(const OpenCircuitCurve& curve) noexcept {
  const auto volt = curve.cell_volt();
  return std::adjacent_find(volt.begin(), volt.end(), [](double a, double b) { return !(b > a); }) == volt.end();
}

/// The curve with its ends drawn on straight: noise may put a full battery a little above it.
double extended_volt(const OpenCircuitCurve& curve, double charge, double celsius) noexcept {
  const double inside = std::clamp(charge, curve.charge().front(), curve.charge().back());
  return curve.volt(inside, celsius) + (charge - inside) * curve.slope(inside);
}

/// Charge at a cell voltage on a rising curve; NaN more than `margin_volt` outside.
double charge_at(const OpenCircuitCurve& curve, double cell_volt, double celsius, double margin_volt) noexcept {
  const double first = curve.charge().front(), last = curve.charge().back();
  if (cell_volt < curve.volt(first, celsius) - margin_volt || cell_volt > curve.volt(last, celsius) + margin_volt)
    return nan;
  double low = first - 2 * margin_volt / curve.slope(first), high = last + 2 * margin_volt / curve.slope(last);
  for (int i = 0; i < 60; ++i) {
    const double middle = low + (high - low) / 2;
    (extended_volt(curve, middle, celsius) < cell_volt ? low : high) = middle;
  }
  return low + (high - low) / 2;
}

/// Voltage a unit of charge between two charges, or where they are one, around them.
double slope_between(const OpenCircuitCurve& curve, double first, double second) noexcept {
  const double least = 1e-3, reference = curve.reference_celsius();
  if (std::abs(first - second) > least)
    return (extended_volt(curve, first, reference) - extended_volt(curve, second, reference)) / (first - second);
  return curve.slope(std::clamp(first, curve.charge().front(), curve.charge().back()));
}

}  // namespace

SelfDischarge self_discharge(const TwoRests& rests, const OpenCircuitCurve& curve, int cells) {
  if (cells < 1) throw InvalidParameter("cells", cells, "at least 1");
  SelfDischarge result;
  for (const double needed : {rests.first_volt, rests.second_volt, rests.standard_uncertainty_volt, rests.elapsed_hour,
                              rests.capacity_ampere_hour})
    if (std::isnan(needed)) return result;
  if (!(rests.standard_uncertainty_volt > 0 && rests.elapsed_hour > 0 && rests.capacity_ampere_hour > 0)) {
    result.status = Status::out_of_domain;
    return result;
  }
  if (!rises(curve)) {
    result.status = Status::no_solution;
    return result;
  }
  const auto celsius = [&](double given) { return std::isnan(given) ? curve.reference_celsius() : given; };
  const double u_cell = rests.standard_uncertainty_volt / cells, margin = 3 * u_cell;
  const double first = charge_at(curve, rests.first_volt / cells, celsius(rests.first_celsius), margin);
  const double second = charge_at(curve, rests.second_volt / cells, celsius(rests.second_celsius), margin);
  if (std::isnan(first) || std::isnan(second)) {
    result.status = Status::outside_curve;
    return result;
  }
  const double slope = slope_between(curve, first, second);
  // Slopes within two standard uncertainties of either end say whether one slope may stand for the stretch.
  double least = slope, greatest = slope;
  for (const double charge : {first, second})
    for (const double side : {-2.0, 2.0}) {
      const double near = std::clamp(charge + side * u_cell / slope, curve.charge().front(), curve.charge().back());
      least = std::min(least, curve.slope(near));
      greatest = std::max(greatest, curve.slope(near));
    }
  const double per_hour = rests.capacity_ampere_hour / rests.elapsed_hour;
  result.charge_lost = {first - second, std::sqrt(2.0) * u_cell / slope};
  result.current_ampere = {result.charge_lost.value * per_hour, result.charge_lost.standard_uncertainty * per_hour};
  result.status = greatest > widest_slope_ratio * least ? Status::wide : Status::sound;
  return result;
}

StorageTime storage_time(const Storage& storage) noexcept {
  StorageTime result;
  const auto [charge, u_charge] = storage.charge;
  const auto [current, u_current] = storage.current_ampere;
  for (const double needed : {charge, u_charge, current, u_current, storage.floor, storage.capacity_ampere_hour})
    if (std::isnan(needed)) return result;
  if (!(current > 0 && storage.capacity_ampere_hour > 0 && u_charge >= 0 && u_current >= 0)) {
    result.status = Status::out_of_domain;
    return result;
  }
  if (charge <= storage.floor) {
    result.status = Status::no_solution;
    return result;
  }
  const double hour = storage.capacity_ampere_hour * (charge - storage.floor) / current;
  result.hour = {hour, hour * std::hypot(u_charge / (charge - storage.floor), u_current / current)};
  result.status = Status::sound;
  return result;
}

double self_discharge_factor(const TemperatureChange& change) noexcept {
  return acid::self_discharge_per_day(change.to_celsius).value /
         acid::self_discharge_per_day(change.from_celsius).value;
}

}  // namespace ohmward::battery
