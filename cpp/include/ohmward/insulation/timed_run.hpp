#pragma once

#include <cstdint>
#include <span>
#include <vector>

#include "ohmward/core/censoring.hpp"
#include "ohmward/core/floating_point.hpp"
#include "ohmward/formula/timed_run.hpp"
#include "ohmward/insulation/ratio.hpp"
#include "ohmward/temperature/law.hpp"
#include "ohmward/uncertainty/quantity.hpp"

namespace ohmward::insulation {

/// One reading of a run. A current is entered as resistance: applied voltage over current.
struct Sample {
  double time_second = nan;     ///< since the voltage was switched on
  double resistance_ohm = nan;  ///< for a censored reading its bound
  Censoring censoring = Censoring::exact;
  double applied_volt = nan;                   ///< true test voltage, where it is known
  double part_celsius = nan;                   ///< temperature of the winding, where it is logged
  double relative_standard_uncertainty = nan;  ///< of this reading alone; NaN: that of the run
  double display_step_ohm = nan;               ///< size of the last digit, where it is known
  std::int32_t range = range_not_known;        ///< number of the meter's range
  /// Of ln R, signed, by the constant of the law that corrected it; 0 as read. All readings share it.
  double law_standard_uncertainty = 0;

  static constexpr std::int32_t range_not_known = -1;
};

using formula::bit;
using formula::Mark;

/// What is known of the test and its meter.
struct RunConditions {
  double test_voltage_volt = nan;                   ///< as set
  double source_ampere = nan;                       ///< greatest current of the tester
  double relative_standard_uncertainty = nan;       ///< of one reading, independent from the others; 0.01 is 1 %
  double common_relative_standard_uncertainty = 0;  ///< of the gain that all readings share
  bool corrected_to_steady_temperature = false;     ///< each reading was referred to one temperature by a logged one
};

/// A drift of the part's temperature that is marked: it moves R by some 3 %. A setting without a source.
inline constexpr double least_drift_kelvin = 0.5;

/// What the usable exact readings show about their meter and the part's temperature. Noise is told from 16 readings on.
///
/// Measured on simulated runs of independent noise: marked in 1 % of power laws, up to 5 % of power laws with a Debye
/// term and 14 % of stretched exponentials, whose bend the curve does not follow at 0.2 % noise; a correlation of 0.7
/// between neighbours is found in 9 of 10 runs of 60 readings and more (tests/python/test_timed_run.py).
struct RunQuality {
  double scatter = nan;             ///< of ln R about a smooth curve in ln t
  double autocorrelation = nan;     ///< of neighbouring deviations from that curve, freed of the curve's own share
  double effective_readings = nan;  ///< how many independent ones they are worth
  double drift_kelvin = nan;        ///< greatest less least logged temperature
  bool autocorrelated = false;      ///< beyond what one run in a hundred shows by chance
};

/// A run of readings after the voltage was switched on: irregular, with gaps, over-range stretches and slips, each
/// marked; the sound ones in rising time make the run.
class TimedRun {
 public:
  /// @throws InvalidParameter for a voltage, current or uncertainty that is not sensible (NaN means not known)
  TimedRun(std::span<const Sample> samples, const RunConditions& conditions);

  [[nodiscard]] std::span<const Sample> samples() const noexcept { return samples_; }     ///< as given
  [[nodiscard]] std::span<const std::uint16_t> marks() const noexcept { return marks_; }  ///< of `Mark`, one a sample
  [[nodiscard]] std::span<const Sample> usable() const noexcept { return usable_; }
  [[nodiscard]] const RunConditions& conditions() const noexcept { return conditions_; }

  /// Sound; `too_few_points` without a usable reading; `contradiction` where half of the readings or more do not rise
  /// in time (two runs under one name?) or jump to another level.
  [[nodiscard]] Status status() const noexcept { return status_; }

  [[nodiscard]] const RunQuality& quality() const noexcept { return quality_; }

  /// The readings up to a time.
  [[nodiscard]] TimedRun first(double second) const;

  /// Each reading referred to one temperature by the one that was logged with it. Only a run whose usable readings all
  /// carry a temperature (and lie where the law has a factor) becomes one at steady temperature; another comes back as
  /// it is, and what needs a steady temperature goes on refusing it. The law's constant is one unknown for all
  /// readings: it enters a ratio by the drift between its two ends only.
  [[nodiscard]] TimedRun at_steady_temperature(const temperature::Law& law, double reference_celsius) const;

  /// Resistance at a time, ln R straight in ln t between its neighbours; never extrapolated.
  /// `outside_curve` before the first or after the last reading; `few_points` where the neighbours are more than a
  /// factor of 2 apart in time; a censored neighbour makes a bound.
  [[nodiscard]] uncertainty::Quantity at(double second) const noexcept;

  /// R(late)/R(early) of two declared times; the common gain cancels unless the two ends are known to lie on different
  /// ranges.
  [[nodiscard]] uncertainty::Quantity ratio(const Times& times) const noexcept;

 private:
  /// The readings on both sides of a time; twice the same one at its own time, none outside the run.
  struct Place {
    const Sample* before = nullptr;
    const Sample* after = nullptr;
    double share = 0;  // of the way from one to the other, in ln t

    [[nodiscard]] double law_standard_uncertainty() const noexcept {
      return (1 - share) * before->law_standard_uncertainty + share * after->law_standard_uncertainty;
    }
    [[nodiscard]] bool on_another_range(const Place& other) const noexcept {
      const std::int32_t own = before->range, its = other.before->range;
      return own != Sample::range_not_known && its != Sample::range_not_known &&
             (own != its || after->range != other.after->range);
    }
  };

  std::vector<Sample> samples_;
  std::vector<std::uint16_t> marks_;
  std::vector<Sample> usable_;
  RunConditions conditions_;
  RunQuality quality_;
  Status status_ = Status::too_few_points;

  [[nodiscard]] Place place(double second) const noexcept;
  void mark_in_passing(const std::vector<std::size_t>& taken);
  void judge_noise(const std::vector<std::size_t>& taken);
};

/// Relative standard uncertainty of a reading: its own or the run's, at least that of its display step.
[[nodiscard]] double relative_standard_uncertainty(const Sample& sample, const RunConditions& conditions) noexcept;

}  // namespace ohmward::insulation
