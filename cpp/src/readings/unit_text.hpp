#pragma once

#include <cstdint>
#include <optional>
#include <string_view>

#include "ohmward/core/quantity_kind.hpp"
#include "ohmward/readings/schema.hpp"

namespace ohmward::readings {

enum class Dimension : std::uint8_t {
  number,
  ohm,
  volt,
  direct_volt,
  alternating_volt,
  ampere,
  farad,
  celsius,
  kelvin,
  second,
  percent
};

/// SI value = written * 10^power * factor + offset.
struct Unit {
  int power = 0;
  double factor = 1;
  double offset = 0;

  friend bool operator==(const Unit&, const Unit&) = default;
};

/// A written unit (`GΩ`, `Mohm`, `mV`, `°C`) or a bare prefix (`M`) of `dimension`; nothing where it is none of them.
/// The unit of `second` is the second, that of `celsius` the degree Celsius.
[[nodiscard]] std::optional<Unit> parse_unit(std::string_view text, Dimension dimension) noexcept;

[[nodiscard]] Dimension dimension(QuantityKind quantity) noexcept;
/// Of a number column; `reference_value` has that of its row and is not asked here.
[[nodiscard]] Dimension dimension(NumberName column) noexcept;

/// For messages: `Ω (with p n µ m k M G T in front)`.
[[nodiscard]] std::string_view expected_units(Dimension dimension) noexcept;

}  // namespace ohmward::readings
