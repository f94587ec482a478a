#pragma once

/// @file
/// A voltage that decays through a resistance: time constant, crossing of a threshold, second slope; in fixed memory.
///
/// U(t) = U(first) exp(-(t - first)/tau) as a weighted straight line of ln U, u(ln U) = u/U. Source: `gum`.

#include <cstdint>

#include "ohmward/formula/line.hpp"
#include "ohmward/formula/outcome.hpp"

namespace ohmward::formula {

/// Remarks on a decay: bits never change meaning.
enum class DecayRemark : std::uint8_t {
  stuck = 0,            ///< no decay shown, and the last reading may still reach the threshold
  slows_down = 1,       ///< second slope: another capacitor or path feeds it
  speeds_up = 2,        ///< a tester of low input resistance, or active discharge, joined in
  below_threshold = 3,  ///< the last reading lies below the threshold with its uncertainty
  some_in_noise = 4,    ///< readings within 3 u of zero were left out
};

struct DecaySettings {
  double threshold_volt = 60;                     ///< Source: `un-r100-class-b`.
  double gain_relative_standard_uncertainty = 0;  ///< common to all readings: moves the crossing, not the slope
  double coverage_factor = 2;                     ///< of the interval
};

/// One reading of a voltage that decays.
struct DecayReading {
  double second = nan;
  double volt = nan;
  double standard_uncertainty_volt = nan;  ///< independent from reading to reading
};

/// What the readings so far show.
struct DecayState {
  double initial_volt = nan;  ///< at the first reading
  double time_constant_second = nan;
  double time_constant_standard_uncertainty_second = nan;
  double threshold_second = nan;  ///< when the threshold is crossed, on the clock of the readings
  double threshold_low_second = nan;
  double threshold_high_second = nan;  ///< infinite where no decay is shown
  double chi_square = nan;             ///< of the residuals
  double degrees_of_freedom = 0;
  std::uint32_t remarks = 0;
  Status status = Status::too_few_points;

