#pragma once

#include <cstdint>

/// The inline namespace of everything that a loop compiled for one instruction level calls.
///
/// The same source is compiled several times with different instructions. Were its inline functions to share one name,
/// the linker would keep a single copy of each, perhaps one with instructions that this machine lacks. So each level
/// has its own names; who includes the header sees only `ohmward::numerics::exp2`. The values never differ.
#ifndef OHMWARD_LEVEL
#define OHMWARD_LEVEL baseline
#endif

namespace ohmward::numerics {

/// What a loop over many values was compiled for. Every level gives the same bits.
enum class InstructionLevel : std::int8_t {
  baseline = 0,   ///< what every machine of the architecture has (x86-64: SSE2)
  x86_64_v3 = 1,  ///< AVX2; four doubles at a time, no fused multiply-add
  x86_64_v4 = 2,  ///< AVX-512 F, VL, BW, DQ; eight doubles at a time, no fused multiply-add
};

[[nodiscard]] constexpr const char* text(InstructionLevel level) noexcept {
  switch (level) {
    case InstructionLevel::baseline: return "baseline";
    case InstructionLevel::x86_64_v3: return "x86-64-v3";
    case InstructionLevel::x86_64_v4: return "x86-64-v4";
  }
  return "unknown instruction level";
}

/// Can this machine (and this build) run it?
[[nodiscard]] bool supported(InstructionLevel level) noexcept;

/// The level that batch calls and ufuncs run at: the highest supported one, or the one that the environment variable
/// OHMWARD_INSTRUCTION_LEVEL names (baseline, x86-64-v3, x86-64-v4), read once.
/// @throws InvalidParameter if the variable names an unknown level or one that is not supported here.
[[nodiscard]] InstructionLevel instruction_level();

}  // namespace ohmward::numerics
