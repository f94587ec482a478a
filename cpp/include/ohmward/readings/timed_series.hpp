#pragma once

#include <cstdint>
#include <string_view>
#include <vector>

#include "ohmward/readings/table.hpp"

namespace ohmward::readings {

/// The rows of one run on one object, in their order.
struct TimedSeries {
  std::string_view object_id;  ///< view into the table
  std::string_view run_id;     ///< view into the table
  std::vector<std::size_t> rows;
};

/// Groups the rows that carry a run_id by object and run.
///
/// Inside a run the order is: step, then elapsed_second, then the clock where a time of day is known, then the line.
/// A row without one of these comes after the rows that have it. Runs are in the order of their first row.
[[nodiscard]] std::vector<TimedSeries> timed_series(const Table& table);

}  // namespace ohmward::readings
