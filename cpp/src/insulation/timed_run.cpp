#include "ohmward/insulation/timed_run.hpp"

#include <algorithm>
#include <cmath>

#include "ohmward/core/errors.hpp"

namespace ohmward::insulation {
namespace {

using uncertainty::Part;
using uncertainty::Quantity;

void require(std::string_view field, double value, bool sensible, std::string_view expected) {
  if (!sensible) throw InvalidParameter(field, value, expected);
}

void check(const RunConditions& c) {
  const auto above_zero = [](double x) { return std::isnan(x) || (x > 0 && std::isfinite(x)); };
  const auto not_negative = [](double x) { return std::isnan(x) || (x >= 0 && std::isfinite(x)); };
  require("test_voltage_volt", c.test_voltage_volt, above_zero(c.test_voltage_volt), "a finite number above 0");
  require("source_ampere", c.source_ampere, above_zero(c.source_ampere), "a finite number above 0");
  require("relative_standard_uncertainty", c.relative_standard_uncertainty,
          not_negative(c.relative_standard_uncertainty), "a finite number of at least 0");
  require("common_relative_standard_uncertainty", c.common_relative_standard_uncertainty,
          not_negative(c.common_relative_standard_uncertainty), "a finite number of at least 0");
}

/// Notes which readings the sieve takes.
struct Taken {
  std::vector<std::size_t> order;
  std::size_t now = 0;
  std::size_t waiting = 0;

  void restart() { order.clear(); }
  void take(const formula::TimedReading&, bool waited) { order.push_back(waited ? waiting : now); }
};

formula::TimedReading timed(const Sample& s) noexcept {
  return {.second = s.time_second, .resistance_ohm = s.resistance_ohm, .censoring = s.censoring};
}

}  // namespace

TimedRun::TimedRun(std::span<const Sample> samples, const RunConditions& conditions)
    : samples_(samples.begin(), samples.end()), marks_(samples.size()), conditions_(conditions) {
  check(conditions);
  formula::RunSieve sieve({conditions.test_voltage_volt, conditions.source_ampere});
  Taken taken;
  for (std::size_t i = 0; i < samples_.size(); ++i) {
    const Sample& s = samples_[i];
    taken.now = i;
    const std::size_t first = taken.order.empty() ? i : taken.order.front();
    const formula::RunSieve::Found found =
        sieve.push({s.time_second, s.resistance_ohm, s.censoring, s.applied_volt}, taken);
    marks_[i] |= found.marks;
    if (found.of_waiting != 0) marks_[taken.waiting] |= found.of_waiting;
    if (found.first_slipped) marks_[first] |= bit(Mark::slip);
    if (found.waits) taken.waiting = i;
  }
  if (sieve.waits()) marks_[taken.waiting] |= bit(Mark::slip);
  for (const std::size_t i : taken.order) usable_.push_back(samples_[i]);
  status_ = sieve.status();
}

TimedRun TimedRun::first(double second) const {
  require("second", second, second > 0, "a number above 0");
  std::vector<Sample> early;
  for (const Sample& sample : samples_)
    if (!(sample.time_second > second)) early.push_back(sample);
  return {early, conditions_};
}

Quantity TimedRun::at(double second) const noexcept {
  const auto without = [](Status reason) { return Quantity{.scale = Scale::log, .status = reason}; };
  if (std::isnan(second)) return without(Status::missing_input);
  if (!has_value(status_)) return without(status_);
  const auto upper = std::lower_bound(usable_.begin(), usable_.end(), second,
                                      [](const Sample& sample, double wanted) { return sample.time_second < wanted; });
  if (upper == usable_.end() || (upper == usable_.begin() && upper->time_second != second))
    return without(Status::outside_curve);
  const bool at_reading = upper->time_second == second;
  const formula::Spot spot = formula::spot_between(timed(at_reading ? *upper : *(upper - 1)), timed(*upper), second);
  Quantity q{.value = spot.value, .scale = Scale::log, .censoring = spot.censoring, .status = spot.status};
  if (!has_value(spot.status)) return q;
  const double u = conditions_.relative_standard_uncertainty;
  q.parts.set(Part::reading, u * formula::spot_uncertainty_share(spot.share));
  q.parts.set(Part::gain, conditions_.common_relative_standard_uncertainty);
  return q;
}

Quantity TimedRun::ratio(const Times& times) const noexcept {
  if (!(times.late_second > times.early_second)) return {.scale = Scale::log, .status = Status::out_of_domain};
  const Quantity late = at(times.late_second);
  const Quantity early = at(times.early_second);
  return insulation::ratio({.late = late, .early = early});
}

}  // namespace ohmward::insulation
