#pragma once

/// @file
/// How a resistance changes with temperature, and the dew point of air.
///
/// Every law gives the base-2 logarithm x(T) of R(reference)/R(T), so that
///
///     R_ref = R * 2^x(T),     d ln R / dT = -ln 2 * dx/dT                                                       (T0)
///
/// and, to first order with independent R, T and law constant,
///
///     u(R_ref)^2 / R_ref^2 = u_rel(R)^2 + (d ln R / dT * u(T))^2 + (d ln R_ref / dc * u(c))^2.                  (T1)
///
/// Status of a corrected resistance:
///   sound (0); outside_fitted_range (1): T outside the law's range, value given;
///   missing_input (-1): NaN among the inputs; out_of_domain (-2): R negative, T at or below absolute zero or infinite,
///   a negative or senseless uncertainty, senseless law constants, R or a factor beyond 2^500; unknown_bound (-6): R is
///   +inf, an over-range display without a known ceiling.
/// R = 0 stays 0, and a result below the smallest normal number becomes 0. Where the status is negative value and
/// uncertainty are NaN.
///
/// Accuracy: relative error of the factor 2^x below (2 + 3|x|) * 2^-53 for the halving law, (2 + 6|x|) * 2^-53 for
/// the laws in 1/T, 3 * 2^-53 for the conductor law (tests FormulaTemperature.*Accuracy).

#include "ohmward/core/constants.hpp"
#include "ohmward/formula/outcome.hpp"

