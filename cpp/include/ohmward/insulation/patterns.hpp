#pragma once

#include <cstdint>
#include <string_view>
#include <vector>

#include "ohmward/insulation/attainable.hpp"
#include "ohmward/insulation/settling.hpp"
#include "ohmward/insulation/steps.hpp"

namespace ohmward::insulation {

/// What readings are consistent with; never a diagnosis. Numbers never change meaning.
enum class Pattern : std::int8_t {
  moisture = 0,
  surface = 1,
  contact = 2,
  monitor_left_on = 3,
  leftover_charge = 4,
  cooling = 5,
};

/// A pattern with its evidence and what would settle it.
struct PatternFound {
  Pattern pattern;
  std::string_view evidence;
  std::string_view would_settle;
};

/// What is known; everything may be missing.
struct PatternEvidence {
  uncertainty::Quantity resistance{};  ///< the reading
  uncertainty::Quantity index{};       ///< R(late)/R(early)
  AttainableRatio attainable{};        ///< what the part could have shown
  SettlingState settling{};
  StepResult steps{};
  uncertainty::Quantity guarded_over_plain{};  ///< reading with guard over the one without
  uncertainty::Quantity dried_over_before{};   ///< reading after drying over the one before
  double part_warmer_than_air_kelvin = nan;
  double cooled_kelvin = nan;           ///< logged temperature at the start less that at the end of the run
  double above_dew_point_kelvin = nan;  ///< surface temperature less dew point
  double rested_over_tested = nan;      ///< time since the test before this one, over that test's duration
  bool contact_shown = true;
  bool alone = false;  ///< nothing else was connected
};

/// How much longer than it was charged a part has to be discharged. Source: `discharge-rest`, from memory.
inline constexpr double enough_rest = 4;

/// Range in which insulation monitors lie. Source: `insulation-monitor`.
inline constexpr double monitor_low_ohm = 0.5e6;
inline constexpr double monitor_high_ohm = 1.5e6;

/// An index near 1 counts towards moisture only where the part could have shown more.
[[nodiscard]] std::vector<PatternFound> consistent_with(const PatternEvidence& evidence);

}  // namespace ohmward::insulation
