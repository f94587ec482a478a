#pragma once

#include <cstdint>
#include <string_view>

#include "ohmward/readings/value_text.hpp"

namespace ohmward::readings {

enum class NumberOutcome : std::uint8_t {
  read,
  no_number,        ///< no digit where a number should begin
  two_readings,     ///< `1,234`: a decimal or a thousand
  bare_one,         ///< `1.`: how some displays show over-range
  too_many_digits,  ///< more than a double can tell
  malformed,        ///< separators that form no number, such as a date
};

/// A decimal number at the start of a text: (-1)^negative * digits * 10^last_digit_power.
struct NumberText {
  NumberOutcome outcome = NumberOutcome::no_number;
  bool negative = false;
  std::uint64_t digits = 0;
  int last_digit_power = 0;
  std::size_t length = 0;                            ///< bytes taken from the text
  DecimalMark decimal_seen = DecimalMark::not_seen;  ///< point or comma where the text itself leaves no doubt
};

/// Reads the number at the start of `text`; `mark` settles what could be read in two ways.
[[nodiscard]] NumberText read_number(std::string_view text, DecimalMark mark) noexcept;

/// The double nearest to digits * 10^power; infinity where it is too large, 0 where it is too small.
[[nodiscard]] double decimal_to_double(std::uint64_t digits, int power) noexcept;

}  // namespace ohmward::readings
