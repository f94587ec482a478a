#include "ohmward/insulation/settling.hpp"

#include <algorithm>
#include <cmath>

#include "ohmward/formula/timed_run.hpp"

namespace ohmward::insulation {
namespace {

/// First time from which every reading stays within a change of the last one.
double within_from(std::span<const Sample> samples, double change) noexcept {
  const double last = numerics::log(samples.back().resistance_ohm);
  std::size_t i = samples.size();
  while (i > 0 && std::abs(numerics::log(samples[i - 1].resistance_ohm) - last) <= change) --i;
  return samples[std::min(i, samples.size() - 1)].time_second;
}

/// Exact readings of the last half of the run, at least the last three.
std::span<const Sample> last_half(std::span<const Sample> usable) noexcept {
  const double half = usable.back().time_second / 2;
  std::size_t begin = usable.size();
  while (begin > 0 && usable[begin - 1].censoring == Censoring::exact &&
         (usable[begin - 1].time_second >= half || usable.size() - begin < 3))
    --begin;
  return usable.subspan(begin);
}

formula::TimedReading timed(const Sample& s) noexcept {
  return {.second = s.time_second, .resistance_ohm = s.resistance_ohm, .censoring = s.censoring};
}

formula::SettlingTail fine_tail(std::span<const Sample> usable, double visible) noexcept {
  const std::span<const Sample> samples = last_half(usable);
  formula::LineSums line;
  for (const Sample& s : samples) line.add(numerics::log(s.time_second), numerics::log(s.resistance_ohm));
  formula::SettlingTail tail{.last_second = usable.back().time_second,
                             .last_ohm = usable.back().resistance_ohm,
                             .last_censoring = usable.back().censoring,
                             .readings = line.count()};
  if (line.count() < 3) return tail;
  tail.slope = line.slope();
  tail.scatter = numerics::sqrt(line.residual() / (static_cast<double>(line.count()) - 2));
  tail.xx = line.xx();
  tail.within_from = within_from(samples, visible);
  return tail;
}

formula::SettlingTail compact_tail(std::span<const Sample> usable, double visible) noexcept {
  formula::TailSums sums;
  for (const Sample& s : usable) {
    if (s.censoring == Censoring::exact)
      sums.add(s.time_second, numerics::log(s.time_second), numerics::log(s.resistance_ohm));
    else
      sums.restart();
  }
  return formula::settling_tail(sums, timed(usable.back()), visible);
}

}  // namespace

SettlingState settling(const TimedRun& run, const SettlingConditions& conditions, SettlingTailOf tail) noexcept {
  SettlingState state;
  if (!has_value(run.status())) {
    state.status = run.status();
    return state;
  }
  const RunConditions& conditions_of_run = run.conditions();
  const formula::SettlingTest test{.test_voltage_volt = conditions_of_run.test_voltage_volt,
                                   .source_ampere = conditions_of_run.source_ampere,
                                   .capacitance_farad = conditions.capacitance.high_farad,
                                   .visible_change = conditions.least_visible_change,
                                   .meter_u = conditions_of_run.relative_standard_uncertainty,
                                   .loss_factor = conditions.loss_factor};
  const double visible = formula::visible_change(test);
  return formula::settling_state(
      tail == SettlingTailOf::fine ? fine_tail(run.usable(), visible) : compact_tail(run.usable(), visible), test);
}

}  // namespace ohmward::insulation
