#include "ohmward/temperature/law.hpp"

#include <cmath>
#include <optional>
#include <span>
#include <string_view>

#include "ohmward/core/constants.hpp"
#include "ohmward/core/errors.hpp"
#include "ohmward/formula/temperature.hpp"
#include "ohmward_tables/temperature_factors_oil.hpp"
#include "ohmward_tables/temperature_factors_solid.hpp"

namespace ohmward::temperature {
namespace {

struct Fault {
  std::string_view field;
  double value;
  std::string_view expected;
};
using Check = std::optional<Fault>;

Check constant(std::string_view field, double value) {
  if (value > 0 && std::isfinite(value)) return {};
  return Fault{field, value, "a finite number above 0"};
}
Check uncertainty_of(std::string_view field, double value) {
  if (std::isnan(value) || (value >= 0 && std::isfinite(value))) return {};
  return Fault{field, value, "a finite number of at least 0, or NaN where it is not known"};
}
Check range(const FittedRange& fitted) {
  if (fitted.low_celsius < fitted.high_celsius) return {};
  return Fault{"fitted_high_celsius", fitted.high_celsius, "above fitted_low_celsius"};
}
Check first(Check a, Check b, Check c = {}) { return a ? a : b ? b : c; }

Check check(const Halving& p) {
  return first(constant("step_kelvin", p.step_kelvin),
               uncertainty_of("step_standard_uncertainty_kelvin", p.step_standard_uncertainty_kelvin), range(p.fitted));
}
Check check(const Thermosetting& p) {
  return uncertainty_of("relative_standard_uncertainty", p.relative_standard_uncertainty);
}
Check check(const Arrhenius& p) {
  return first(constant("activation_energy_electronvolt", p.activation_energy_electronvolt),
               uncertainty_of("activation_energy_standard_uncertainty_electronvolt",
                              p.activation_energy_standard_uncertainty_electronvolt),
               range(p.fitted));
}
Check check(const Conductor& p) {
  return first(constant("tau_kelvin", p.tau_kelvin),
               uncertainty_of("tau_standard_uncertainty_kelvin", p.tau_standard_uncertainty_kelvin), range(p.fitted));
}
Check check(const FactorTable& p) {
  if (p.points.size() < 2) return Fault{"points", static_cast<double>(p.points.size()), "at least 2 points"};
  double before = -celsius_zero_kelvin;
  for (const TablePoint& point : p.points) {
    if (!(point.celsius > before && std::isfinite(point.celsius)))
      return Fault{"celsius", point.celsius, "temperatures above absolute zero, each above the one before"};
    before = point.celsius;
    if (const Check fault = constant("factor", point.factor)) return fault;
  }
  return uncertainty_of("relative_standard_uncertainty", p.relative_standard_uncertainty);
}

Law with_constant(LawKind kind, double constant, double standard_uncertainty, const FittedRange& fitted) {
  return {.kind = kind,
          .constant = constant,
          .relative_standard_uncertainty = standard_uncertainty / constant,
          .fitted_low_celsius = fitted.low_celsius,
          .fitted_high_celsius = fitted.high_celsius};
}

Law unchecked(const Halving& p) {
  return with_constant(LawKind::halving, p.step_kelvin, p.step_standard_uncertainty_kelvin, p.fitted);
}
Law unchecked(const Thermosetting& p) {
  return {.kind = LawKind::thermosetting,
          .relative_standard_uncertainty = p.relative_standard_uncertainty,
          .fitted_low_celsius = formula::thermosetting_ieee_43.low_celsius,
          .fitted_high_celsius = formula::thermosetting_ieee_43.high_celsius};
}
Law unchecked(const Arrhenius& p) {
  return with_constant(LawKind::arrhenius, p.activation_energy_electronvolt,
                       p.activation_energy_standard_uncertainty_electronvolt, p.fitted);
}
Law unchecked(const Conductor& p) {
  return with_constant(LawKind::conductor, p.tau_kelvin, p.tau_standard_uncertainty_kelvin, p.fitted);
}
Law unchecked(const FactorTable& p) {
  return {.kind = LawKind::table,
          .relative_standard_uncertainty = p.relative_standard_uncertainty,
          .fitted_low_celsius = p.points.front().celsius,
          .fitted_high_celsius = p.points.back().celsius,
          .table = p.points};
}

template <class Parameters>
Law law_of(const Parameters& parameters) {
  if (const Check fault = check(parameters)) throw InvalidParameter(fault->field, fault->value, fault->expected);
  return unchecked(parameters);
}

template <class Parameters>
Checked<Law> make_of(const Parameters& parameters) noexcept {
  if (check(parameters)) return {Law{}, Status::out_of_domain};
  return {unchecked(parameters), Status::sound};
}

Law shipped(std::span<const double> celsius, std::span<const double> factor) {
  FactorTable table;
  for (std::size_t i = 0; i < celsius.size(); ++i) table.points.push_back({celsius[i], factor[i]});
  return law(table);
}

}  // namespace

Law law(const Halving& parameters) { return law_of(parameters); }
Law law(const Thermosetting& parameters) { return law_of(parameters); }
Law law(const Arrhenius& parameters) { return law_of(parameters); }
Law law(const FactorTable& parameters) { return law_of(parameters); }
Law law(const Conductor& parameters) { return law_of(parameters); }

Checked<Law> make(const Halving& parameters) noexcept { return make_of(parameters); }
Checked<Law> make(const Thermosetting& parameters) noexcept { return make_of(parameters); }
Checked<Law> make(const Arrhenius& parameters) noexcept { return make_of(parameters); }
Checked<Law> make(const FactorTable& parameters) noexcept { return make_of(parameters); }
Checked<Law> make(const Conductor& parameters) noexcept { return make_of(parameters); }

Law oil_immersed() {
  using namespace tables::temperature_factors_oil;
  return shipped(celsius, factor);
}

Law solid() {
  using namespace tables::temperature_factors_solid;
  return shipped(celsius, factor);
}

Law copper() { return law(Conductor{.tau_kelvin = formula::copper_tau_kelvin}); }

}  // namespace ohmward::temperature
