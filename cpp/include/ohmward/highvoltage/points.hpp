#pragma once

#include <array>
#include <cstdint>
#include <string_view>

namespace ohmward::highvoltage {

/// Between which points a voltage was read; the order of the two probes does not matter.
/// Numbers never change meaning; new ones are appended.
#define OHMWARD_PAIR_TABLE(entry) \
  entry(unknown, 0, "pair not written down") \
  entry(plus_minus, 1, "HV+ to HV-") \
  entry(plus_chassis, 2, "HV+ to chassis") \
  entry(minus_chassis, 3, "HV- to chassis") \
  entry(phase_phase, 4, "phase to phase") \
  entry(phase_chassis, 5, "phase to chassis")

enum class Pair : std::int8_t {
#define OHMWARD_PAIR_ENTRY(name, number, text) name = number,
  OHMWARD_PAIR_TABLE(OHMWARD_PAIR_ENTRY)
#undef OHMWARD_PAIR_ENTRY
};

inline constexpr std::size_t pair_count = 6;

[[nodiscard]] constexpr std::string_view text(Pair pair) noexcept {
  constexpr std::array<std::string_view, pair_count> texts{
#define OHMWARD_PAIR_ENTRY(name, number, text) text,
      OHMWARD_PAIR_TABLE(OHMWARD_PAIR_ENTRY)
#undef OHMWARD_PAIR_ENTRY
  };
  return texts[static_cast<std::size_t>(pair)];
}

/// Pair of two points as the readings table names them (`hv_plus hv_minus chassis housing phases phase_u ...`), in
/// either order; `unknown` for anything else. A housing counts as chassis.
[[nodiscard]] constexpr Pair pair_of(std::string_view from, std::string_view to) noexcept {
  const auto is_chassis = [](std::string_view point) { return point == "chassis" || point == "housing"; };
  const auto is_phase = [](std::string_view point) { return point.starts_with("phase"); };
  const auto between = [&](auto first, auto second) {
    return (first(from) && second(to)) || (first(to) && second(from));
  };
  const auto is_plus = [](std::string_view point) { return point == "hv_plus"; };
  const auto is_minus = [](std::string_view point) { return point == "hv_minus"; };
  if (between(is_plus, is_minus)) return Pair::plus_minus;
  if (between(is_plus, is_chassis)) return Pair::plus_chassis;
  if (between(is_minus, is_chassis)) return Pair::minus_chassis;
  if (is_phase(from) && is_phase(to)) return Pair::phase_phase;
  if (between(is_phase, is_chassis)) return Pair::phase_chassis;
  return Pair::unknown;
}

/// Side of the contactors. Numbers never change meaning.
enum class Side : std::int8_t { unknown = 0, load = 1, battery = 2 };

inline constexpr std::size_t side_count = 3;

[[nodiscard]] constexpr std::string_view text(Side side) noexcept {
  switch (side) {
    case Side::unknown: return "side not written down";
    case Side::load: return "load side";
    case Side::battery: return "battery side";
  }
  return "unknown side";
}

[[nodiscard]] constexpr Side side_of(std::string_view word) noexcept {
  return word == "load" ? Side::load : word == "battery" ? Side::battery : Side::unknown;
}

/// Function that a voltmeter was set to. Numbers never change meaning.
enum class Function : std::int8_t { unknown = 0, dc = 1, ac = 2 };

[[nodiscard]] constexpr std::string_view text(Function function) noexcept {
  switch (function) {
    case Function::unknown: return "function not written down";
    case Function::dc: return "DC";
    case Function::ac: return "AC";
  }
  return "unknown function";
}

/// The function that a pair asks for: DC between the poles and the chassis, AC at the phases.
[[nodiscard]] constexpr Function required_function(Pair pair) noexcept {
  return pair == Pair::phase_phase || pair == Pair::phase_chassis ? Function::ac : Function::dc;
}

}  // namespace ohmward::highvoltage
