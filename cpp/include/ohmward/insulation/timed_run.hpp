#pragma once

#include <cstdint>
#include <span>
#include <vector>

#include "ohmward/core/censoring.hpp"
#include "ohmward/core/floating_point.hpp"
#include "ohmward/formula/timed_run.hpp"
#include "ohmward/insulation/ratio.hpp"
#include "ohmward/uncertainty/quantity.hpp"

namespace ohmward::insulation {

/// One reading of a run. A current is entered as resistance: applied voltage over current.
struct Sample {
  double time_second = nan;     ///< since the voltage was switched on
  double resistance_ohm = nan;  ///< for a censored reading its bound
  Censoring censoring = Censoring::exact;
  double applied_volt = nan;  ///< true test voltage, where it is known
  double part_celsius = nan;  ///< temperature of the winding, where it is logged
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

  /// The readings up to a time.
  [[nodiscard]] TimedRun first(double second) const;

  /// Resistance at a time, ln R straight in ln t between its neighbours; never extrapolated.
  /// `outside_curve` before the first or after the last reading; `few_points` where the neighbours are more than a
  /// factor of 2 apart in time; a censored neighbour makes a bound.
  [[nodiscard]] uncertainty::Quantity at(double second) const noexcept;

  /// R(late)/R(early) of two declared times; the common gain cancels.
  [[nodiscard]] uncertainty::Quantity ratio(const Times& times) const noexcept;

 private:
  std::vector<Sample> samples_;
  std::vector<std::uint16_t> marks_;
  std::vector<Sample> usable_;
  RunConditions conditions_;
  Status status_ = Status::too_few_points;
};

}  // namespace ohmward::insulation
