#pragma once

#include <vector>

#include "assessment/measure.hpp"

namespace ohmward::assessment {

/// Readings of one point in one job (or on one day) with one meter under one set of conditions, as far as they were
/// written down, in the order in which they were taken. Runs, pairs, checks and rows in doubt repeat nothing; neither
/// does a row that was entered twice.
[[nodiscard]] std::vector<std::vector<std::size_t>> repeated_readings(const readings::Table& table);

/// Mean of repeated readings on the scale of their quantity. Its scatter joins the meter's uncertainty as `repeat`,
/// never below what the display can tell; the meter's own share does not shrink by repeating. One that is a bound makes
/// the mean a bound; bounds of both kinds leave no value.
/// @param decision_value  limit that the mean will be compared with, as read; NaN: none
[[nodiscard]] instruments::Measured mean_of(const readings::Table& table, const std::vector<std::size_t>& rows,
                                            const Context& context, double decision_value);

}  // namespace ohmward::assessment
