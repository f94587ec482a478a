#pragma once

#include <cstddef>

#include "ohmward/numerics/elementwise.hpp"
#include "ohmward/numerics/random.hpp"

#define OHMWARD_JOINED_(a, b) a##b
#define OHMWARD_JOINED(a, b) OHMWARD_JOINED_(a, b)
/// A name that belongs to the level being compiled: OHMWARD_OF_LEVEL(functions_) is functions_x86_64_v3.
#define OHMWARD_OF_LEVEL(name) OHMWARD_JOINED(name, OHMWARD_LEVEL)

namespace ohmward::numerics {

/// One level's formulas of a room.
struct LevelTable {
  const Elementwise* first;
  std::size_t size;
};

/// One level's loops that draw whole pairs of random numbers.
struct Draws {
  using Loop = void (*)(std::size_t pairs, double* out, Stream stream, std::uint64_t first_pair) noexcept;
  Loop uniform;
  Loop normal;
};

/// The one of name##baseline, name##x86_64_v3 ... that is meant; `level` must be a supported one.
#ifdef OHMWARD_X86_LEVELS
#define OHMWARD_PICK_LEVEL(level, name) \
  ((level) == numerics::InstructionLevel::x86_64_v4   ? name##x86_64_v4 \
   : (level) == numerics::InstructionLevel::x86_64_v3 ? name##x86_64_v3 \
                                                      : name##baseline)
#else
#define OHMWARD_PICK_LEVEL(level, name) (static_cast<void>(level), name##baseline)
#endif

}  // namespace ohmward::numerics
