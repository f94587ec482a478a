#pragma once

#include "ohmward/core/status.hpp"
#include "ohmward/temperature/law.hpp"
#include "ohmward/uncertainty/quantity.hpp"

namespace ohmward::temperature {

/// What is taken where nothing was stated. Settings without a source; an explanation has to tell them.
struct Defaults {
  double standard_uncertainty_kelvin = 2;        ///< of the part temperature
  double relative_standard_uncertainty = 0.1;    ///< of a law's constant: 1 K in a 10 K step
  double tau_standard_uncertainty_kelvin = 0.5;  ///< of a conductor's tau: 234.5 and 235 are both in use for copper
};

/// Relative standard uncertainty of a law's constant, of ln(factor) for a table: as stated, else the default.
[[nodiscard]] double relative_standard_uncertainty(const Law& law, const Defaults& defaults = {}) noexcept;

struct Conditions {
  const Law& law;
  double part_celsius = nan;                 ///< temperature of what was tested, never that of the air
  double standard_uncertainty_kelvin = nan;  ///< of part_celsius; NaN: the default
  double reference_celsius = nan;
  Defaults defaults{};
};

/// What a law makes of a resistance, and how far it can be trusted.
struct Factor {
  double value = nan;          ///< R_ref / R
  double u_temperature = nan;  ///< standard uncertainty of ln(value) by the part temperature
  double u_law = nan;          ///< the same by the law's constant
  Status status = Status::missing_input;
};

/// Factor of a law between two temperatures. Status: `outside_fitted_range` (value given; either temperature),
/// `no_law`, `missing_input`, `out_of_domain` (a temperature infinite or not above absolute zero, an uncertainty below
/// 0), `outside_table` (no value).
[[nodiscard]] Factor factor_to_reference(const Conditions& conditions) noexcept;

/// Refers a resistance to the reference temperature of its limit.
///
/// The value is multiplied by the law's factor; the uncertainty of the part temperature and of the law's constant join
/// its parts as `temperature` and `law`, on the scale of the quantity. A bound (censoring `above`, `below`) is
/// corrected like a value; an overload has no bound and stays as it is. Where there is no value the status says why.
///
/// Equations (T0) and (T1) of formula/temperature.hpp.
[[nodiscard]] uncertainty::Quantity to_reference(const uncertainty::Quantity& quantity,
                                                 const Conditions& conditions) noexcept;

}  // namespace ohmward::temperature
