#pragma once

#include <cstdint>

namespace ohmward {

/// What a reading says of the value. Over-range is information: `above` and `below` carry a bound,
/// `overload` says only that the display was over range with no known ceiling.
enum class Censoring : std::int8_t { exact = 0, above = 1, below = 2, overload = 3 };

[[nodiscard]] constexpr const char* text(Censoring censoring) noexcept {
  switch (censoring) {
    case Censoring::exact: return "exact";
    case Censoring::above: return "above";
    case Censoring::below: return "below";
    case Censoring::overload: return "overload";
  }
  return "unknown censoring";
}

}  // namespace ohmward
