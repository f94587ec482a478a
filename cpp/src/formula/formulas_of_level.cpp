// Compiled once for each instruction level: every formula as a loop over many values.

#include "formula/level_tables.hpp"
#include "numerics/level_loops.hpp"
#include "ohmward/formula/highvoltage.hpp"
#include "ohmward/formula/insulation.hpp"
#include "ohmward/formula/temperature.hpp"

namespace ohmward::formula {
inline namespace OHMWARD_LEVEL {
namespace {

namespace loops = numerics::loops;

struct Nothing {};

/// A formula: type and public name; how many arguments vary, how many are shared by the whole loop, their names; what
/// is made of the shared ones `p`; the varying ones; the outcome; one line of explanation.
#define OHMWARD_FORMULA(Type, public_name, input_count, parameter_count, argument_names, Shared, prepared, varying, \
                        result, text) \
  struct Type { \
    static constexpr const char* name = #public_name; \
    static constexpr const char* arguments = argument_names; \
    static constexpr const char* formula = text; \
    static constexpr std::size_t inputs = input_count, parameters = parameter_count; \
    static constexpr Shared prepare([[maybe_unused]] const double* p) noexcept { return prepared; } \
    static constexpr Outcome at([[maybe_unused]] const Shared& shared, OHMWARD_UNPACK varying) noexcept { \
      return result; \
    } \
  };
#define OHMWARD_UNPACK(...) __VA_ARGS__

constexpr Halving halving(const double* p) noexcept {
  return {.step_kelvin = p[0],
          .reference_celsius = p[1],
          .low_celsius = p[2],
          .high_celsius = p[3],
          .step_standard_uncertainty_kelvin = 0};
}
constexpr Thermosetting thermosetting(const double* p) noexcept {
  return {.coefficient_below_kelvin = p[0],
          .coefficient_above_kelvin = p[1],
          .knot_celsius = p[2],
          .zero_kelvin = p[3],
          .reference_celsius = p[4],
          .low_celsius = p[5],
          .high_celsius = p[6],
          .coefficient_relative_standard_uncertainty = 0};
}
constexpr Arrhenius arrhenius(const double* p) noexcept {
  return {.activation_energy_electronvolt = p[0],
          .reference_celsius = p[1],
          .low_celsius = p[2],
          .high_celsius = p[3],
          .activation_energy_standard_uncertainty_electronvolt = 0};
}
constexpr Conductor conductor(const double* p) noexcept {
  return {.tau_kelvin = p[0],
          .reference_celsius = p[1],
          .low_celsius = p[2],
          .high_celsius = p[3],
          .tau_standard_uncertainty_kelvin = 0};
}

#define OHMWARD_HALVING "step_kelvin, reference_celsius, low_celsius, high_celsius"
#define OHMWARD_THERMOSETTING \
  "coefficient_below_kelvin, coefficient_above_kelvin, knot_celsius, zero_kelvin, reference_celsius, low_celsius, " \
  "high_celsius"
#define OHMWARD_ARRHENIUS "activation_energy_electronvolt, reference_celsius, low_celsius, high_celsius"
#define OHMWARD_CONDUCTOR "tau_kelvin, reference_celsius, low_celsius, high_celsius"

OHMWARD_FORMULA(HalvingToReference, halving_to_reference, 2, 4, "resistance_ohm, celsius, " OHMWARD_HALVING,
                detail::PreparedHalving, detail::prepared(halving(p)), (double r, double t),
                outcome::to_reference(ResistanceAt{r, t}, shared),
                "R 2^((T - T_ref) / step) [ohm]; equations (T0), (T2).")
OHMWARD_FORMULA(
    ThermosettingToReference, thermosetting_to_reference, 2, 7, "resistance_ohm, celsius, " OHMWARD_THERMOSETTING,
    detail::PreparedThermosetting, detail::prepared(thermosetting(p)), (double r, double t),
    outcome::to_reference(ResistanceAt{r, t}, shared),
    "R exp(B (T - T_knot) / ((T + zero) (T_knot + zero))) with B below or above the knot [ohm]; (T0), (T3).")
OHMWARD_FORMULA(ArrheniusToReference, arrhenius_to_reference, 2, 4, "resistance_ohm, celsius, " OHMWARD_ARRHENIUS,
                detail::PreparedReciprocal, detail::prepared(arrhenius(p)), (double r, double t),
                outcome::to_reference(ResistanceAt{r, t}, shared),
                "R exp(Ea/k (T - T_ref) / (T T_ref)) [ohm]; equations (T0), (T4).")
OHMWARD_FORMULA(ConductorToReference, conductor_to_reference, 2, 4, "resistance_ohm, celsius, " OHMWARD_CONDUCTOR,
                detail::PreparedConductor, detail::prepared(conductor(p)), (double r, double t),
                outcome::to_reference(ResistanceAt{r, t}, shared),
                "R (tau + T_ref) / (tau + T) [ohm]; equations (T0), (T5).")
OHMWARD_FORMULA(HalvingSlope, halving_slope_per_kelvin, 1, 4, "celsius, " OHMWARD_HALVING, detail::PreparedHalving,
                detail::prepared(halving(p)), (double t), outcome::slope_per_kelvin(t, shared),
                "d ln R / dT of the halving law [1/K].")
OHMWARD_FORMULA(ThermosettingSlope, thermosetting_slope_per_kelvin, 1, 7, "celsius, " OHMWARD_THERMOSETTING,
                detail::PreparedThermosetting, detail::prepared(thermosetting(p)), (double t),
                outcome::slope_per_kelvin(t, shared), "d ln R / dT of the thermosetting law [1/K].")
OHMWARD_FORMULA(ArrheniusSlope, arrhenius_slope_per_kelvin, 1, 4, "celsius, " OHMWARD_ARRHENIUS,
                detail::PreparedReciprocal, detail::prepared(arrhenius(p)), (double t),
                outcome::slope_per_kelvin(t, shared), "d ln R / dT of thermally activated conduction [1/K].")
OHMWARD_FORMULA(ConductorSlope, conductor_slope_per_kelvin, 1, 4, "celsius, " OHMWARD_CONDUCTOR,
                detail::PreparedConductor, detail::prepared(conductor(p)), (double t),
                outcome::slope_per_kelvin(t, shared), "d ln R / dT of a conductor [1/K].")
OHMWARD_FORMULA(DewPoint, dew_point_celsius, 2, 4,
                "celsius, relative_humidity, factor, offset_kelvin, low_celsius, high_celsius", Magnus,
                (Magnus{.factor = p[0], .offset_kelvin = p[1], .low_celsius = p[2], .high_celsius = p[3]}),
                (double t, double rh), outcome::dew_point(Air{t, rh}, shared), "Dew point [degC]; equation (T6).")

OHMWARD_FORMULA(ResistanceRatio, resistance_ratio, 2, 0, "late_ohm, early_ohm", Nothing, {},
                (double late, double early), outcome::resistance_ratio(RatioReadings{late, early}), "R(t2)/R(t1) [1].")
OHMWARD_FORMULA(AbsorptionResistance, absorption_resistance_ohm, 3, 0, "second, capacitance_farad, loss_factor",
                Nothing, {}, (double t, double c, double loss), outcome::absorption_resistance(t, c, loss),
                "10 t / (2 pi C tan delta) [ohm]; equation (I1).")
OHMWARD_FORMULA(AttainableRatio, attainable_ratio, 2, 4,
                "early_ohm, capacitance_farad, early_second, late_second, loss_factor, absorption_exponent", Attainable,
                (Attainable{0, 0, p[0], p[1], p[2], p[3]}), (double r, double c),
                outcome::attainable_ratio(Attainable{r, c, shared.early_second, shared.late_second, shared.loss_factor,
                                                     shared.absorption_exponent}),
                "1 / (1 - x (1 - (t1/t2)^n)), x = R(t1)/R_a(t1) [1]; equation (I2).")
OHMWARD_FORMULA(TimeConstant, time_constant_second, 2, 0, "resistance_ohm, capacitance_farad", Nothing, {},
                (double r, double c), outcome::time_constant(r, c), "R C [s].")
OHMWARD_FORMULA(LossOfCharge, resistance_by_loss_of_charge_ohm, 4, 0,
                "initial_volt, final_volt, elapsed_second, capacitance_farad", Nothing, {},
                (double v1, double v2, double t, double c),
                outcome::resistance_by_loss_of_charge(ChargeLoss{v1, v2, t, c}), "t / (C ln(V1/V2)) [ohm].")
OHMWARD_FORMULA(CapacitanceFromCharge, capacitance_from_charge_farad, 2, 0, "charge_coulomb, voltage_volt", Nothing, {},
                (double q, double v), outcome::capacitance_from_charge(q, v), "Q/U [F].")
OHMWARD_FORMULA(DielectricDischarge, dielectric_discharge, 3, 0, "current_ampere, test_voltage_volt, capacitance_farad",
                Nothing, {}, (double i, double v, double c), outcome::dielectric_discharge(DischargeReading{i, v, c}),
                "1000 I / (U C) [mA/(V F)].")

OHMWARD_FORMULA(ParallelResistance, parallel_resistance_ohm, 2, 0, "first_ohm, second_ohm", Nothing, {},
                (double a, double b), outcome::parallel_resistance(a, b), "1 / (1/a + 1/b) [ohm].")
OHMWARD_FORMULA(UnloadedResistance, unloaded_resistance_ohm, 2, 0, "reading_ohm, meter_ohm", Nothing, {},
                (double x, double r), outcome::without_parallel(x, r), "1 / (1/reading - 1/meter) [ohm].")
OHMWARD_FORMULA(LeakOfRemovedPart, leak_of_removed_part_ohm, 2, 0, "before_ohm, after_ohm", Nothing, {},
                (double before, double after), outcome::without_parallel(before, after),
                "1 / (1/before - 1/after) [ohm].")
OHMWARD_FORMULA(DischargeTime, discharge_time_second, 4, 0,
                "resistance_ohm, capacitance_farad, initial_volt, final_volt", Nothing, {},
                (double r, double c, double u0, double u), outcome::discharge_time(Discharge{r, c, u0, u}),
                "R C ln(U0/U) [s].")
OHMWARD_FORMULA(CapacitorEnergy, capacitor_energy_joule, 2, 0, "capacitance_farad, voltage_volt", Nothing, {},
                (double c, double v), outcome::energy_above(c, v, 0), "C U^2 / 2 [J].")
OHMWARD_FORMULA(CapacitorEnergyAbove, capacitor_energy_above_joule, 2, 1,
                "capacitance_farad, voltage_volt, threshold_volt", double, p[0], (double c, double v),
                outcome::energy_above(c, v, shared), "C (U^2 - U_t^2) / 2, not below 0 [J].")
#define OHMWARD_ISOLATION "pack_volt, negative_volt, positive_volt, loaded_volt, resistor_ohm"
OHMWARD_FORMULA(IsolationByPackVoltage, isolation_by_pack_voltage_ohm, 5, 0, OHMWARD_ISOLATION, Nothing, {},
                (double b, double n, double q, double loaded, double r),
                outcome::isolation_by_pack_voltage(IsolationReadings{b, n, q, loaded, r}),
                "R_o V_b (1/V' - 1/V) [ohm]; equation (H1).")
OHMWARD_FORMULA(IsolationByPoleVoltages, isolation_by_pole_voltages_ohm, 5, 0, OHMWARD_ISOLATION, Nothing, {},
                (double b, double n, double q, double loaded, double r),
                outcome::isolation_by_pole_voltages(IsolationReadings{b, n, q, loaded, r}),
                "R_o (1 + V_small/V) (V - V') / V' [ohm]; equation (H2).")

template <class... F>
constexpr numerics::Elementwise table[] = {loops::formula<F>...};

constexpr auto& formulas =
    table<HalvingToReference, ThermosettingToReference, ArrheniusToReference, ConductorToReference, HalvingSlope,
          ThermosettingSlope, ArrheniusSlope, ConductorSlope, DewPoint, ResistanceRatio, AbsorptionResistance,
          AttainableRatio, TimeConstant, LossOfCharge, CapacitanceFromCharge, DielectricDischarge, ParallelResistance,
          UnloadedResistance, LeakOfRemovedPart, DischargeTime, CapacitorEnergy, CapacitorEnergyAbove,
          IsolationByPackVoltage, IsolationByPoleVoltages>;

/// Value, relative standard uncertainty and status in one pass. The status stays a double for a block and is
/// narrowed afterwards: one loop with a byte store does not vectorise.
template <class Law>
void corrected(std::size_t size, const double* const* inputs, const Law& given, double* value, double* uncertainty,
               std::int8_t* status) noexcept {
  const auto prepared = detail::prepared(given);
  double codes[loops::block];
  for (std::size_t first = 0; first < size; first += loops::block) {
    const auto law = prepared;
    const std::size_t count = size - first < loops::block ? size - first : loops::block;
    const double *r = inputs[0] + first, *t = inputs[1] + first, *ur = inputs[2] + first, *ut = inputs[3] + first;
    double *v = value + first, *u = uncertainty + first;
    OHMWARD_INDEPENDENT_ELEMENTS
    for (std::size_t i = 0; i < count; ++i) {
      const outcome::Fused out = outcome::to_reference(UncertainResistanceAt{r[i], t[i], ur[i], ut[i]}, law);
      v[i] = out.value;
      u[i] = out.relative_standard_uncertainty;
      codes[i] = out.code;
    }
    std::int8_t* const to = status + first;
    for (std::size_t i = 0; i < count; ++i) to[i] = static_cast<std::int8_t>(static_cast<std::int32_t>(codes[i]));
  }
}

constexpr Corrections corrections{corrected<Halving>, corrected<Thermosetting>, corrected<Arrhenius>,
                                  corrected<Conductor>};

}  // namespace
}  // namespace OHMWARD_LEVEL

numerics::LevelTable OHMWARD_OF_LEVEL(formulas_)() noexcept { return {formulas, sizeof formulas / sizeof formulas[0]}; }
const Corrections& OHMWARD_OF_LEVEL(corrections_)() noexcept { return corrections; }

}  // namespace ohmward::formula
