#pragma once

#include <span>
#include <string_view>

#include "ohmward/core/floating_point.hpp"
#include "ohmward/uncertainty/quantity.hpp"

namespace ohmward::insulation {

/// One step of a step-voltage test, or one reading of a ramp. The true applied voltage counts: sources sag.
struct VoltageStep {
  double applied_volt;
  double resistance_ohm;
  double relative_standard_uncertainty;  ///< of the resistance, independent from step to step
};

/// Fall of the resistance from the lowest to the highest voltage that is suspicious.
/// Source: `step-voltage`, from memory.
inline constexpr double suspicious_fall = 0.25;
inline constexpr std::string_view fall_experience =
    "a fall by a quarter from the lowest to the highest step: workshop rule, from memory; no standard seen";

/// A line through current against voltage: I = offset + conductance * U. The offset is no leakage: absorption that goes
/// on, leftover charge, the meter's zero.
struct StepResult {
  Status status = Status::too_few_points;
  double conductance_siemens = nan;
  double conductance_standard_uncertainty = nan;
  double offset_ampere = nan;
  double offset_standard_uncertainty = nan;
  double chi_squared = nan;  ///< about the line; with 2 steps there is none
  double degrees_of_freedom = nan;
  bool bends = false;                     ///< chi_squared lies beyond its 99 % point: no straight line
  uncertainty::Quantity high_over_low{};  ///< R(highest voltage)/R(lowest voltage), log scale
  bool falls = false;                     ///< by at least the suspicious fall, also two standard uncertainties up
};

/// Needs two steps at different voltages; steps with NaN or senseless numbers are left out.
/// Status: sound; few_points (two steps: no linearity); too_few_points.
/// Accuracy: line and chi-squared within 1e-9 of numpy.polyfit (tests/python/test_insulation.py).
[[nodiscard]] StepResult steps(std::span<const VoltageStep> readings);

}  // namespace ohmward::insulation