namespace ohmward::formula {

/// A resistance and the temperature that it was measured at.
struct ResistanceAt {
  double resistance_ohm;  ///< [ohm], >= 0
  double celsius;         ///< [degC], above absolute zero
};

/// The same with standard uncertainties.
struct UncertainResistanceAt {
  double resistance_ohm;                 ///< [ohm], >= 0
  double celsius;                        ///< [degC], above absolute zero
  double relative_standard_uncertainty;  ///< u(R)/R [1], >= 0
  double standard_uncertainty_kelvin;    ///< u(T) [K], >= 0
};

/// A corrected resistance; NaN in both numbers where the status is negative.
struct CorrectedResistance {
  double resistance_ohm;
  double relative_standard_uncertainty;
  Status status;
};

/// Resistance that halves for every step of warming.
///
///     x = (T - T_ref) / step                                                                                    (T2)
///
/// Source: `halving-law`. A step of 10 K is usual.
struct Halving {
  double step_kelvin;              ///< warming that halves the resistance [K], > 0
  double reference_celsius;        ///< [degC]
  double low_celsius = -infinity;  ///< ends of the range that the law was fitted in [degC]
  double high_celsius = infinity;
  double step_standard_uncertainty_kelvin = 0;  ///< u(step) [K]
};

/// Thermosetting insulation: one exponential in 1/T above a knot, another below it, equal at the knot.
///
///     ln(R_knot / R) = B * (T - T_knot) / ((T + zero) (T_knot + zero)),  B = above or below                     (T3)
///
/// Source: `ieee-43-2013-thermosetting` for the shape.
struct Thermosetting {
  double coefficient_below_kelvin;           ///< B at and below the knot [K], > 0
  double coefficient_above_kelvin;           ///< B above the knot [K], > 0
  double knot_celsius;                       ///< [degC]
  double zero_kelvin = celsius_zero_kelvin;  ///< what the law adds to make an absolute temperature [K]
  double reference_celsius;                  ///< [degC]
  double low_celsius = -infinity;            ///< fitted range [degC]
  double high_celsius = infinity;
  double coefficient_relative_standard_uncertainty = 0;  ///< u(B)/B, common to both [1]
};

/// The constants of IEEE Std 43-2013 for correction to 40 degC. Source: `ieee-43-2013-thermosetting` (from memory).
inline constexpr Thermosetting thermosetting_ieee_43{.coefficient_below_kelvin = 1245,
                                                     .coefficient_above_kelvin = 4230,
                                                     .knot_celsius = 40,
                                                     .zero_kelvin = 273,
                                                     .reference_celsius = 40,
                                                     .low_celsius = 10,
                                                     .high_celsius = 85};

/// Thermally activated conduction.
///
///     ln(R_ref / R) = Ea/k * (T - T_ref) / (T T_ref), T in kelvin                                               (T4)
///
/// Source: `arrhenius-law`.
struct Arrhenius {
  double activation_energy_electronvolt;  ///< Ea [eV], > 0
  double reference_celsius;               ///< [degC]
  double low_celsius = -infinity;         ///< fitted range [degC]
  double high_celsius = infinity;
  double activation_energy_standard_uncertainty_electronvolt = 0;  ///< u(Ea) [eV]
};

/// Conductor whose resistance grows in a straight line.
///
///     R_ref / R = (tau + T_ref) / (tau + T)                                                                     (T5)
///
/// Source: `conductor-law`. tau: copper 234.5, aluminium 228.
struct Conductor {
  double tau_kelvin;               ///< reciprocal of the temperature coefficient at 0 degC [K], > 0
  double reference_celsius;        ///< [degC]
  double low_celsius = -infinity;  ///< range [degC]
  double high_celsius = infinity;
  double tau_standard_uncertainty_kelvin = 0;  ///< u(tau) [K]
};

inline constexpr double copper_tau_kelvin = 234.5;   ///< Source: `conductor-law`.
inline constexpr double aluminium_tau_kelvin = 228;  ///< Source: `conductor-law`.

/// Constants of the Magnus form over water. Source: `magnus-sonntag`; -45 ... 60 degC.
struct Magnus {
  double factor = 17.62;
  double offset_kelvin = 243.12;
  double low_celsius = -45;
  double high_celsius = 60;
};

/// Air temperature and relative humidity as a fraction, 0 ... 1.
struct Air {
  double celsius;
  double relative_humidity;
};

inline namespace OHMWARD_LEVEL {
namespace detail {

inline constexpr double absolute_zero_celsius = -celsius_zero_kelvin;

/// No resistance and no correction is larger; so their product is a number, and testing them suffices.
inline constexpr double largest_exponent = 500;
inline constexpr double largest_power = 0x1p500;

/// What one law says at one temperature. `factor` is 2^x.
struct LawAt {
  double factor;
  double slope_per_kelvin;  ///< d ln R / dT
  double per_constant;      ///< d ln R_ref along the uncertain constant, times its standard uncertainty
  bool in_range;            ///< the factor lies between 2^-500 and 2^500; false for senseless constants
};

[[nodiscard]] constexpr double or_nan(bool sensible, double x) noexcept { return sensible ? x : nan; }

[[nodiscard]] constexpr LawAt exponential(double x, double slope_per_kelvin, double per_constant) noexcept {
  const double size = numerics::detail::absolute(x);
  return {numerics::detail::exp2_in_range(x), slope_per_kelvin, per_constant, size <= largest_exponent};
}

/// A law made ready for many temperatures: constants that a loop shares, NaN in place of senseless ones.
struct PreparedHalving {
  double step_kelvin;
  double reference_celsius;
  double slope_per_kelvin;
  double per_constant;  ///< for one halving
  double low_celsius;
  double high_celsius;
};

[[nodiscard]] constexpr PreparedHalving prepared(const Halving& law) noexcept {
  const double step = or_nan(positive(law.step_kelvin), law.step_kelvin);
  const double rate = numerics::coefficients::ln2 / step;
  return {step,
          law.reference_celsius,
          -rate,
          -rate * law.step_standard_uncertainty_kelvin,
          law.low_celsius,
          law.high_celsius};
}

[[nodiscard]] constexpr LawAt at(double celsius, const PreparedHalving& law) noexcept {
  const double x = (celsius - law.reference_celsius) / law.step_kelvin;
  return exponential(x, law.slope_per_kelvin, x * law.per_constant);
}

/// x = (T - origin) / (T + zero) * scale, never a difference of reciprocals, which loses a factor of five.
struct PreparedReciprocal {
  double origin_celsius;
  double zero_kelvin;
  double scale;  ///< B log2 e / (origin + zero)
  double slope;  ///< -B
  double per_constant;
  double low_celsius;
  double high_celsius;
};

[[nodiscard]] constexpr double reciprocal_scale(double coefficient, double origin_kelvin) noexcept {
  return coefficient * numerics::coefficients::log2e / or_nan(positive(origin_kelvin), origin_kelvin);
}

[[nodiscard]] constexpr PreparedReciprocal prepared(const Arrhenius& law) noexcept {
  const double energy = or_nan(positive(law.activation_energy_electronvolt), law.activation_energy_electronvolt);
  const double coefficient = energy / boltzmann_electronvolt_per_kelvin;
  const double relative_u = law.activation_energy_standard_uncertainty_electronvolt / energy;
  return {.origin_celsius = law.reference_celsius,
          .zero_kelvin = celsius_zero_kelvin,
          .scale = reciprocal_scale(coefficient, law.reference_celsius + celsius_zero_kelvin),
          .slope = -coefficient,
          .per_constant = numerics::coefficients::ln2 * relative_u,
          .low_celsius = law.low_celsius,
          .high_celsius = law.high_celsius};
}

[[nodiscard]] constexpr LawAt at(double celsius, const PreparedReciprocal& law) noexcept {
  const double kelvin = celsius + law.zero_kelvin;
  const double x = (celsius - law.origin_celsius) / kelvin * law.scale;
  return exponential(x, law.slope / (kelvin * kelvin), x * law.per_constant);
}

struct PreparedThermosetting {
  PreparedReciprocal below;
  double scale_above;
  double slope_above;
  double offset;  ///< x of the reference temperature
};

[[nodiscard]] constexpr PreparedThermosetting prepared(const Thermosetting& law) noexcept {
  const double below = or_nan(positive(law.coefficient_below_kelvin), law.coefficient_below_kelvin);
  const double above = or_nan(positive(law.coefficient_above_kelvin), law.coefficient_above_kelvin);
  const double knot_kelvin = law.knot_celsius + law.zero_kelvin;
  const double scale = law.reference_celsius > law.knot_celsius ? reciprocal_scale(above, knot_kelvin)
                                                                : reciprocal_scale(below, knot_kelvin);
  const double reference_kelvin = law.reference_celsius + law.zero_kelvin;
  return {.below = {.origin_celsius = law.knot_celsius,
                    .zero_kelvin = law.zero_kelvin,
                    .scale = reciprocal_scale(below, knot_kelvin),
                    .slope = -below,
                    .per_constant = numerics::coefficients::ln2 * law.coefficient_relative_standard_uncertainty,
                    .low_celsius = law.low_celsius,
                    .high_celsius = law.high_celsius},
          .scale_above = reciprocal_scale(above, knot_kelvin),
          .slope_above = -above,
          .offset = (law.reference_celsius - law.knot_celsius) / or_nan(positive(reference_kelvin), reference_kelvin) *
                    scale};
}

[[nodiscard]] constexpr LawAt at(double celsius, const PreparedThermosetting& law) noexcept {
  const double above_scale = law.scale_above, below_scale = law.below.scale;
  const double above_slope = law.slope_above, below_slope = law.below.slope;
  const bool above = celsius > law.below.origin_celsius;
  const double scale = above ? above_scale : below_scale;
  const double slope = above ? above_slope : below_slope;
  const double kelvin = celsius + law.below.zero_kelvin;
  const double x = (celsius - law.below.origin_celsius) / kelvin * scale - law.offset;
  return exponential(x, slope / (kelvin * kelvin), x * law.below.per_constant);
}

struct PreparedConductor {
  double tau_kelvin;
  double reference_celsius;
  double there_kelvin;
  double tau_standard_uncertainty_kelvin;
  double low_celsius;
  double high_celsius;
};

[[nodiscard]] constexpr PreparedConductor prepared(const Conductor& law) noexcept {
  const double tau = or_nan(positive(law.tau_kelvin), law.tau_kelvin);
  const double there = tau + law.reference_celsius;
  return {tau,
          law.reference_celsius,
          or_nan(positive(there), there),
          law.tau_standard_uncertainty_kelvin,
          law.low_celsius,
          law.high_celsius};
}

[[nodiscard]] constexpr LawAt at(double celsius, const PreparedConductor& law) noexcept {
  const double here = law.tau_kelvin + celsius;
  const double factor = law.there_kelvin / here;
  const double per_tau = (celsius - law.reference_celsius) / (here * law.there_kelvin);
  return {factor, 1 / here, per_tau * law.tau_standard_uncertainty_kelvin,
          all(positive(here), factor <= largest_power)};
}

[[nodiscard]] constexpr bool inside(double celsius, double low_celsius, double high_celsius) noexcept {
  return all(celsius >= low_celsius, celsius <= high_celsius);
}
template <class Prepared>
[[nodiscard]] constexpr bool inside(double celsius, const Prepared& law) noexcept {
  return inside(celsius, law.low_celsius, law.high_celsius);
}
[[nodiscard]] constexpr bool inside(double celsius, const PreparedThermosetting& law) noexcept {
  return inside(celsius, law.below);
}

/// `u_missing`: an uncertainty is needed and not there; `u_possible`: none is senseless.
template <class Prepared>
[[nodiscard]] constexpr Outcome corrected(const ResistanceAt& r, const Prepared& law, const LawAt& of, bool u_missing,
                                          bool u_possible) noexcept {
  const double product = r.resistance_ohm * of.factor;
  const double value = product < numerics::smallest_normal ? 0 : product;
  const bool ok = all(of.in_range, r.celsius > absolute_zero_celsius, r.resistance_ohm > -numerics::smallest_normal,
                      r.resistance_ohm <= largest_power, u_possible);
  const bool is_missing = any(any_missing(r.resistance_ohm, r.celsius), u_missing);
  const double of_impossible =
      over_range(r.resistance_ohm) ? number(Status::unknown_bound) : number(Status::out_of_domain);
  const double reason = is_missing ? number(Status::missing_input) : of_impossible;
  const double of_value = inside(r.celsius, law) ? number(Status::sound) : number(Status::outside_fitted_range);
  return {ok ? value : nan, ok ? of_value : reason};
}

}  // namespace detail

namespace outcome {

/// Value and status number of a correction under a prepared law; see the public form below.
template <class Prepared>
[[nodiscard]] constexpr Outcome to_reference(const ResistanceAt& reading, const Prepared& law) noexcept {
  return detail::corrected(reading, law, detail::at(reading.celsius, law), false, true);
}

struct Fused {
  double value;
  double relative_standard_uncertainty;
  double code;
};

/// A relative uncertainty above this is none.
inline constexpr double largest_uncertainty = 1e150;

template <class Prepared>
[[nodiscard]] inline Fused to_reference(const UncertainResistanceAt& reading, const Prepared& law) noexcept {
  const double ur = reading.relative_standard_uncertainty;
  const double ut = reading.standard_uncertainty_kelvin;
  const detail::LawAt of = detail::at(reading.celsius, law);
  const double by_temperature = of.slope_per_kelvin * ut;
  const double u = numerics::sqrt(ur * ur + by_temperature * by_temperature + of.per_constant * of.per_constant);
  // The sum of squares of a number that is no uncertainty is NaN, infinite or too large.
  const bool possible = detail::all(ur >= 0, ut >= 0, u <= largest_uncertainty);
  const Outcome out =
      detail::corrected({reading.resistance_ohm, reading.celsius}, law, of, detail::any_missing(ur, ut), possible);
  return {out.value, out.code >= 0 ? u : nan, out.code};
}

/// d ln R / dT [1/K] of a prepared law at a temperature.
template <class Prepared>
[[nodiscard]] constexpr Outcome slope_per_kelvin(double celsius, const Prepared& law) noexcept {
  const detail::LawAt of = detail::at(celsius, law);
  const bool ok =
      detail::all(of.in_range, celsius > detail::absolute_zero_celsius, detail::finite(of.slope_per_kelvin));
  const double reason =
      detail::missing(celsius) ? detail::number(Status::missing_input) : detail::number(Status::out_of_domain);
  return {
      ok ? of.slope_per_kelvin : nan,
      ok ? (detail::inside(celsius, law) ? detail::number(Status::sound) : detail::number(Status::outside_fitted_range))
         : reason};
}

/// Dew point [degC].
[[nodiscard]] constexpr Outcome dew_point(const Air& air, const Magnus& constants) noexcept {
  const double gamma =
      numerics::log(air.relative_humidity) + constants.factor * air.celsius / (constants.offset_kelvin + air.celsius);
  const double celsius = constants.offset_kelvin * gamma / (constants.factor - gamma);
  const bool is_missing = detail::any_missing(air.celsius, air.relative_humidity);
  const bool possible = detail::all(detail::positive(air.relative_humidity), air.relative_humidity <= 1,
                                    air.celsius > -constants.offset_kelvin, detail::finite(air.celsius),
                                    gamma<constants.factor, celsius> detail::absolute_zero_celsius);
  const bool inside = detail::inside(air.celsius, constants.low_celsius, constants.high_celsius);
  const Outcome out = detail::judged({.missing = is_missing, .possible = possible}, celsius, true);
  const bool extrapolated = detail::all(out.code == 0, !inside);
  return {out.value, extrapolated ? detail::number(Status::outside_fitted_range) : out.code};
}

}  // namespace outcome

/// Resistance at the law's reference temperature [ohm], equation (T0).
///
///     constexpr Halving law{.step_kelvin = 10, .reference_celsius = 40};
///     to_reference(ResistanceAt{.resistance_ohm = 15e6, .celsius = 70}, law).value  // 120e6
template <class Law>
[[nodiscard]] constexpr Checked<double> to_reference(const ResistanceAt& reading, const Law& law) noexcept {
  return outcome::to_reference(reading, detail::prepared(law)).checked();
}

/// The same with its relative standard uncertainty, equations (T0) and (T1), in one pass. All four inputs are needed.
template <class Law>
[[nodiscard]] inline CorrectedResistance to_reference(const UncertainResistanceAt& reading, const Law& law) noexcept {
  const outcome::Fused out = outcome::to_reference(reading, detail::prepared(law));
  return {out.value, out.relative_standard_uncertainty, static_cast<Status>(static_cast<int>(out.code))};
}

/// Factor R(reference)/R(T) [1].
template <class Law>
[[nodiscard]] constexpr Checked<double> factor_to_reference(double celsius, const Law& law) noexcept {
  return to_reference(ResistanceAt{.resistance_ohm = 1, .celsius = celsius}, law);
}

/// d ln R / dT [1/K]: negative for insulation, positive for a conductor.
template <class Law>
[[nodiscard]] constexpr Checked<double> slope_per_kelvin(double celsius, const Law& law) noexcept {
  return outcome::slope_per_kelvin(celsius, detail::prepared(law)).checked();
}

/// Dew point of air [degC]:
///
///     g = ln(RH) + a T / (b + T),  T_d = b g / (a - g)                                                           (T6)
///
/// sound; outside_fitted_range; missing_input; out_of_domain for RH outside (0, 1]. Source: `magnus-sonntag`.
[[nodiscard]] constexpr Checked<double> dew_point_celsius(const Air& air, const Magnus& constants = {}) noexcept {
  return outcome::dew_point(air, constants).checked();
}

}  // namespace OHMWARD_LEVEL
}  // namespace ohmward::formula
