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
///   a negative or senseless uncertainty, senseless law constants, or an overflow; unknown_bound (-6): R is +inf, an
///   over-range display without a known ceiling; below_smallest (-14): the result is not a normal number.
/// R = 0 stays 0. Where the status is negative value and uncertainty are NaN.
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

/// What one law says at one temperature. `factor` is 2^x.
struct LawAt {
  double factor;
  double slope_per_kelvin;  ///< d ln R / dT
  double per_constant;      ///< d ln R_ref per relative change (or kelvin) of the uncertain constant
  bool in_range;            ///< the factor is a normal number
  bool vanishes;            ///< it lies below the smallest one
};

[[nodiscard]] constexpr double or_nan(bool sensible, double x) noexcept { return sensible ? x : nan; }

[[nodiscard]] constexpr LawAt exponential(double x, double slope_per_kelvin, double per_constant) noexcept {
  return {numerics::detail::exp2_in_range(x), slope_per_kelvin, per_constant, all(x >= -1022, x < 1024), x < -1022};
}

[[nodiscard]] constexpr LawAt at(double celsius, const Halving& law) noexcept {
  using numerics::coefficients::ln2;
  const double step = or_nan(positive(law.step_kelvin), law.step_kelvin);
  const double x = (celsius - law.reference_celsius) / step;
  return exponential(x, -(ln2 / step), x * (ln2 / step * law.step_standard_uncertainty_kelvin));
}

/// (T - T0) / (T + zero) * c, never a difference of reciprocals, which loses a factor of five.
[[nodiscard]] constexpr LawAt reciprocal(double celsius, double origin_celsius, double zero_kelvin, double coefficient,
                                         double offset, double relative_u) noexcept {
  using numerics::coefficients::ln2, numerics::coefficients::log2e;
  const double kelvin = celsius + zero_kelvin;
  const double x =
      (celsius - origin_celsius) / kelvin * (coefficient * log2e / (origin_celsius + zero_kelvin)) - offset;
  return exponential(x, -(coefficient / (kelvin * kelvin)), x * (ln2 * relative_u));
}

[[nodiscard]] constexpr double coefficient(double celsius, const Thermosetting& law) noexcept {
  return celsius > law.knot_celsius ? law.coefficient_above_kelvin : law.coefficient_below_kelvin;
}

[[nodiscard]] constexpr double knot_to(double celsius, const Thermosetting& law) noexcept {
  using numerics::coefficients::log2e;
  return (celsius - law.knot_celsius) / (celsius + law.zero_kelvin) *
         (coefficient(celsius, law) * log2e / (law.knot_celsius + law.zero_kelvin));
}

[[nodiscard]] constexpr LawAt at(double celsius, const Thermosetting& law) noexcept {
  const bool sensible =
      all_positive(law.coefficient_below_kelvin, law.coefficient_above_kelvin, law.knot_celsius + law.zero_kelvin);
  const double offset = or_nan(sensible, knot_to(law.reference_celsius, law));
  return reciprocal(celsius, law.knot_celsius, law.zero_kelvin, coefficient(celsius, law), offset,
                    law.coefficient_relative_standard_uncertainty);
}

[[nodiscard]] constexpr LawAt at(double celsius, const Arrhenius& law) noexcept {
  const double energy =
      or_nan(all_positive(law.activation_energy_electronvolt, law.reference_celsius + celsius_zero_kelvin),
             law.activation_energy_electronvolt);
  return reciprocal(celsius, law.reference_celsius, celsius_zero_kelvin, energy / boltzmann_electronvolt_per_kelvin, 0,
                    law.activation_energy_standard_uncertainty_electronvolt / energy);
}

[[nodiscard]] constexpr LawAt at(double celsius, const Conductor& law) noexcept {
  const double tau = or_nan(positive(law.tau_kelvin), law.tau_kelvin);
  const double here = tau + celsius;
  const double there = tau + law.reference_celsius;
  const double factor = there / here;
  const double per_tau = (celsius - law.reference_celsius) / (here * there);
  return {factor, 1 / here, per_tau * law.tau_standard_uncertainty_kelvin, all_positive(here, there), false};
}

