#pragma once

#include <cstdint>
#include <memory>
#include <span>
#include <string>
#include <string_view>
#include <vector>

#include "ohmward/battery/open_circuit_curve.hpp"

namespace ohmward::battery {

enum class Chemistry : std::int8_t { lead = 0, nmc = 1, nca = 2, lfp = 3 };

/// How a type behaves at rest; volts are of one cell. Source: `lead-acid-rest-and-words`, `lithium-rest-and-words`,
/// `lead-acid-relaxation-record`, `lfp-hysteresis`.
struct RestBehaviour {
  double rested_hour;  ///< rest after which a reading counts as rested
  double
      relaxation_volt;  ///< half-width of what may be left 1 h after the current stopped; falls with the root of time
  double missing_rest_volt;    ///< the same where the rest is not known
  double surface_charge_volt;  ///< how far above rest a cell may be at the end of a charge
  double surface_charge_hour;  ///< in which that falls by a factor e
  double hysteresis_volt;      ///< half of the gap between rest after charge and after discharge
  double low_volt;             ///< below: low
  double discharged_volt;      ///< at or below: discharged
  double charging_volt;        ///< above: being charged
  double lowest_volt;          ///< what one cell can show at all
  double highest_volt;
};

/// A kind of battery: its possible curves and its behaviour at rest. Copies share the curves.
struct BatteryType {
  std::string name;
  Chemistry chemistry;
  RestBehaviour rest;
  std::vector<std::shared_ptr<const OpenCircuitCurve>> curves;  ///< equally likely before the reading
};

/// A shipped type: flooded, enhanced_flooded, agm, gel, nmc, nca, lfp. Throws InvalidParameter for any other name.
[[nodiscard]] BatteryType shipped_type(std::string_view name);

/// Names of the shipped types and curves.
[[nodiscard]] std::span<const std::string_view> shipped_type_names() noexcept;
[[nodiscard]] std::vector<std::string_view> shipped_curve_names();

/// A shipped curve alone, as published: without the spread of its type.
[[nodiscard]] OpenCircuitCurve shipped_curve(std::string_view name);

}  // namespace ohmward::battery
