#include "ohmward/insulation/settling.hpp"

#include <algorithm>
#include <cmath>

#include "ohmward/formula/settling.hpp"

namespace ohmward::insulation {
namespace {

struct Slope {
  double value = nan;
  double standard_uncertainty = nan;
};

/// Straight line of ln R in ln t; the uncertainty from the scatter or the meter, whichever is larger.
Slope slope_of(std::span<const Sample> samples, double meter_u) noexcept {
  const double n = static_cast<double>(samples.size());
  double mean_x = 0, mean_y = 0, xx = 0, xy = 0, rest = 0;
  for (const Sample& s : samples) {
    mean_x += numerics::log(s.time_second) / n;
    mean_y += numerics::log(s.resistance_ohm) / n;
  }
  for (const Sample& s : samples) {
    const double x = numerics::log(s.time_second) - mean_x;
    xx += x * x;
    xy += x * (numerics::log(s.resistance_ohm) - mean_y);
  }
  const double slope = xy / xx;
  for (const Sample& s : samples) {
    const double r = numerics::log(s.resistance_ohm) - mean_y - slope * (numerics::log(s.time_second) - mean_x);
    rest += r * r;
  }
  const double scatter = n > 2 ? std::sqrt(rest / (n - 2)) : 0;
  return {slope, std::max(scatter, meter_u > 0 ? meter_u : 0) / std::sqrt(xx)};
}

/// First time from which every reading stays within a change of the last one.
double within_from(std::span<const Sample> samples, double change) noexcept {
  const double last = numerics::log(samples.back().resistance_ohm);
  std::size_t i = samples.size();
  while (i > 0 && std::abs(numerics::log(samples[i - 1].resistance_ohm) - last) <= change) --i;
  return samples[std::min(i, samples.size() - 1)].time_second;
}

}  // namespace

SettlingState settling(const TimedRun& run, const SettlingConditions& conditions) noexcept {
  SettlingState state;
  if (!has_value(run.status())) {
    state.status = run.status();
    return state;
  }
  const std::span<const Sample> usable = run.usable();
  const RunConditions& test = run.conditions();
  const double last_second = usable.back().time_second;
  state.charging_until_second = formula::charging_time_second({.capacitance_farad = conditions.capacitance.high_farad,
                                                               .test_voltage_volt = test.test_voltage_volt,
                                                               .source_ampere = test.source_ampere})
                                    .value;
  if (usable.back().censoring == Censoring::above || usable.back().censoring == Censoring::overload) {
    const bool may_charge = last_second < state.charging_until_second;
    state.state = may_charge ? Settling::charging : Settling::nothing_more_to_learn;
    state.status = Status::bound_only;
    state.may_stop_second = may_charge ? state.charging_until_second : last_second;
    return state;
  }
  // Exact readings of the last half of the run, at least the last three.
  std::size_t begin = usable.size();
  while (begin > 0 && usable[begin - 1].censoring == Censoring::exact &&
         (usable[begin - 1].time_second >= last_second / 2 || usable.size() - begin < 3))
    --begin;
  const std::span<const Sample> tail = usable.subspan(begin);
  if (tail.size() < 3) return state;

  const double meter_u = test.relative_standard_uncertainty;
  const double visible = std::max(conditions.least_visible_change, meter_u > 0 ? 2 * meter_u : 0);
  const Slope slope = slope_of(tail, meter_u);
  state.slope = slope.value;
  state.slope_standard_uncertainty = slope.standard_uncertainty;
  state.status = Status::sound;
  state.absorption_until_second =
      formula::absorption_window_second({.resistance_ohm = usable.back().resistance_ohm,
                                         .capacitance_farad = conditions.capacitance.high_farad,
                                         .visible_share = visible,
                                         .loss_factor = conditions.loss_factor})
          .value;

  // Pure absorption can not rise faster than in proportion to time to the power 1.3 (exponents of up to 1.2 are known).
  constexpr double steepest_absorption = 1.3, coverage = 2;
  const double settled_slope = visible / numerics::coefficients::ln2;
  const bool too_steep = slope.value - coverage * slope.standard_uncertainty > steepest_absorption;
  if (last_second < state.charging_until_second || too_steep) {
    state.state = Settling::charging;
    state.may_stop_second = state.charging_until_second;
    return state;
  }
  const bool flat = std::abs(slope.value) + coverage * slope.standard_uncertainty <= settled_slope;
  const bool moving = std::abs(slope.value) - coverage * slope.standard_uncertainty > settled_slope;
  const bool past_absorption = last_second >= state.absorption_until_second;
  if (past_absorption) {
    state.state = flat ? Settling::settled : Settling::nothing_more_to_learn;
    state.may_stop_second = flat ? within_from(tail, visible) : last_second;
    if (moving) state.status = Status::drift_present;
  } else if (flat) {
    state.state = Settling::settled;
    state.may_stop_second = within_from(usable.subspan(begin), visible);
  } else if (moving && slope.value > 0) {
    state.state = Settling::absorbing;
    state.may_stop_second = state.absorption_until_second;
  } else {
    state.status = moving ? Status::drift_present : Status::few_points;
  }
  return state;
}

}  // namespace ohmward::insulation
