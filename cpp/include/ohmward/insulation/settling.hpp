#pragma once

#include <cstdint>

#include "ohmward/insulation/attainable.hpp"
#include "ohmward/insulation/timed_run.hpp"

namespace ohmward::insulation {

/// Where a run stands at its last reading. Numbers never change meaning.
enum class Settling : std::int8_t {
  unknown = 0,
  charging = 1,               ///< the tester still charges the capacitance
  absorbing = 2,              ///< the resistance still rises with time
  settled = 3,                ///< it changes by less than the meter can show
  nothing_more_to_learn = 4,  ///< whatever rises further is no absorption of this part, or lies over range
};

struct SettlingConditions {
  CapacitanceRange capacitance{};  ///< of the part; NaN: not known, and the readings alone decide
  double least_visible_change =
      0.02;  ///< of ln R over a doubling of time; at least twice the meter's own uncertainty counts
  double loss_factor = formula::generous_loss_factor;
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

/// Settled, charging, absorbing, or nothing more to learn?
///
/// A rise that the part's capacitance can not explain is `nothing_more_to_learn` with status `drift_present`: cooling,
/// drying by the current, leftover charge. An over-range end is `nothing_more_to_learn` with `bound_only`.
/// Status: sound; those two; few_points where the slope can not be told from zero yet; too_few_points below 3 readings.
/// Equations of formula/settling.hpp.
[[nodiscard]] SettlingState settling(const TimedRun& run, const SettlingConditions& conditions = {}) noexcept;

}  // namespace ohmward::insulation
