#pragma once

#include <cstdint>
#include <string>
#include <string_view>

#include "ohmward/core/censoring.hpp"
#include "ohmward/core/floating_point.hpp"
#include "ohmward/core/quantity_kind.hpp"
#include "ohmward/core/status.hpp"
#include "ohmward/readings/schema.hpp"
#include "ohmward/readings/words.hpp"

namespace ohmward::readings {

/// Which decimal mark a file is seen to use. It settles only what could be read in two ways, such as `1,234`.
enum class DecimalMark : std::uint8_t { not_seen = 0, point = 1, comma = 2, mixed = 3 };

[[nodiscard]] constexpr const char* text(DecimalMark mark) noexcept {
  switch (mark) {
    case DecimalMark::not_seen: return "not seen";
    case DecimalMark::point: return "point";
    case DecimalMark::comma: return "comma";
    case DecimalMark::mixed: return "mixed";
  }
  return "unknown decimal mark";
}

/// A reading as a person wrote it down.
struct ValueText {
  std::string_view text;         ///< `2.3`, `2,3`, `>4`, `OL`, `2.3 GΩ`, `4G+`
  std::string_view unit = {};    ///< from the unit column or the header; may be empty
  bool unit_is_default = false;  ///< true: the unit stands for a whole column, so the cell's own unit wins
  QuantityKind quantity = QuantityKind::insulation_resistance;
  DecimalMark decimal = DecimalMark::not_seen;
};

/// What was read. Where `!has_value(status)` there is no reading and `reason` says what was expected;
/// `unknown_bound` is the exception: an over-range reading (`overload`) whose value is NaN.
struct ParsedValue {
  double value = nan;  ///< SI unit of the quantity (degree Celsius for temperatures); the bound where censored
  Censoring censoring = Censoring::exact;
  double resolution = nan;  ///< SI size of the last digit written down; NaN where there is none
  Status status = Status::unreadable_text;
  std::string reason;

  [[nodiscard]] bool is_reading() const noexcept { return has_value(status) || status == Status::unknown_bound; }
};

/// Reads one written value. Source: `written-readings`, `si-brochure`.
///
/// - SI prefixes p n µ u m k K M (also Meg) G T; the case decides between m and M. A bare prefix is enough (`480k`).
/// - Units of the quantity's own kind, with Ω as U+2126 or U+03A9 and µ as U+00B5 or U+03BC.
/// - `>` `≥` `>=` and a trailing `+` give `above`; `<` `≤` `<=` give `below`; over-range words give `overload`.
/// - Decimal point or comma. What can be read in two ways (`1,234`) is refused unless `decimal` settles it.
/// - On the log scale 0 is `below` one step of the last digit and a negative number is no value; on the linear scale
///   both are numbers. A temperature below absolute zero is no value.
///
/// @return status sound, bound_only (above, below), unknown_bound (overload), missing_input (blank, `-`, `n/a`),
///         ambiguous_text, unreadable_text or out_of_domain. The value is the double nearest to the written decimal.
[[nodiscard]] ParsedValue parse_value(const ValueText& written, const Words& words = standard_words());

/// Reads one cell of a number column, in the unit that ends the column's name; the cell or `unit` may say another of
/// the same dimension (`unit = "nF"` for capacitance_farad). Only plain numbers: no bounds, no over-range.
[[nodiscard]] ParsedValue parse_number(std::string_view text, NumberName column, std::string_view unit = {},
                                       DecimalMark decimal = DecimalMark::not_seen,
                                       const Words& words = standard_words());

}  // namespace ohmward::readings