template <class Law>
[[nodiscard]] constexpr Outcome corrected(const ResistanceAt& r, const Law& law, const LawAt& of, bool u_missing,
                                          bool u_possible) noexcept {
  const double product = r.resistance_ohm * of.factor;
  const bool law_holds = all(of.in_range, r.celsius > absolute_zero_celsius);
  const bool is_zero = zero(r.resistance_ohm);
  const bool ok = all(law_holds, any(is_zero, positive(product)), u_possible);
  const bool inside = all(r.celsius >= law.low_celsius, r.celsius <= law.high_celsius);
  const bool is_missing = any(missing(r.resistance_ohm), missing(r.celsius), u_missing);
  const bool impossible = any(r.resistance_ohm <= -numerics::smallest_normal, r.celsius <= absolute_zero_celsius,
                              r.celsius > numerics::largest_finite, !u_possible);
  const bool over_range = r.resistance_ohm > numerics::largest_finite;
  const bool vanished = any(of.vanishes, all(law_holds, product < numerics::smallest_normal));
  const std::int64_t reason = is_missing   ? number(Status::missing_input)
                              : impossible ? number(Status::out_of_domain)
                              : over_range
                                  ? number(Status::unknown_bound)
                                  : (vanished ? number(Status::below_smallest) : number(Status::out_of_domain));
  return {ok ? (is_zero ? 0 : product) : nan,
          ok ? (inside ? number(Status::sound) : number(Status::outside_fitted_range)) : reason};
}

}  // namespace detail

namespace outcome {

/// Value and status number of a correction; see the public form below.
template <class Law>
[[nodiscard]] constexpr Outcome to_reference(const ResistanceAt& reading, const Law& law) noexcept {
  return detail::corrected(reading, law, detail::at(reading.celsius, law), false, true);
}

struct Fused {
  double value;
  double relative_standard_uncertainty;
  std::int64_t code;
};

/// Uncertainties above this are no uncertainties; their squares must stay finite.
inline constexpr double largest_uncertainty = 1e150;

template <class Law>
[[nodiscard]] inline Fused to_reference(const UncertainResistanceAt& reading, const Law& law) noexcept {
  const double ur = reading.relative_standard_uncertainty;
  const double ut = reading.standard_uncertainty_kelvin;
  const detail::LawAt of = detail::at(reading.celsius, law);
  const double by_temperature = of.slope_per_kelvin * ut;
  const double u = numerics::sqrt(ur * ur + by_temperature * by_temperature + of.per_constant * of.per_constant);
  const bool possible =
      detail::all(ur >= 0, ur <= largest_uncertainty, ut >= 0, ut <= largest_uncertainty, u <= largest_uncertainty);
  const Outcome out =
      detail::corrected({reading.resistance_ohm, reading.celsius}, law, of, detail::any_missing(ur, ut), possible);
  return {out.value, out.code >= 0 ? u : nan, out.code};
}

/// d ln R / dT [1/K] of a law at a temperature.
template <class Law>
[[nodiscard]] constexpr Outcome slope_per_kelvin(double celsius, const Law& law) noexcept {
  const detail::LawAt of = detail::at(celsius, law);
  const bool ok =
      detail::all(of.in_range, celsius > detail::absolute_zero_celsius, detail::finite(of.slope_per_kelvin));
  const bool inside = detail::all(celsius >= law.low_celsius, celsius <= law.high_celsius);
  const std::int64_t reason =
      detail::missing(celsius) ? detail::number(Status::missing_input) : detail::number(Status::out_of_domain);
  return {ok ? of.slope_per_kelvin : nan,
          ok ? (inside ? detail::number(Status::sound) : detail::number(Status::outside_fitted_range)) : reason};
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
  const bool inside = detail::all(air.celsius >= constants.low_celsius, air.celsius <= constants.high_celsius);
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
  return outcome::to_reference(reading, law).checked();
}

/// The same with its relative standard uncertainty, equations (T0) and (T1), in one pass. All four inputs are needed.
template <class Law>
[[nodiscard]] inline CorrectedResistance to_reference(const UncertainResistanceAt& reading, const Law& law) noexcept {
  const outcome::Fused out = outcome::to_reference(reading, law);
  return {out.value, out.relative_standard_uncertainty, static_cast<Status>(out.code)};
}

/// Factor R(reference)/R(T) [1].
template <class Law>
[[nodiscard]] constexpr Checked<double> factor_to_reference(double celsius, const Law& law) noexcept {
  return to_reference(ResistanceAt{.resistance_ohm = 1, .celsius = celsius}, law);
}

/// d ln R / dT [1/K]: negative for insulation, positive for a conductor.
template <class Law>
[[nodiscard]] constexpr Checked<double> slope_per_kelvin(double celsius, const Law& law) noexcept {
  return outcome::slope_per_kelvin(celsius, law).checked();
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
