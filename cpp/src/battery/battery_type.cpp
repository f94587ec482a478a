#include "ohmward/battery/battery_type.hpp"

#include <algorithm>
#include <array>
#include <cmath>

#include "ohmward/core/errors.hpp"
#include "ohmward_tables/battery_curves.hpp"
#include "ohmward_tables/battery_types.hpp"
#include "ohmward_tables/open_circuit_curves.hpp"
#include "ohmward_tables/open_circuit_entropy.hpp"

namespace ohmward::battery {
namespace {

namespace curves = tables::open_circuit_curves;
namespace entropy = tables::open_circuit_entropy;
namespace members = tables::battery_curves;
namespace types = tables::battery_types;

constexpr std::array chemistry_names{std::string_view("lead"), std::string_view("nmc"), std::string_view("nca"),
                                     std::string_view("lfp")};

/// The rows [first, last) of a sorted-by-name column that carry `name`.
struct Rows {
  std::size_t first = 0, last = 0;
  [[nodiscard]] bool empty() const { return first == last; }
};

template <std::size_t n>
Rows rows_of(const char* const (&column)[n], std::string_view name) {
  const auto first = std::find(std::begin(column), std::end(column), name);
  const auto last = std::find_if(first, std::end(column), [name](std::string_view cell) { return cell != name; });
  return {static_cast<std::size_t>(first - std::begin(column)), static_cast<std::size_t>(last - std::begin(column))};
}

double interpolate(std::span<const double> x, std::span<const double> y, double at) {
  if (at <= x.front()) return y.front();
  if (at >= x.back()) return y.back();
  const auto after = static_cast<std::size_t>(std::upper_bound(x.begin(), x.end(), at) - x.begin());
  return std::lerp(y[after - 1], y[after], (at - x[after - 1]) / (x[after] - x[after - 1]));
}

std::size_t member_of(std::string_view curve) {
  for (std::size_t i = 0; i < members::rows; ++i)
    if (members::curve[i] == curve) return i;
  throw InvalidParameter("curve", curve, "the name of a shipped curve");
}

std::size_t type_row(std::string_view name) {
  for (std::size_t i = 0; i < types::rows; ++i)
    if (types::type[i] == name) return i;
  throw InvalidParameter("type", name, "flooded, enhanced_flooded, agm, gel, nmc, nca or lfp");
}

/// Shipped tables carry nine decimals.
constexpr double table_digits_volt = 2e-9;

/// Two hundredths of the smallest spread of a type about its curves: not to be seen in any interval.
constexpr double type_tolerance_volt = 1e-4;

OpenCircuitCurve curve_of(std::size_t member, double standard_uncertainty_volt, double tolerance_volt) {
  const Rows rows = rows_of(curves::curve, members::curve[member]);
  const std::span charge(curves::charge + rows.first, rows.last - rows.first);
  const std::span volt(curves::cell_volt + rows.first, rows.last - rows.first);
  const Rows of = rows_of(entropy::chemistry, types::chemistry[type_row(members::type[member])]);
  const std::span at(entropy::charge + of.first, of.last - of.first);
  const std::span coefficient(entropy::volt_per_kelvin + of.first, of.last - of.first);
  std::vector<double> volt_per_kelvin(charge.size());
  std::transform(charge.begin(), charge.end(), volt_per_kelvin.begin(),
                 [&](double s) { return interpolate(at, coefficient, s); });
  return OpenCircuitCurve(
      {.name = members::curve[member],
       .charge = charge,
       .cell_volt = volt,
       .volt_per_kelvin = volt_per_kelvin,
       .volt_per_kelvin_standard_uncertainty = entropy::standard_uncertainty_volt_per_kelvin[of.first],
       .standard_uncertainty_volt = standard_uncertainty_volt,
       .reference_celsius = members::reference_celsius[member],
       .tolerance_volt = tolerance_volt});
}

}  // namespace

BatteryType shipped_type(std::string_view name) {
  const std::size_t row = type_row(name);
  const auto chemistry = std::find(chemistry_names.begin(), chemistry_names.end(), types::chemistry[row]);
  BatteryType type{.name = types::type[row],
                   .chemistry = static_cast<Chemistry>(chemistry - chemistry_names.begin()),
                   .rest = {.rested_hour = types::rested_hour[row],
                            .relaxation_volt = types::relaxation_volt[row],
                            .missing_rest_volt = types::missing_rest_volt[row],
                            .surface_charge_volt = types::surface_charge_volt[row],
                            .surface_charge_hour = types::surface_charge_hour[row],
                            .hysteresis_volt = types::hysteresis_volt[row],
                            .low_volt = types::low_volt[row],
                            .discharged_volt = types::discharged_volt[row],
                            .charging_volt = types::charging_volt[row],
                            .lowest_volt = types::lowest_volt[row],
                            .highest_volt = types::highest_volt[row]},
                   .curves = {}};
  for (std::size_t i = 0; i < members::rows; ++i)
    if (members::type[i] == name)
      type.curves.push_back(std::make_shared<const OpenCircuitCurve>(
          curve_of(i, members::standard_uncertainty_volt[i], type_tolerance_volt)));
  return type;
}

std::span<const std::string_view> shipped_type_names() noexcept {
  static constexpr auto names = [] {
    std::array<std::string_view, types::rows> all{};
    for (std::size_t i = 0; i < types::rows; ++i) all[i] = types::type[i];
    return all;
  }();
  return names;
}

std::vector<std::string_view> shipped_curve_names() {
  std::vector<std::string_view> names;
  for (const std::string_view curve : members::curve)
    if (std::find(names.begin(), names.end(), curve) == names.end()) names.push_back(curve);
  return names;
}

OpenCircuitCurve shipped_curve(std::string_view name) { return curve_of(member_of(name), 0.0, table_digits_volt); }

}  // namespace ohmward::battery