  [[nodiscard]] constexpr bool has(DecayRemark remark) const noexcept {
    return (remarks >> static_cast<unsigned>(remark) & 1U) != 0;
  }
};

inline namespace OHMWARD_LEVEL {

/// Sums over the readings of a decay.
class DecaySums {
 public:
  /// What became of a reading.
  enum class Taken : std::int8_t { used = 0, in_noise = 1, missing = -1, impossible = -2, not_rising = -3 };

  constexpr Taken push(const DecayReading& r) noexcept {
    if (detail::any_missing(r.second, r.volt, r.standard_uncertainty_volt)) return Taken::missing;
    const double share = r.volt / r.standard_uncertainty_volt;
    if (!detail::believable(r.second) || !detail::believable(r.volt) || !detail::believable(share) ||
        !detail::positive(r.standard_uncertainty_volt))
      return Taken::impossible;
    if (readings_ > 0 && !(r.second > last_second_)) return Taken::not_rising;
    if (readings_ == 0) first_second_ = r.second;
    if (readings_ < 2) ++readings_;  // none, one, several
    last_second_ = r.second;
    last_volt_ = numerics::detail::absolute(r.volt);
    last_u_ = r.standard_uncertainty_volt;
    constexpr double noise = 3;
    if (!(last_volt_ > noise * last_u_)) {
      some_in_noise_ = true;
      return Taken::in_noise;
    }
    const double weight = last_volt_ / last_u_;
    line_.add(r.second - first_second_, numerics::log(last_volt_), weight * weight);
    return Taken::used;
  }

  /// Slopes of the first and the second half that differ by more than 3 standard uncertainties are told as a second
  /// slope; time constant and crossing are then those of the second half.
  ///
  /// Status: sound; few_points: two readings, no residual left; no_solution: stuck, no crossing; inside_noise;
  /// too_few_points; out_of_domain: senseless settings.
  [[nodiscard]] DecayState state(const DecaySettings& s) const noexcept {
    DecayState state;
    if (!detail::all_positive(s.threshold_volt, s.coverage_factor) ||
        !detail::not_negative(s.gain_relative_standard_uncertainty)) {
      state.status = Status::out_of_domain;
      return state;
    }
    if (readings_ < 2) return state;
    const auto remark = [&state](DecayRemark which) { state.remarks |= 1U << static_cast<unsigned>(which); };
    if (some_in_noise_) remark(DecayRemark::some_in_noise);
    const double gain_u = last_volt_ * s.gain_relative_standard_uncertainty;
    const double last_u = numerics::sqrt(last_u_ * last_u_ + gain_u * gain_u);
    if (last_volt_ + s.coverage_factor * last_u < s.threshold_volt) remark(DecayRemark::below_threshold);
    const std::uint32_t usable = line_.count();
    if (usable < 2) {
      state.status = Status::inside_noise;
      return state;
    }
    LineSums line = line_.whole();
    state.chi_square = line.residual();
    state.degrees_of_freedom = static_cast<double>(usable) - 2;
    state.initial_volt = numerics::exp(line.at(0));
    if (usable >= 4) take_second_slope(line, state);
    const double slope = line.slope(), u2_slope = 1 / line.xx();
    state.time_constant_second = -1 / slope;
    state.time_constant_standard_uncertainty_second = numerics::sqrt(u2_slope) / (slope * slope);
    cross(line, s, state);
    const bool decays = slope + s.coverage_factor * numerics::sqrt(u2_slope) < 0;
    if (!decays && !state.has(DecayRemark::below_threshold)) remark(DecayRemark::stuck);
    if (!(slope < 0)) {
      state.time_constant_second = state.time_constant_standard_uncertainty_second = nan;
      state.threshold_second = nan;
      state.status = Status::no_solution;
      return state;
    }
    state.status = usable == 2 ? Status::few_points : Status::sound;
    return state;
  }

  [[nodiscard]] constexpr double last_second() const noexcept { return last_second_; }
  [[nodiscard]] constexpr double last_volt() const noexcept { return readings_ > 0 ? last_volt_ : nan; }

  template <class Self, class Visit>
  static constexpr void each_field(Self& self, Visit& visit) noexcept {
    HalvedLineSums::each_field(self.line_, visit);
    visit(self.first_second_, self.last_second_, self.last_volt_, self.last_u_, self.readings_, self.some_in_noise_);
  }
  /// Does the content of a saved record make sense?
  [[nodiscard]] constexpr bool consistent() const noexcept { return line_.consistent(); }

 private:
  void take_second_slope(LineSums& line, DecayState& state) const noexcept {
    constexpr double clearly = 3;
    const LineSums early = line_.early_half(), late = line_.late_half();
    const double difference = late.slope() - early.slope();
    const double u = numerics::sqrt(1 / early.xx() + 1 / late.xx());
    if (!(numerics::detail::absolute(difference) > clearly * u)) return;
    const DecayRemark which = difference > 0 ? DecayRemark::slows_down : DecayRemark::speeds_up;
    state.remarks |= 1U << static_cast<unsigned>(which);
    line = late;
  }

  /// All t with |intercept + slope t - level| <= k u: the times at which the level may be crossed (Fieller).
  void cross(const LineSums& line, const DecaySettings& s, DecayState& state) const noexcept {
    const double level = numerics::log(s.threshold_volt);
    const double u2_level = s.gain_relative_standard_uncertainty * s.gain_relative_standard_uncertainty;
    const double k2 = s.coverage_factor * s.coverage_factor;
    const double slope = line.slope(), u2_slope = 1 / line.xx(), mean = line.mean_x();
    const double intercept = line.at(0), covariance = -mean * u2_slope;
    const double u2_intercept = 1 / line.weight() + mean * mean * u2_slope;
    const double c = intercept - level;
    const double qa = slope * slope - k2 * u2_slope;
    const double qb = 2 * (c * slope - k2 * covariance);
    const double qc = c * c - k2 * (u2_intercept + u2_level);
    const double square = qb * qb - 4 * qa * qc;
    const double root = numerics::sqrt(square > 0 ? square : 0);
    state.threshold_second = first_second_ + (level - intercept) / slope;
    if (qa > 0) {
      state.threshold_low_second = first_second_ + (-qb - root) / (2 * qa);
      state.threshold_high_second = first_second_ + (-qb + root) / (2 * qa);
      return;
    }
    // The slope may be zero: no upper end. The lower end is the crossing of the steepest line that still fits.
    state.threshold_low_second = first_second_ + (c > 0 && qc > 0 ? 2 * qc / (-qb + root) : 0);
    state.threshold_high_second = infinity;
  }

  HalvedLineSums line_ = {};
  double first_second_ = 0;
  double last_second_ = 0;
  double last_volt_ = 0;
  double last_u_ = 0;
  std::uint8_t readings_ = 0;
  bool some_in_noise_ = false;
};

}  // namespace OHMWARD_LEVEL
}  // namespace ohmward::formula
