#pragma once

#include <string>
#include <string_view>

#include "screening/rows.hpp"

namespace ohmward::screening {

/// A value with its unit and a prefix, three digits: "2.30 GΩ".
[[nodiscard]] std::string with_unit(double value, QuantityKind quantity);
/// A plain number with three digits.
[[nodiscard]] std::string number(double value);
/// "2024-03-05"; empty where the date is missing.
[[nodiscard]] std::string date(std::int32_t day);
/// Joins pieces of a sentence.
template <class... Pieces>
[[nodiscard]] std::string sentence(const Pieces&... pieces) {
  std::string text;
  (text.append(std::string_view{pieces}), ...);
  return text;
}

}  // namespace ohmward::screening
