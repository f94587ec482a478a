#pragma once

#include <cstdint>
#include <vector>

#include "ohmward/core/checked.hpp"
#include "ohmward/core/floating_point.hpp"

namespace ohmward::temperature {

/// How a resistance depends on temperature. Numbers never change meaning.
enum class LawKind : std::int8_t {
  none = 0,           ///< no law holds: converters, chargers, whole systems
  halving = 1,        ///< halves for every step of warming
  thermosetting = 2,  ///< two ranges that meet at 40 degC
  arrhenius = 3,      ///< activation energy
  table = 4,          ///< table of factors
  conductor = 5,      ///< metal, linear in temperature
};

/// One line of a factor table: resistance at the table's reference = factor * resistance at `celsius`.
struct TablePoint {
  double celsius;
  double factor;
};

/// A law with its constant, the uncertainty of that and the range it was fitted for. Made by `law` or `make`, which
/// check it. A law without a fitted range holds everywhere.
struct Law {
  LawKind kind = LawKind::none;
  /// halving: step [K]; arrhenius: activation energy [eV]; conductor: tau [K]; else without meaning.
  double constant = nan;
  /// Of the constant; for thermosetting and table that of ln(factor). NaN: not known, the default is used.
  double relative_standard_uncertainty = nan;
  double fitted_low_celsius = -infinity;
  double fitted_high_celsius = infinity;
  std::vector<TablePoint> table{};  ///< rising in temperature
};

struct FittedRange {
  double low_celsius = -infinity;
  double high_celsius = infinity;
};

/// Equation (T2) of formula/temperature.hpp.
struct Halving {
  double step_kelvin;                             ///< > 0; 10 is usual
  double step_standard_uncertainty_kelvin = nan;  ///< >= 0
  FittedRange fitted{};
};

/// Equation (T3) of formula/temperature.hpp with its constants of IEEE Std 43-2013, which are from memory.
struct Thermosetting {
  double relative_standard_uncertainty = nan;  ///< of both constants together, >= 0
};

/// Equation (T4) of formula/temperature.hpp.
struct Arrhenius {
  double activation_energy_electronvolt;                             ///< > 0
  double activation_energy_standard_uncertainty_electronvolt = nan;  ///< >= 0
  FittedRange fitted{};
};

/// A user's own factors, at least two, straight in ln(factor) between the points; no value outside them.
struct FactorTable {
  std::vector<TablePoint> points;              ///< temperatures rising, factors above 0
  double relative_standard_uncertainty = nan;  ///< of ln(factor), >= 0
};

/// Equation (T5) of formula/temperature.hpp.
struct Conductor {
  double tau_kelvin;                             ///< > 0: copper 234.5, aluminium 225 or 228
  double tau_standard_uncertainty_kelvin = nan;  ///< >= 0
  FittedRange fitted{};
};

/// The checked law. @throws InvalidParameter that names the field
[[nodiscard]] Law law(const Halving& parameters);
[[nodiscard]] Law law(const Thermosetting& parameters);
[[nodiscard]] Law law(const Arrhenius& parameters);
[[nodiscard]] Law law(const FactorTable& parameters);
[[nodiscard]] Law law(const Conductor& parameters);

/// The checked law, or `LawKind::none` with `out_of_domain`. Does not throw.
[[nodiscard]] Checked<Law> make(const Halving& parameters) noexcept;
[[nodiscard]] Checked<Law> make(const Thermosetting& parameters) noexcept;
[[nodiscard]] Checked<Law> make(const Arrhenius& parameters) noexcept;
[[nodiscard]] Checked<Law> make(const FactorTable& parameters) noexcept;
[[nodiscard]] Checked<Law> make(const Conductor& parameters) noexcept;

/// Shipped table for oil-immersed insulation, reference 20 degC, 0 to 75 degC. Source: `neta-mts-temperature`.
[[nodiscard]] Law oil_immersed();
/// Shipped table for solid insulation, reference 20 degC, -10 to 80 degC; from memory. Source:
/// `neta-mts-temperature-solid`.
[[nodiscard]] Law solid();
/// Copper, tau 234.5. Source: `conductor-law`.
[[nodiscard]] Law copper();

}  // namespace ohmward::temperature
