#pragma once

#include <cstdint>
#include <span>

#include "ohmward/fleet/trend.hpp"

namespace ohmward::fleet {

/// How one part changed over its history. Numbers never change meaning.
enum class ChangeKind : std::int8_t {
  none = 0,     ///< nothing beyond what chance shows
  steady = 1,   ///< a little more at every reading
  step = 2,     ///< from one reading on at another level, which at least one more reading shows too
  growing = 3,  ///< more from reading to reading: with the square of time
};

enum class ChangeDirection : std::int8_t { either = 0, fall = 1, rise = 2 };

struct ChangeOptions {
  const temperature::Law& law;     ///< none: as read
  double reference_celsius = nan;  ///< needed with a law
  double false_rate = 0.01;        ///< of naming a part that did not change, all that is tried counted
  ChangeDirection direction = ChangeDirection::fall;
  LikeScatter like{};  ///< as in `TrendOptions`
};

/// The most plausible change of one part.
struct Change {
  ChangeKind kind = ChangeKind::none;
  Status status = Status::too_few_points;
  double probability = nan;  ///< that a part without a change shows as much, all that was tried counted
  double ln_ratio = nan;     ///< of the step, or from the first reading to the last
  double standard_uncertainty = nan;
  double from_day = nan;  ///< first reading at the new level; the first of all for a steady change
  double scatter = nan;   ///< of ln R about it, beyond the stated uncertainties
  double degrees_of_freedom = nan;
  std::size_t tried = 0;  ///< alternatives that were weighed
  std::size_t odd = 0;    ///< readings alone far off both neighbours, left out
};

/// Did this part change, steadily or from one reading on?
///
/// A straight line, a parabola from the first day on, and a step with at least two readings on either side are each
/// weighed against no change by the likelihood ratio, bounds counting as bounds, with the scatter about the alternative
/// (joined with that of like parts) and Student's tail; the least probability is corrected for the number tried
/// (Sidak). Where the scatter of like parts is known, a reading that lies off both its neighbours on the same side by
/// four times that, and by a factor of 2, is odd and left out: a monitor left on once is no change of the part. A step
/// that a repair explains is for `trend`, which takes the repair as given. Readings on one day are one reading: join
/// them before.
/// Status: sound; few_points below 6 exact readings; too_few_points below 3 readings or without any degree of freedom;
/// no_law (reference without a law).
/// Accuracy: false naming and power measured in tests/power/trend_power.py.
[[nodiscard]] Change find_change(std::span<const HistoryReading> history, const ChangeOptions& options);

}  // namespace ohmward::fleet
