#pragma once

#include <cstddef>
#include <cstdint>
#include <span>

#include "ohmward/numerics/level.hpp"

namespace ohmward::numerics {

/// One formula over many values, compiled for one instruction level.
///
/// `inputs` arguments have one value an element, the `parameters` that follow them have one value for all. Arrays are
/// contiguous; an output array may be one of the inputs, but may not overlap one in part.
struct Elementwise {
  using Value = void (*)(std::size_t size, const double* const* inputs, const double* parameters, double* out) noexcept;
  using StatusOf = void (*)(std::size_t size, const double* const* inputs, const double* parameters,
                            std::int8_t* out) noexcept;

  const char* name;
  const char* arguments;  ///< names of inputs and parameters, with units, separated by commas
  const char* formula;    ///< one line for a doc string
  std::size_t inputs;
  std::size_t parameters;
  Value value;
  StatusOf status;  ///< null where the function has a result for every argument
};

/// exp, exp2, log, log2, log1p and pow for a supported level.
[[nodiscard]] std::span<const Elementwise> functions(InstructionLevel level) noexcept;

/// Writes f(x) for every x at `level`; spans of one length, out may be x. Same bits as the scalar function.
/// @throws InvalidParameter if the lengths differ.
void exp(std::span<const double> x, std::span<double> out, InstructionLevel level = instruction_level());
void exp2(std::span<const double> x, std::span<double> out, InstructionLevel level = instruction_level());
void log(std::span<const double> x, std::span<double> out, InstructionLevel level = instruction_level());
void log2(std::span<const double> x, std::span<double> out, InstructionLevel level = instruction_level());
void pow(std::span<const double> t, double p, std::span<double> out, InstructionLevel level = instruction_level());

}  // namespace ohmward::numerics
