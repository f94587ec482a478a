#pragma once

#include <cstdint>
#include <vector>

#include "ohmward/readings/table.hpp"

namespace ohmward::assessment {

/// 1 for the latest reading of each point of each object, 0 for older ones, checks of a meter, readings taken while
/// searching a fault, and rows that a person marked as doubtful. A point is object, part, quantity, both ends and side
/// of the contactors. Later means: taken later; inside one job the greater step; else further down in the file.
[[nodiscard]] std::vector<std::uint8_t> current_rows(const readings::Table& table);

}  // namespace ohmward::assessment
