#pragma once

#include <cstdint>

#include "ohmward/formula/settling.hpp"
#include "ohmward/insulation/attainable.hpp"
#include "ohmward/insulation/timed_run.hpp"

namespace ohmward::insulation {

using formula::Settling;
using formula::SettlingState;

struct SettlingConditions {
  CapacitanceRange capacitance{};  ///< of the part; NaN: not known, and the readings alone decide
  double least_visible_change =
      0.02;  ///< of ln R over a doubling of time; at least twice the meter's own uncertainty counts
  double loss_factor = formula::generous_loss_factor;
};

/// Which readings the slope rests on.
enum class SettlingTailOf : std::int8_t {
  fine = 0,     ///< those of the last half of the run, at least the last three
  compact = 1,  ///< those of the last 1 to 1.25 octaves of time, in whole bins: what a logger can keep
};

/// Settled, charging, absorbing, or nothing more to learn?
///
/// A rise that the part's capacitance can not explain is `nothing_more_to_learn` with status `drift_present`: cooling,
/// drying by the current, leftover charge. An over-range end is `nothing_more_to_learn` with `bound_only`.
/// Status: sound; those two; few_points where the slope can not be told from zero yet; too_few_points below 3 readings.
/// Equations of formula/settling.hpp.
[[nodiscard]] SettlingState settling(const TimedRun& run, const SettlingConditions& conditions = {},
                                     SettlingTailOf tail = SettlingTailOf::fine) noexcept;

}  // namespace ohmward::insulation
