#pragma once

#include <cstdint>
#include <vector>

#include "ohmward/assessment/assess.hpp"
#include "ohmward/readings/table.hpp"

namespace ohmward::assessment {

class Runs;

/// Was a row read later than another? Inside one job the greater step decides, since clocks are often not written down;
/// else the time, else the line.
[[nodiscard]] bool is_later(const readings::Table& table, std::size_t candidate, std::size_t present) noexcept;

/// 1 for what counts of each point of each object, 0 for older readings, checks of a meter, readings taken while
/// searching a fault, rows that a person marked as doubtful, and what became part of a later statement: the rows of a
/// run but the one at 60 s, a ratio written down beside its run, the readings behind a mean.
///
/// A point is object, part, quantity, both ends and side of the contactors. Where part or ends were left out the row is
/// of one of the points of that kind that were written down for the object: of one only, it is that point; of several,
/// it is replaced once each of them was read later, and replaces none.
/// @return one entry a row of the table, then one for each of `derived`
[[nodiscard]] std::vector<std::uint8_t> current_rows(const readings::Table& table, const Runs& runs,
                                                     const std::vector<Derived>& derived);

}  // namespace ohmward::assessment
