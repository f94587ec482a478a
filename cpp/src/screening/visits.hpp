#pragma once

#include <cstdint>
#include <span>
#include <vector>

#include "screening/rows.hpp"

namespace ohmward::screening {

/// The rows of one job at one place, as one value.
struct Visit {
  std::int32_t day = Rows::no_day;
  std::int32_t job = Grouping::none;
  double value = nan;  ///< median of its rows
  std::vector<std::size_t> rows{};
};

/// Visits in the order of time from rows and a value of each (NaN: left out). Rows without a job are visits of their
/// own.
[[nodiscard]] std::vector<Visit> visits(const Rows& rows, std::span<const std::uint32_t> members,
                                        std::span<const double> value_of_row);

}  // namespace ohmward::screening
