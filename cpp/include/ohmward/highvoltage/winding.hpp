#pragma once

#include <array>

#include "ohmward/formula/temperature.hpp"
#include "ohmward/uncertainty/quantity.hpp"

namespace ohmward::highvoltage {

/// Resistance between two terminals of a three-phase winding.
struct TerminalReading {
  double ohm = nan;
  double standard_uncertainty_ohm = nan;           ///< independent from reading to reading; a common gain cancels
  double celsius = nan;                            ///< of the winding; NaN: one unknown temperature for all three
  double celsius_standard_uncertainty_kelvin = 0;  ///< of differences between the three readings
};

struct WindingReadings {
  TerminalReading uv{};
  TerminalReading vw{};
  TerminalReading wu{};
};

/// Symmetry of a three-phase winding from its three terminal resistances.
struct WindingSymmetry {
  std::array<double, 3> referred_ohm{nan, nan,
                                     nan};         ///< uv, vw, wu at the law's reference; as read without temperatures
  std::array<double, 3> phase_ohm{nan, nan, nan};  ///< u, v, w of a star
  uncertainty::Quantity
      imbalance{};  ///< greatest deviation from the mean over the mean, linear scale, parts reading, temperature
  Status status = Status::missing_input;
};

/// Compares terminal resistances at one temperature.
///
/// A star's phases are U = (UV + WU - VW)/2 and so on. Imbalance = max|R_i - mean|/mean; its uncertainty is that of the
/// terminal which deviates most, with u(d) from all three. Temperatures given for all three refer each to the law's
/// reference; given for some only, none is used and the status is assumed_input.
/// Status: sound; assumed_input; missing_input; out_of_domain (a resistance not above 0, a temperature below the
/// law's). Source: `conductor-law`.
[[nodiscard]] WindingSymmetry winding_symmetry(const WindingReadings& readings,
                                               const formula::Conductor& law = {
                                                   .tau_kelvin = formula::copper_tau_kelvin,
                                                   .reference_celsius = 20}) noexcept;

}  // namespace ohmward::highvoltage
