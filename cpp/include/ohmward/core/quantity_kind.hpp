#pragma once

#include <array>
#include <cstddef>
#include <cstdint>
#include <string_view>

namespace ohmward {

/// On which scale values of a kind are compared and carry their uncertainty.
/// On the log scale a standard uncertainty is that of the natural logarithm.
enum class Scale : std::int8_t { linear = 0, log = 1 };

/// What a reading measures: name, SI unit, scale. Numbers never change meaning; new ones are appended.
#define OHMWARD_QUANTITY_KIND_TABLE(entry) \
  entry(insulation_resistance, 0, "ohm", Scale::log) \
  entry(insulation_ratio, 1, "", Scale::log) \
  entry(bonding_resistance, 2, "ohm", Scale::linear) \
  entry(winding_resistance, 3, "ohm", Scale::linear) \
  entry(dc_voltage, 4, "volt", Scale::linear) \
  entry(ac_voltage, 5, "volt", Scale::linear) \
  entry(resting_voltage, 6, "volt", Scale::linear) \
  entry(module_voltage, 7, "volt", Scale::linear) \
  entry(capacitance, 8, "farad", Scale::linear) \
  entry(temperature, 9, "celsius", Scale::linear) \
  entry(loop_resistance, 10, "ohm", Scale::linear)

enum class QuantityKind : std::int8_t {
#define OHMWARD_QUANTITY_KIND_ENTRY(name, number, unit, scale) name = number,
  OHMWARD_QUANTITY_KIND_TABLE(OHMWARD_QUANTITY_KIND_ENTRY)
#undef OHMWARD_QUANTITY_KIND_ENTRY
};

struct QuantityKindFacts {
  QuantityKind kind;
  std::string_view name;
  std::string_view unit;  ///< as it ends a name: ohm, volt, farad, celsius; empty for a pure number
  Scale scale;
};

inline constexpr std::array quantity_kinds{
#define OHMWARD_QUANTITY_KIND_ENTRY(name, number, unit, scale) \
  QuantityKindFacts{QuantityKind::name, #name, unit, scale},
    OHMWARD_QUANTITY_KIND_TABLE(OHMWARD_QUANTITY_KIND_ENTRY)
#undef OHMWARD_QUANTITY_KIND_ENTRY
};

[[nodiscard]] constexpr const QuantityKindFacts& facts(QuantityKind kind) noexcept {
  return quantity_kinds[static_cast<std::size_t>(kind)];
}

}  // namespace ohmward
