#pragma once

#include <cstdint>
#include <span>

#include "ohmward/core/checked.hpp"
#include "ohmward/formula/decay.hpp"
#include "ohmward/highvoltage/leak.hpp"

namespace ohmward::highvoltage {

using formula::DecayRemark;
using formula::DecaySettings;

/// One reading of a voltage that decays.
using DecayPoint = formula::DecayReading;

[[nodiscard]] const char* text(DecayRemark remark) noexcept;

/// U(t) = initial · exp(-(t - first)/tau), fitted to a record or to two readings.
struct Decay {
  double initial_volt = nan;  ///< at the first reading
  double time_constant_second = nan;
  double time_constant_standard_uncertainty_second = nan;
  double threshold_second = nan;  ///< when the threshold is crossed, on the clock of the readings
  Interval threshold_interval{};  ///< by Fieller's form; the upper end is infinite where no decay is shown
  double chi_square = nan;        ///< of the residuals
  int degrees_of_freedom = 0;
  std::uint32_t remarks = 0;
  Status status = Status::missing_input;

  [[nodiscard]] bool has(DecayRemark remark) const noexcept {
    return (remarks >> static_cast<unsigned>(remark) & 1U) != 0;
  }
};

/// Weighted straight line through ln(volt), u(ln U) = u/U.
///
/// Slopes of the first and the second half that differ by more than 3 standard uncertainties are told as a second
/// slope; time constant and crossing are then those of the second half.
/// Status: sound; few_points: two readings, no residual left; contradiction: times that do not rise; no_solution:
/// stuck, no crossing; too_few_points; missing_input: a NaN, or an uncertainty that is unknown or 0; out_of_domain.
/// Source: `iec-60204-1-residual-voltage` for the limit's kind, `gum`.
[[nodiscard]] Decay fit_decay(std::span<const DecayPoint> points, const DecaySettings& settings = {});

/// A capacitor touched by a meter of finite input resistance.
struct TouchedCapacitor {
  double volt = nan;  ///< before the touch
  double capacitance_farad = nan;
  double resistance_ohm = infinity;  ///< discharge path of its own
  double meter_ohm = nan;
  double second = nan;  ///< how long the meter stays on
};

/// Voltage left after the touch [V]: volt · exp(-t/((R ∥ meter)·C)). A second touch near zero may only mean that the
/// first one drained it.
[[nodiscard]] Checked<double> volt_after_touch(const TouchedCapacitor& capacitor) noexcept;

}  // namespace ohmward::highvoltage
