#pragma once

#include <cstddef>
#include <cstdint>
#include <span>
#include <vector>

#include "ohmward/core/floating_point.hpp"
#include "ohmward/readings/table.hpp"

namespace ohmward::highvoltage {

/// What is known of where a row stands inside its job.
struct Place {
  double step = nan;  ///< as written down; NaN where it was not
  readings::Moment taken_at{};
  std::int64_t line = 0;
};

struct Order {
  std::vector<std::size_t> rows;        ///< indexes of the places, first step first
  bool clock_contradicts_step = false;  ///< a later step with an earlier clock: times run backwards
};

/// The order of a job's rows: step, then clock, then line.
///
/// A written step always wins over the clock. Rows without a step keep the slot that clock and line give them, and the
/// rows with a step are put in ascending order into the remaining slots. Where any row lacks its time of day the clock
/// only orders days.
[[nodiscard]] Order order_of(std::span<const Place> places);

}  // namespace ohmward::highvoltage
