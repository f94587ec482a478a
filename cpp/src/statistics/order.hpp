#pragma once

#include <cstdint>
#include <span>
#include <vector>

namespace ohmward::statistics {

/// Indices in rising order of the values; equal values keep their order. No NaN. O(n): a radix sort.
[[nodiscard]] std::vector<std::uint32_t> rising_order(std::span<const double> values);

}  // namespace ohmward::statistics
