#pragma once

#include <string_view>

#include "ohmward/core/checked.hpp"
#include "ohmward/core/floating_point.hpp"

namespace ohmward::insulation {

/// A figure out of a published table; the number is NaN and the source empty where there is none.
struct TableFigure {
  double value = nan;
  Status status = Status::outside_table;
  std::string_view source{};  ///< id in datasets/sources.toml
};

/// Test voltage and least resistance that belong together.
struct TestFigure {
  double test_low_volt = nan;
  double test_high_volt = nan;
  double minimum_ohm = nan;
  Status status = Status::outside_table;
  std::string_view source{};
};

/// Windings that IEEE Std 43 tells apart.
enum class Winding : std::int8_t {
  before_1970_field_or_other = 0,
  form_wound = 1,
  random_wound = 2,
  form_wound_below_1000_volt = 3,
  dc_armature = 4,
};

enum class Edition : std::int16_t { ieee_43_2000 = 2000, ieee_43_2013 = 2013 };

struct Machine {
  Winding winding = Winding::before_1970_field_or_other;
  double rated_volt = nan;  ///< line to line, rms, > 0
  Edition edition = Edition::ieee_43_2013;
};

/// Least resistance after 1 min at 40 degC [ohm] of a machine's winding. `missing_input` without a rated voltage where
/// the rule needs it; `out_of_domain` for one that is not above 0.
[[nodiscard]] TableFigure machine_minimum_ohm(const Machine& machine) noexcept;

/// Least polarisation index by thermal class (105, 130, 155, 180 and above); `outside_table` for any other class.
struct ThermalClass {
  double celsius;
  Edition edition = Edition::ieee_43_2013;
};
[[nodiscard]] TableFigure minimum_polarisation_index(const ThermalClass& thermal_class) noexcept;

/// Test voltage of a machine's winding by its rated voltage; no least resistance.
[[nodiscard]] TestFigure machine_test_voltage(double rated_volt) noexcept;

/// Test voltage and least resistance of other apparatus by its rated voltage.
[[nodiscard]] TestFigure apparatus_test(double rated_volt) noexcept;

/// Test voltage and least resistance of a low-voltage installation by its nominal voltage.
[[nodiscard]] TestFigure installation_test(double nominal_volt) noexcept;

/// Indices that have bands.
enum class Index : std::int8_t { polarisation = 0, absorption_60_30 = 1, dielectric_discharge = 2 };

/// Neutral word for the band that an index lies in.
struct Band {
  double from = nan;
  double to = nan;
  std::string_view word{};
  Status status = Status::missing_input;
  std::string_view source{};
};

/// The half-open band [from, to) of a value. `missing_input` for NaN, `out_of_domain` below 0. No band is a limit.
[[nodiscard]] Band band(Index index, double value) noexcept;

}  // namespace ohmward::insulation
