#include "ohmward/numerics/level.hpp"

#include <cstdlib>
#include <string_view>

#include "ohmward/core/errors.hpp"

namespace ohmward::numerics {
namespace {

constexpr InstructionLevel highest_first[] = {InstructionLevel::x86_64_v4, InstructionLevel::x86_64_v3,
                                              InstructionLevel::baseline};

InstructionLevel highest_supported() noexcept {
  for (const InstructionLevel level : highest_first)
    if (supported(level)) return level;
  return InstructionLevel::baseline;
}

InstructionLevel chosen() {
  constexpr const char* variable = "OHMWARD_INSTRUCTION_LEVEL";
  // Read once, before there can be threads of ours; nothing here writes the environment.
  // NOLINTNEXTLINE(concurrency-mt-unsafe)
  const char* const given = std::getenv(variable);
  if (given == nullptr || *given == '\0') return highest_supported();
  for (const InstructionLevel level : highest_first) {
    if (std::string_view(given) != text(level)) continue;
    if (!supported(level)) throw InvalidParameter(variable, given, "a level that this machine and build support");
    return level;
  }
  throw InvalidParameter(variable, given, "baseline, x86-64-v3 or x86-64-v4");
}

}  // namespace

bool supported(InstructionLevel level) noexcept {
  switch (level) {
    case InstructionLevel::baseline: return true;
#ifdef OHMWARD_X86_LEVELS
    case InstructionLevel::x86_64_v3: return __builtin_cpu_supports("avx2") != 0;
    case InstructionLevel::x86_64_v4:
      return __builtin_cpu_supports("avx512f") != 0 && __builtin_cpu_supports("avx512vl") != 0 &&
             __builtin_cpu_supports("avx512bw") != 0 && __builtin_cpu_supports("avx512dq") != 0;
#else
    case InstructionLevel::x86_64_v3:
    case InstructionLevel::x86_64_v4: return false;
#endif
  }
  return false;
}

InstructionLevel instruction_level() {
  static const InstructionLevel level = chosen();
  return level;
}

}  // namespace ohmward::numerics
