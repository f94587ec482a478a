#pragma once

#include <cstddef>
#include <span>
#include <vector>

#include "ohmward/core/floating_point.hpp"
#include "ohmward/core/status.hpp"

namespace ohmward::battery {

struct StandOutParts {
  double risk = 0.01;       ///< probability that any of a clean list is named, 0 ... 1
  double least_spread = 0;  ///< standard deviation that every list has at least: the readings' own uncertainty
};

/// Which values stand out from their like, by the generalized extreme Studentized deviate test on up to a fifth of them
/// (at least one), at a stated risk. `which` is in the order of the list.
///
/// Status: sound; too_few_points (fewer than five values). A NaN never stands out and does not count.
/// Source: `rosner-1983`. Throws InvalidParameter for a risk outside 0 ... 1 or a negative spread.
struct StandOut {
  Status status = Status::too_few_points;
  std::vector<bool> which = {};
  double centre = nan;  ///< mean of the others
  double spread = nan;  ///< standard deviation of the others, at least the least spread
};
[[nodiscard]] StandOut stand_out(std::span<const double> values, const StandOutParts& parts);

}  // namespace ohmward::battery
