#pragma once

#include "ohmward/assessment/assess.hpp"

namespace ohmward::assessment {

/// Entry of the instrument that a row names, valid on its day; `Instruments::none` where it is not known.
[[nodiscard]] std::int32_t instrument_of(const readings::Table& table, std::size_t row,
                                         const Context& context) noexcept;

/// A row as its meter measured it.
/// @param decision_value  limit that the reading will be compared with, as read; NaN: none
[[nodiscard]] instruments::Measured measure(const readings::Table& table, std::size_t row, std::int32_t instrument,
                                            const Context& context, double decision_value = nan) noexcept;

/// Days since 1970-01-01 of a row; the smallest integer where the date is missing.
[[nodiscard]] std::int64_t day_of(const readings::Table& table, std::size_t row) noexcept;

}  // namespace ohmward::assessment
