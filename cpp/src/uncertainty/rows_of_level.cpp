// Compiled once for each instruction level: first-order uncertainty of every formula as a loop over many rows.

#include "numerics/level_loops.hpp"
#include "ohmward/formula/slopes.hpp"
#include "uncertainty/row_loops.hpp"

namespace ohmward::uncertainty {
inline namespace OHMWARD_LEVEL {
namespace {

namespace sloped = formula::sloped;
using formula::detail::all;
using formula::detail::missing;
using formula::detail::number;
using numerics::detail::absolute;

struct Nothing {};

/// A formula: type and public name; names of inputs and constants and how many; of the inputs the last `one` are the
/// same for all rows; whether readings may share a gain; what is made of shared inputs `x` and constants `p`; the
/// varying arguments; the result with its slopes.
#define OHMWARD_ROWS(Type, public_name, input_names, constant_names, input_count, one, count_constants, gain, Shared, \
                     prepared, varying, result) \
  struct Type { \
    static constexpr const char *name = #public_name, *input_text = input_names, *constant_text = constant_names; \
    static constexpr std::size_t inputs = input_count, one_for_all = one, constants = count_constants; \
    static constexpr bool has_common_gain = gain; \
    static constexpr Shared prepare([[maybe_unused]] const double* x, [[maybe_unused]] const double* p) noexcept { \
      return prepared; \
    } \
    static constexpr auto at([[maybe_unused]] const Shared& shared, OHMWARD_UNPACK varying) noexcept { \
      return result; \
    } \
  };
#define OHMWARD_UNPACK(...) __VA_ARGS__

#define OHMWARD_RANGE "reference_celsius, low_celsius, high_celsius"

constexpr formula::Halving halving(double step, const double* p) noexcept {
  return {.step_kelvin = step,
          .reference_celsius = p[0],
          .low_celsius = p[1],
          .high_celsius = p[2],
          .step_standard_uncertainty_kelvin = 1};
}
constexpr formula::Thermosetting thermosetting(double factor, const double* p) noexcept {
  return {.coefficient_below_kelvin = factor * p[0],
          .coefficient_above_kelvin = factor * p[1],
          .knot_celsius = p[2],
          .zero_kelvin = p[3],
          .reference_celsius = p[4],
          .low_celsius = p[5],
          .high_celsius = p[6],
          .coefficient_relative_standard_uncertainty = 1 / factor};
}
constexpr formula::Arrhenius arrhenius(double energy, const double* p) noexcept {
  return {.activation_energy_electronvolt = energy,
          .reference_celsius = p[0],
          .low_celsius = p[1],
          .high_celsius = p[2],
          .activation_energy_standard_uncertainty_electronvolt = 1};
}
constexpr formula::Conductor conductor(double tau, const double* p) noexcept {
  return {.tau_kelvin = tau,
          .reference_celsius = p[0],
          .low_celsius = p[1],
          .high_celsius = p[2],
          .tau_standard_uncertainty_kelvin = 1};
}

OHMWARD_ROWS(HalvingToReference, halving_to_reference, "resistance_ohm, celsius, step_kelvin", OHMWARD_RANGE, 3, 1, 3,
             true, formula::detail::PreparedHalving, formula::detail::prepared(halving(x[0], p)), (double r, double t),
             sloped::to_reference({r, t}, shared))
OHMWARD_ROWS(ThermosettingToReference, thermosetting_to_reference, "resistance_ohm, celsius, coefficient_factor",
             "coefficient_below_kelvin, coefficient_above_kelvin, knot_celsius, zero_kelvin, " OHMWARD_RANGE, 3, 1, 7,
             true, formula::detail::PreparedThermosetting, formula::detail::prepared(thermosetting(x[0], p)),
             (double r, double t), sloped::to_reference({r, t}, shared))
OHMWARD_ROWS(ArrheniusToReference, arrhenius_to_reference, "resistance_ohm, celsius, activation_energy_electronvolt",
             OHMWARD_RANGE, 3, 1, 3, true, formula::detail::PreparedReciprocal,
             formula::detail::prepared(arrhenius(x[0], p)), (double r, double t), sloped::to_reference({r, t}, shared))
OHMWARD_ROWS(ConductorToReference, conductor_to_reference, "resistance_ohm, celsius, tau_kelvin", OHMWARD_RANGE, 3, 1,
             3, true, formula::detail::PreparedConductor, formula::detail::prepared(conductor(x[0], p)),
             (double r, double t), sloped::to_reference({r, t}, shared))

OHMWARD_ROWS(ResistanceRatio, resistance_ratio, "late_ohm, early_ohm", "", 2, 0, 0, true, Nothing, {},
             (double late, double early), sloped::resistance_ratio({late, early}))
OHMWARD_ROWS(CapacitanceFromCharge, capacitance_from_charge_farad, "charge_coulomb, voltage_volt", "", 2, 0, 0, false,
             Nothing, {}, (double q, double u), sloped::capacitance_from_charge(q, u))
OHMWARD_ROWS(LossOfCharge, resistance_by_loss_of_charge_ohm,
             "initial_volt, final_volt, elapsed_second, capacitance_farad", "", 4, 0, 0, true, Nothing, {},
             (double v1, double v2, double t, double c), sloped::resistance_by_loss_of_charge({v1, v2, t, c}))
OHMWARD_ROWS(DielectricDischarge, dielectric_discharge, "current_ampere, test_voltage_volt, capacitance_farad", "", 3,
             0, 0, false, Nothing, {}, (double i, double u, double c), sloped::dielectric_discharge({i, u, c}))

OHMWARD_ROWS(ParallelResistance, parallel_resistance_ohm, "first_ohm, second_ohm", "", 2, 0, 0, true, Nothing, {},
             (double a, double b), sloped::parallel_resistance(a, b))
OHMWARD_ROWS(UnloadedResistance, unloaded_resistance_ohm, "reading_ohm, meter_ohm", "", 2, 0, 0, true, Nothing, {},
             (double r, double m), sloped::unloaded_resistance(r, m))
OHMWARD_ROWS(LeakOfRemovedPart, leak_of_removed_part_ohm, "before_ohm, after_ohm", "", 2, 0, 0, true, Nothing, {},
             (double before, double after), sloped::leak_of_removed_part({before, after}))
OHMWARD_ROWS(DischargeTime, discharge_time_second, "resistance_ohm, capacitance_farad, initial_volt, final_volt", "", 4,
             0, 0, true, Nothing, {}, (double r, double c, double u0, double u), sloped::discharge_time({r, c, u0, u}))
OHMWARD_ROWS(CapacitorEnergy, capacitor_energy_joule, "capacitance_farad, voltage_volt", "", 2, 0, 0, false, Nothing,
             {}, (double c, double u), sloped::capacitor_energy(c, u))
#define OHMWARD_ISOLATION "pack_volt, negative_volt, positive_volt, loaded_volt, resistor_ohm"
OHMWARD_ROWS(IsolationByPackVoltage, isolation_by_pack_voltage_ohm, OHMWARD_ISOLATION, "", 5, 0, 0, true, Nothing, {},
             (double b, double n, double q, double loaded, double r),
             sloped::isolation_by_pack_voltage({b, n, q, loaded, r}))
OHMWARD_ROWS(IsolationByPoleVoltages, isolation_by_pole_voltages_ohm, OHMWARD_ISOLATION, "", 5, 0, 0, true, Nothing, {},
             (double b, double n, double q, double loaded, double r),
             sloped::isolation_by_pole_voltages({b, n, q, loaded, r}))
OHMWARD_ROWS(AboveNull, above_null_ohm, "displayed_ohm, null_ohm", "", 2, 0, 0, true, Nothing, {},
             (double displayed, double null), sloped::above_null(displayed, null))

constexpr double square(double x) noexcept { return x * x; }

/// Without meaning where one of them is NaN.
constexpr double least(double x) noexcept { return x; }
template <class... Double>
constexpr double least(double first, double second, Double... others) noexcept {
  return least(first < second ? first : second, others...);
}

/// Beyond this a variance is none; a sum of squares with a NaN or an infinity is not below it either.
constexpr double greatest_variance = 1e300;

/// Status number of a row: `of_formula`, unless an uncertainty is not there or senseless.
constexpr double code_of(double of_formula, bool unknown, bool possible) noexcept {
  const double of_value = possible ? of_formula : number(Status::out_of_domain);
  return unknown ? number(Status::missing_input) : (of_formula < 0 ? of_formula : of_value);
}

template <class F>
using Varying = numerics::loops::IndicesUpTo<F::inputs - F::one_for_all>;
template <class F>
using AllInputs = numerics::loops::IndicesUpTo<F::inputs>;

/// What all rows of a block share.
template <class F>
constexpr auto shared_by(const RowBlock& block) noexcept {
  double x[most_inputs] = {};
  for (std::size_t k = 0; k < F::one_for_all; ++k) x[k] = block.value[F::inputs - F::one_for_all + k][0];
  return F::prepare(x, block.constants);
}

/// Value, u and status number of every row; `squares` takes the parts of u^2, the common gain last.
template <class F, bool keep_squares, std::size_t... k, std::size_t... n>
inline void propagate(std::size_t size, const RowBlock& block, double* codes, double* const* squares,
                      numerics::loops::Indices<k...>, numerics::loops::Indices<n...>) noexcept {
  constexpr std::size_t gain = F::inputs;
  const auto shared = shared_by<F>(block);
  const double* const x[] = {block.value[k]...};
  const double* const u[] = {block.standard_uncertainty[n]..., block.standard_uncertainty[gain]};
  double* const square_to[] = {squares[n]..., squares[gain]};
  double *const value = block.out_value, *const uncertainty = block.out_standard_uncertainty;
  OHMWARD_INDEPENDENT_ELEMENTS
  for (std::size_t i = 0; i < size; ++i) {
    const auto row = F::at(shared, x[k][i]...);
    const double squared[] = {square(row.by[n] * u[n][i])..., square(row.by_gain * u[gain][i])};
    const double variance = (squared[n] + ...) + squared[gain];
    const bool unknown = missing((absolute(u[n][i]) + ...) + absolute(u[gain][i]));
    const bool possible = all(least(u[n][i]..., u[gain][i]) >= 0, variance <= greatest_variance);
    const double code = code_of(row.of.code, unknown, possible);
    const bool ok = code >= 0;
    value[i] = ok ? row.of.value : nan;
    uncertainty[i] = ok ? numerics::sqrt(variance) : nan;
    codes[i] = code;
    if constexpr (keep_squares) ((square_to[n][i] = squared[n]), ..., (square_to[gain][i] = squared[gain]));
  }
}

/// Turns the parts of u^2 into shares s of it, and these into degrees of freedom: 1/nu = sum of s^2/nu_i.
template <std::size_t... n>
inline void share_out(std::size_t size, const RowBlock& block, double* codes, numerics::loops::Indices<n...>) noexcept {
  constexpr std::size_t gain = sizeof...(n);
  const double* const dof[] = {block.degrees_of_freedom[n]..., block.degrees_of_freedom[gain]};
  double* const share[] = {block.out_share[n]..., block.out_share[gain]};
  double *const effective = block.out_degrees_of_freedom, *const value = block.out_value;
  double* const uncertainty = block.out_standard_uncertainty;
  OHMWARD_INDEPENDENT_ELEMENTS
  for (std::size_t i = 0; i < size; ++i) {
    const bool unknown = missing((absolute(dof[n][i]) + ...) + absolute(dof[gain][i]));
    const bool possible = least(dof[n][i]..., dof[gain][i]) >= 1;
    const double code = code_of(codes[i], unknown, possible);
    const bool ok = code >= 0;
    const double variance = (share[n][i] + ...) + share[gain][i];
    const double part[] = {share[n][i] / variance..., share[gain][i] / variance};
    const double reciprocal = ((square(part[n]) / dof[n][i]) + ...) + square(part[gain]) / dof[gain][i];
    const bool has_shares = (ok ? variance : nan) > 0;  // not ok && ...: a selection of numbers vectorises
    effective[i] = has_shares ? 1 / reciprocal : nan;
    ((share[n][i] = has_shares ? part[n] : nan), ..., (share[gain][i] = has_shares ? part[gain] : nan));
    value[i] = ok ? value[i] : nan;
    uncertainty[i] = ok ? uncertainty[i] : nan;
    codes[i] = code;
  }
}

inline void narrow(std::size_t size, const double* codes, std::int8_t* to) noexcept {
  for (std::size_t i = 0; i < size; ++i) to[i] = static_cast<std::int8_t>(static_cast<std::int32_t>(codes[i]));
}

template <class F>
void value_and_uncertainty(std::size_t size, const RowBlock& block) noexcept {
  double codes[rows_a_block];
  propagate<F, false>(size, block, codes, block.out_share, Varying<F>{}, AllInputs<F>{});
  narrow(size, codes, block.out_status);
}

template <class F>
void everything(std::size_t size, const RowBlock& block) noexcept {
  double codes[rows_a_block];
  propagate<F, true>(size, block, codes, block.out_share, Varying<F>{}, AllInputs<F>{});
  share_out(size, block, codes, AllInputs<F>{});
  narrow(size, codes, block.out_status);
}

template <class F>
constexpr RowLoops loops{&value_and_uncertainty<F>, &everything<F>};

template <class... F>
constexpr RowFormula table[] = {{F::name, F::input_text, F::constant_text, F::inputs, F::one_for_all, F::constants,
                                 F::has_common_gain, &loops<F>}...};

constexpr auto& formulas =
    table<HalvingToReference, ThermosettingToReference, ArrheniusToReference, ConductorToReference, ResistanceRatio,
          CapacitanceFromCharge, LossOfCharge, DielectricDischarge, ParallelResistance, UnloadedResistance,
          LeakOfRemovedPart, DischargeTime, CapacitorEnergy, IsolationByPackVoltage, IsolationByPoleVoltages,
          AboveNull>;

}  // namespace
}  // namespace OHMWARD_LEVEL

RowTable OHMWARD_OF_LEVEL(row_table_)() noexcept { return {formulas, sizeof formulas / sizeof formulas[0]}; }

}  // namespace ohmward::uncertainty
