#pragma once

#include <cstdint>
#include <span>

#include "ohmward/core/checked.hpp"
#include "ohmward/highvoltage/leak.hpp"

namespace ohmward::highvoltage {

/// One reading of a voltage that decays.
struct DecayPoint {
  double second = nan;
  double volt = nan;
  double standard_uncertainty_volt = nan;  ///< independent from reading to reading
};

struct DecaySettings {
  double threshold_volt = 60;                     ///< Source: `un-r100-class-b`.
  double gain_relative_standard_uncertainty = 0;  ///< common to all readings: moves the crossing, not the slope
  double coverage_factor = 2;                     ///< of the interval
};

/// Remarks on a decay: bits never change meaning.
enum class DecayRemark : std::uint8_t {
  stuck = 0,            ///< no decay shown, and the last reading may still reach the threshold
  slows_down = 1,       ///< second slope: another capacitor or path feeds it
  speeds_up = 2,        ///< a tester of low input resistance, or active discharge, joined in
  below_threshold = 3,  ///< the last reading lies below the threshold with its uncertainty
  some_in_noise = 4,    ///< readings within 3 u of zero were left out
};

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
