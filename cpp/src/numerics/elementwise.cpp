#include "ohmward/numerics/elementwise.hpp"

#include "numerics/level_tables.hpp"
#include "ohmward/core/errors.hpp"

namespace ohmward::numerics {

LevelTable functions_baseline() noexcept;
LevelTable functions_x86_64_v3() noexcept;
LevelTable functions_x86_64_v4() noexcept;

namespace {

/// Places in the table of functions_of_level.cpp.
enum Place : std::size_t { place_exp, place_exp2, place_log, place_log2, place_log1p, place_pow };

void run(Place place, std::span<const double> x, const double* parameters, std::span<double> out,
         InstructionLevel level) {
  if (x.size() != out.size())
    throw InvalidParameter("out.size()", static_cast<double>(out.size()), "the length of the input");
  if (!supported(level)) throw InvalidParameter("level", text(level), "a level that this machine and build support");
  const double* const inputs[] = {x.data()};
  functions(level)[place].value(x.size(), inputs, parameters, out.data());
}

}  // namespace

std::span<const Elementwise> functions(InstructionLevel level) noexcept {
  const LevelTable table = OHMWARD_PICK_LEVEL(level, functions_)();
  return {table.first, table.size};
}

void exp(std::span<const double> x, std::span<double> out, InstructionLevel level) {
  run(place_exp, x, nullptr, out, level);
}
void exp2(std::span<const double> x, std::span<double> out, InstructionLevel level) {
  run(place_exp2, x, nullptr, out, level);
}
void log(std::span<const double> x, std::span<double> out, InstructionLevel level) {
  run(place_log, x, nullptr, out, level);
}
void log2(std::span<const double> x, std::span<double> out, InstructionLevel level) {
  run(place_log2, x, nullptr, out, level);
}
void pow(std::span<const double> t, double p, std::span<double> out, InstructionLevel level) {
  run(place_pow, t, &p, out, level);
}

}  // namespace ohmward::numerics
