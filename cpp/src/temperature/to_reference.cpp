#include "ohmward/temperature/to_reference.hpp"

#include <cmath>

#include "ohmward/core/constants.hpp"
#include "ohmward/formula/temperature.hpp"
#include "ohmward/numerics/elementary.hpp"

namespace ohmward::temperature {
namespace {

using uncertainty::Part;
using uncertainty::Quantity;

bool possible(double celsius) noexcept { return std::isfinite(celsius) && celsius > -celsius_zero_kelvin; }
double given_or(double value, double otherwise) noexcept { return std::isnan(value) ? otherwise : value; }

/// The uncertainties that count, where stated and else by default.
struct Uncertainties {
  double kelvin;
  double relative_constant;
};

Uncertainties uncertainties(const Conditions& conditions) noexcept {
  return {given_or(conditions.standard_uncertainty_kelvin, conditions.defaults.standard_uncertainty_kelvin),
          relative_standard_uncertainty(conditions.law, conditions.defaults)};
}

template <class FormulaLaw>
Factor by_formula(const FormulaLaw& law, double part_celsius, double u_kelvin) noexcept {
  using formula::UncertainResistanceAt;
  const UncertainResistanceAt one{.resistance_ohm = 1,
                                  .celsius = part_celsius,
                                  .relative_standard_uncertainty = 0,
                                  .standard_uncertainty_kelvin = 0};
  const formula::CorrectedResistance factor = formula::to_reference(one, law);
  const double slope = formula::slope_per_kelvin(part_celsius, law).value;
  return {.value = factor.resistance_ohm,
          .u_temperature = std::abs(slope) * u_kelvin,
          .u_law = factor.relative_standard_uncertainty,
          .status = factor.status};
}

struct TableLogarithm {
  double value;
  double per_kelvin;
};

/// ln(factor) at a temperature; NaN outside the table. At a point that two segments share the upper one counts.
TableLogarithm from_table(double celsius, const std::vector<TablePoint>& table) noexcept {
  if (table.size() < 2 || !(celsius >= table.front().celsius && celsius <= table.back().celsius)) return {nan, nan};
  std::size_t upper = 1;
  while (upper + 1 < table.size() && table[upper].celsius <= celsius) ++upper;
  const TablePoint& a = table[upper - 1];
  const TablePoint& b = table[upper];
  const double per_kelvin = numerics::log(b.factor / a.factor) / (b.celsius - a.celsius);
  const double value =
      celsius == b.celsius ? numerics::log(b.factor) : numerics::log(a.factor) + per_kelvin * (celsius - a.celsius);
  return {value, per_kelvin};
}

Factor by_table(const Conditions& conditions, const Uncertainties& u) noexcept {
  const TableLogarithm part = from_table(conditions.part_celsius, conditions.law.table);
  const TableLogarithm reference = from_table(conditions.reference_celsius, conditions.law.table);
  const double logarithm = part.value - reference.value;
  if (std::isnan(logarithm)) return {.status = Status::outside_table};
  return {.value = numerics::exp(logarithm),
          .u_temperature = std::abs(part.per_kelvin) * u.kelvin,
          .u_law = std::abs(logarithm) * u.relative_constant,
          .status = Status::sound};
}

Factor by_kind(const Conditions& conditions, const Uncertainties& u) noexcept {
  const Law& law = conditions.law;
  switch (law.kind) {
    case LawKind::halving:
      return by_formula(formula::Halving{.step_kelvin = law.constant,
                                         .reference_celsius = conditions.reference_celsius,
                                         .low_celsius = law.fitted_low_celsius,
                                         .high_celsius = law.fitted_high_celsius,
                                         .step_standard_uncertainty_kelvin = u.relative_constant * law.constant},
                        conditions.part_celsius, u.kelvin);
    case LawKind::thermosetting: {
      formula::Thermosetting of = formula::thermosetting_ieee_43;
      of.reference_celsius = conditions.reference_celsius;
      of.coefficient_relative_standard_uncertainty = u.relative_constant;
      return by_formula(of, conditions.part_celsius, u.kelvin);
    }
    case LawKind::arrhenius:
      return by_formula(
          formula::Arrhenius{.activation_energy_electronvolt = law.constant,
                             .reference_celsius = conditions.reference_celsius,
                             .low_celsius = law.fitted_low_celsius,
                             .high_celsius = law.fitted_high_celsius,
                             .activation_energy_standard_uncertainty_electronvolt = u.relative_constant * law.constant},
          conditions.part_celsius, u.kelvin);
    case LawKind::conductor:
      return by_formula(formula::Conductor{.tau_kelvin = law.constant,
                                           .reference_celsius = conditions.reference_celsius,
                                           .low_celsius = law.fitted_low_celsius,
                                           .high_celsius = law.fitted_high_celsius,
                                           .tau_standard_uncertainty_kelvin = u.relative_constant * law.constant},
                        conditions.part_celsius, u.kelvin);
    case LawKind::table: return by_table(conditions, u);
    case LawKind::none: break;
  }
  return {.status = Status::no_law};
}

Quantity without_value(Quantity quantity, Status reason) noexcept {
  quantity.value = nan;
  quantity.status = reason;
  return quantity;
}

}  // namespace

double relative_standard_uncertainty(const Law& law, const Defaults& defaults) noexcept {
  const double assumed = law.kind == LawKind::conductor ? defaults.tau_standard_uncertainty_kelvin / law.constant
                                                        : defaults.relative_standard_uncertainty;
  return given_or(law.relative_standard_uncertainty, assumed);
}

Factor factor_to_reference(const Conditions& conditions) noexcept {
  const Law& law = conditions.law;
  if (law.kind == LawKind::none) return {.status = Status::no_law};
  if (std::isnan(conditions.part_celsius) || std::isnan(conditions.reference_celsius))
    return {.status = Status::missing_input};
  const Uncertainties u = uncertainties(conditions);
  if (!possible(conditions.part_celsius) || !possible(conditions.reference_celsius) || !(u.kelvin >= 0) ||
      !std::isfinite(u.kelvin))
    return {.status = Status::out_of_domain};
  Factor factor = by_kind(conditions, u);
  const bool reference_is_fitted =
      conditions.reference_celsius >= law.fitted_low_celsius && conditions.reference_celsius <= law.fitted_high_celsius;
  if (!reference_is_fitted) factor.status = worse(factor.status, Status::outside_fitted_range);
  return has_value(factor.status) ? factor : Factor{.status = factor.status};
}

Quantity to_reference(const Quantity& quantity, const Conditions& conditions) noexcept {
  if (quantity.censoring == Censoring::overload) return quantity;
  if (!has_value(quantity.status)) return without_value(quantity, quantity.status);
  if (std::isnan(quantity.value)) return without_value(quantity, Status::missing_input);
  const Factor factor = factor_to_reference(conditions);
  if (!has_value(factor.status)) return without_value(quantity, factor.status);

  Quantity corrected = quantity;
  corrected.value = quantity.value * factor.value;
  corrected.status = worse(quantity.status, factor.status);
  if (!std::isfinite(corrected.value)) return without_value(quantity, Status::out_of_domain);
  const bool linear = quantity.scale == Scale::linear;
  if (linear)
    for (const uncertainty::PartFacts& facts : uncertainty::part_facts)
      corrected.parts.set(facts.part, quantity.parts[facts.part] * factor.value);
  const double to_scale = linear ? std::abs(corrected.value) : 1.0;
  corrected.parts.add(Part::temperature, factor.u_temperature * to_scale);
  corrected.parts.add(Part::law, factor.u_law * to_scale);
  return corrected;
}

}  // namespace ohmward::temperature
