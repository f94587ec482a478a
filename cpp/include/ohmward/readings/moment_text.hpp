#pragma once

#include <string_view>

#include "ohmward/core/checked.hpp"
#include "ohmward/readings/table.hpp"

namespace ohmward::readings {

/// Reads a date or a date with time; Gregorian calendar, also before its introduction.
///
/// @param text    ISO 8601 (`2025-03-04`, `2025-03-04T08:15:30+01:00`, a blank for the T, `20250304`), or as `format`
/// says
/// @param format  %d %m %Y %y %H %M %S %z %% and literal text; empty: ISO 8601. %y: 69-99 are 1969-1999, 00-68
/// 2000-2068
/// @return sound; missing_input for a blank text; unreadable_text otherwise. Fractions of a second are cut off.
[[nodiscard]] Checked<Moment> parse_moment(std::string_view text, std::string_view format = {}) noexcept;

/// Is every directive of `format` known and does it name day, month and year?
[[nodiscard]] bool is_moment_format(std::string_view format) noexcept;

}  // namespace ohmward::readings
