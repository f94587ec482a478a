#pragma once

/// @file
/// How long an insulation charges, how long its absorption can be seen, and where a run stands at its last reading.
///
/// Status as in formula/insulation.hpp.

#include <cstdint>

#include "ohmward/core/censoring.hpp"
#include "ohmward/formula/insulation.hpp"
#include "ohmward/formula/line.hpp"

namespace ohmward::formula {

/// A tester that can deliver only so much current.
struct SourceLoad {
  double set_volt;        ///< voltage it was set to [V], > 0
  double source_ampere;   ///< greatest current it delivers [A], > 0
  double resistance_ohm;  ///< what it reads [ohm], >= 0; +inf is no load
};

/// A capacitance charged by a tester.
struct Charging {
  double capacitance_farad;  ///< [F], >= 0
  double test_voltage_volt;  ///< [V], > 0
  double source_ampere;      ///< greatest current that the tester delivers [A], > 0
};

/// From when on nothing is left of absorption.
struct AbsorptionWindow {
  double resistance_ohm;                      ///< what the part has settled to, or the last reading [ohm], > 0
  double capacitance_farad;                   ///< [F], > 0
  double visible_share;                       ///< least share of the current that the meter can show [1], > 0
  double loss_factor = generous_loss_factor;  ///< [1], > 0
};

/// Where a run stands at its last reading. Numbers never change meaning.
enum class Settling : std::int8_t {
  unknown = 0,
  charging = 1,               ///< the tester still charges the capacitance
  absorbing = 2,              ///< the resistance still rises with time
  settled = 3,                ///< it changes by less than the meter can show
  nothing_more_to_learn = 4,  ///< whatever rises further is no absorption of this part, or lies over range
};

/// The state with its evidence.
struct SettlingState {
  Settling state = Settling::unknown;
  Status status = Status::too_few_points;
  double slope = nan;  ///< d ln R / d ln t over the last half of the run
  double slope_standard_uncertainty = nan;
  double charging_until_second = nan;    ///< from capacitance, voltage and source current
  double absorption_until_second = nan;  ///< after this no absorption of this part is visible
  double may_stop_second = nan;          ///< nothing is to be learnt after this; NaN where that is not known yet
};

/// What is known of test, part and meter; NaN: not known.
struct SettlingTest {
  double test_voltage_volt = nan;
  double source_ampere = nan;
  double capacitance_farad = nan;  ///< the high end of what the part may have
  double visible_change = 0.02;    ///< of ln R over a doubling of time
  double meter_u = nan;            ///< relative standard uncertainty of one reading
  double loss_factor = generous_loss_factor;
};

/// What the last part of a run shows.
struct SettlingTail {
  double last_second = nan;
  double last_ohm = nan;
  Censoring last_censoring = Censoring::exact;
  std::uint32_t readings = 0;  ///< exact ones in the tail
  double slope = nan;          ///< of ln R in ln t
  double scatter = nan;        ///< standard deviation of ln R about the line; 0 where 2 readings tell none
  double xx = nan;             ///< sum of squared deviations of ln t
  double within_from = nan;    ///< first time of the tail from which all stays within the visible change of the last
};

inline namespace OHMWARD_LEVEL {

/// Voltage that the tester really applies [V]: min(U, I R). `at_reduced_voltage` (5) below U; an over-range reading
/// draws nothing. Source: computed.
[[nodiscard]] constexpr Checked<double> applied_voltage_volt(const SourceLoad& load) noexcept {
  if (detail::missing(load.set_volt) || detail::missing(load.source_ampere) || detail::missing(load.resistance_ohm))
    return no_value(Status::missing_input);
  if (!(detail::positive(load.set_volt) && detail::positive(load.source_ampere)) || !(load.resistance_ohm >= 0))
    return no_value(Status::out_of_domain);
  const double sagged = load.source_ampere * load.resistance_ohm;
  if (sagged < load.set_volt) return {sagged, Status::at_reduced_voltage};
  return {load.set_volt, Status::sound};
}

/// Time in which a tester at its current limit charges the part [s]: C U / I. Source: computed.
[[nodiscard]] constexpr Checked<double> charging_time_second(const Charging& c) noexcept {
  if (detail::missing(c.capacitance_farad) || detail::missing(c.test_voltage_volt) || detail::missing(c.source_ampere))
    return no_value(Status::missing_input);
  const bool possible = detail::not_negative(c.capacitance_farad) && detail::positive(c.test_voltage_volt) &&
                        detail::positive(c.source_ampere);
  const double second = c.capacitance_farad * c.test_voltage_volt / c.source_ampere;
  if (!possible || !detail::finite(second)) return no_value(Status::out_of_domain);
  return {second, Status::sound};
}

/// Time after which absorption is a smaller share of the current than the meter can show [s]: with R_a(t) of equation
/// (I1) the share is R/R_a(t), so t = R 2 pi C tan(delta) / (10 share). Source: `hamon-relation`, computed.
[[nodiscard]] constexpr Checked<double> absorption_window_second(const AbsorptionWindow& w) noexcept {
  if (detail::missing(w.resistance_ohm) || detail::missing(w.capacitance_farad) || detail::missing(w.visible_share) ||
      detail::missing(w.loss_factor))
    return no_value(Status::missing_input);
  if (w.resistance_ohm > numerics::largest_finite) return no_value(Status::unknown_bound);
  const bool possible = detail::positive(w.resistance_ohm) && detail::positive(w.capacitance_farad) &&
                        detail::positive(w.visible_share) && detail::positive(w.loss_factor);
  const double second = w.resistance_ohm * two_pi * w.capacitance_farad * w.loss_factor / (10 * w.visible_share);
  if (!possible || !detail::finite(second)) return no_value(Status::out_of_domain);
  return {second, Status::sound};
}

/// Least change of ln R over a doubling of time that counts: twice the meter's own uncertainty at least.
[[nodiscard]] constexpr double visible_change(const SettlingTest& test) noexcept {
  const double of_meter = test.meter_u > 0 ? 2 * test.meter_u : 0;
  return of_meter > test.visible_change ? of_meter : test.visible_change;
}

/// Settled, charging, absorbing, or nothing more to learn?
///
/// Pure absorption can not rise faster than in proportion to time to the power 1.3 (exponents of up to 1.2 are known):
/// a steeper rise is charging. A rise that the part's capacitance can not explain is `nothing_more_to_learn` with
/// status `drift_present`: cooling, drying by the current, leftover charge. An over-range end is
/// `nothing_more_to_learn` with `bound_only`. Status: sound; those two; few_points where the slope can not be told from
/// zero yet; too_few_points below 3 readings.
[[nodiscard]] inline SettlingState settling_state(const SettlingTail& tail, const SettlingTest& test) noexcept {
  SettlingState state;
  state.charging_until_second = charging_time_second({.capacitance_farad = test.capacitance_farad,
                                                      .test_voltage_volt = test.test_voltage_volt,
                                                      .source_ampere = test.source_ampere})
                                    .value;
  if (tail.last_censoring == Censoring::above || tail.last_censoring == Censoring::overload) {
    const bool may_charge = tail.last_second < state.charging_until_second;
    state.state = may_charge ? Settling::charging : Settling::nothing_more_to_learn;
    state.status = Status::bound_only;
    state.may_stop_second = may_charge ? state.charging_until_second : tail.last_second;
    return state;
  }
  if (tail.readings < 3) return state;
  const double visible = visible_change(test);
  const double meter_u = test.meter_u > 0 ? test.meter_u : 0;
  const double u = (tail.scatter > meter_u ? tail.scatter : meter_u) / numerics::sqrt(tail.xx);
  state.slope = tail.slope;
  state.slope_standard_uncertainty = u;
  state.status = Status::sound;
  state.absorption_until_second = absorption_window_second({.resistance_ohm = tail.last_ohm,
                                                            .capacitance_farad = test.capacitance_farad,
                                                            .visible_share = visible,
                                                            .loss_factor = test.loss_factor})
                                      .value;
  constexpr double steepest_absorption = 1.3, coverage = 2;
  const double settled_slope = visible / numerics::coefficients::ln2;
  const bool too_steep = tail.slope - coverage * u > steepest_absorption;
  if (tail.last_second < state.charging_until_second || too_steep) {
    state.state = Settling::charging;
    state.may_stop_second = state.charging_until_second;
    return state;
  }
  const double size = numerics::detail::absolute(tail.slope);
  const bool flat = size + coverage * u <= settled_slope;
  const bool moving = size - coverage * u > settled_slope;
  if (tail.last_second >= state.absorption_until_second) {
    state.state = flat ? Settling::settled : Settling::nothing_more_to_learn;
    state.may_stop_second = flat ? tail.within_from : tail.last_second;
    if (moving) state.status = Status::drift_present;
  } else if (flat) {
    state.state = Settling::settled;
    state.may_stop_second = tail.within_from;
  } else if (moving && tail.slope > 0) {
    state.state = Settling::absorbing;
    state.may_stop_second = state.absorption_until_second;
  } else {
    state.status = moving ? Status::drift_present : Status::few_points;
  }
  return state;
}

/// The last octave of time of a series, in fixed memory: five bins, each a quarter of an octave wide.
///
/// A tail of whole bins: between 1 and 1.25 octaves of time, counted back from the last reading.
class TailSums {
 public:
  constexpr void restart() noexcept { *this = {}; }

  /// Takes y at a time above 0, with its logarithm. Times must rise.
  constexpr void add(double second, double log_second, double y) noexcept {
    const std::int32_t bin = bin_of(log_second);
    if (begun_ == 0 || bin > newest_) advance(bin);
    begun_ = 1;
    Bin& now = bins_[place(newest_)];
    if (now.sums.count == 0) now = {.sums = {.x = log_second, .y = y}, .first_second = second, .low = y, .high = y};
    const double dx = log_second - now.sums.x, dy = y - now.sums.y;
    now.sums.sum_x += dx;
    now.sums.sum_y += dy;
    now.sums.sum_xx += dx * dx;
    now.sums.sum_xy += dx * dy;
    now.sums.sum_yy += dy * dy;
    ++now.sums.count;
    now.low = y < now.low ? y : now.low;
    now.high = y > now.high ? y : now.high;
    last_second_ = second;
    last_y_ = y;
  }

  [[nodiscard]] constexpr LineSums sums() const noexcept {
    LineSums all;
    for (std::int32_t back = bins - 1; back >= 0; --back) all.merge(LineSums::of(bins_[place(newest_ - back)].sums));
    return all;
  }
  [[nodiscard]] constexpr double last_second() const noexcept { return last_second_; }
  [[nodiscard]] constexpr double last_y() const noexcept { return last_y_; }

  /// First time, by whole bins, from which every y stays within a change of the last one.
  [[nodiscard]] constexpr double within_from(double change) const noexcept {
    double from = last_second_;
    for (std::int32_t back = 0; back < bins; ++back) {
      const Bin& bin = bins_[place(newest_ - back)];
      if (bin.sums.count == 0) continue;
      if (!(bin.high - last_y_ <= change) || !(last_y_ - bin.low <= change)) break;
      from = bin.first_second;
    }
    return from;
  }

  template <class Self, class Visit>
  static constexpr void each_field(Self& self, Visit& visit) noexcept {
    for (auto& bin : self.bins_) {
      auto& s = bin.sums;
      visit(s.x, s.y, s.sum_x, s.sum_y, s.sum_xx, s.sum_xy, s.sum_yy, s.count, bin.first_second, bin.low, bin.high);
    }
    visit(self.last_second_, self.last_y_, self.newest_, self.begun_);
  }
  /// Does the content of a saved record make sense?
  [[nodiscard]] constexpr bool consistent() const noexcept {
    return newest_ >= -widest && newest_ <= widest && begun_ <= 1;
  }

 private:
  static constexpr std::int32_t bins = 5;
  static constexpr std::int32_t widest = 4 * 1100;  // bins of the widest double

  struct Bin {
    LineSums::Plain sums = {};
    double first_second = 0;
    double low = 0;
    double high = 0;
  };

  /// floor(4 log2 t)
  [[nodiscard]] static constexpr std::int32_t bin_of(double log_second) noexcept {
    constexpr double per_bin = 4 / numerics::coefficients::ln2;
    const double place = log_second * per_bin;
    const auto whole = static_cast<std::int32_t>(place);
    return static_cast<double>(whole) > place ? whole - 1 : whole;
  }
  [[nodiscard]] static constexpr std::int32_t place(std::int32_t bin) noexcept {
    const std::int32_t rest = bin % bins;
    return rest < 0 ? rest + bins : rest;
  }
  constexpr void advance(std::int32_t bin) noexcept {
    const std::int32_t steps = begun_ == 0 || bin - newest_ > bins ? bins : bin - newest_;
    for (std::int32_t step = 0; step < steps; ++step) bins_[place(bin - step)] = {};
    newest_ = bin;
  }

  Bin bins_[bins] = {};
  double last_second_ = 0;
  double last_y_ = 0;
  std::int32_t newest_ = 0;
  std::uint8_t begun_ = 0;
};

}  // namespace OHMWARD_LEVEL
}  // namespace ohmward::formula
