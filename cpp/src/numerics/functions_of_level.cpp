// Compiled once for each instruction level.

#include "numerics/level_loops.hpp"
#include "numerics/level_tables.hpp"
#include "ohmward/numerics/elementary.hpp"
#include "ohmward/numerics/normal.hpp"
#include "ohmward/numerics/random.hpp"

namespace ohmward::numerics {
inline namespace OHMWARD_LEVEL {
namespace loops {
namespace {

struct Nothing {};

#define OHMWARD_FUNCTION_OF_X(Name, function, text) \
  struct Name { \
    static constexpr const char* name = #function; \
    static constexpr const char* arguments = "x"; \
    static constexpr const char* formula = text; \
    static constexpr std::size_t inputs = 1, parameters = 0; \
    static constexpr Nothing prepare(const double*) noexcept { return {}; } \
    static double at(Nothing, double x) noexcept { return numerics::function(x); } \
  };
OHMWARD_FUNCTION_OF_X(Exp, exp, "e to the power x; equal bits on every machine.")
OHMWARD_FUNCTION_OF_X(Exp2, exp2, "2 to the power x; equal bits on every machine.")
OHMWARD_FUNCTION_OF_X(Log, log, "Natural logarithm of x; equal bits on every machine.")
OHMWARD_FUNCTION_OF_X(Log2, log2, "Logarithm of x to base 2; equal bits on every machine.")
OHMWARD_FUNCTION_OF_X(Log1p, log1p, "Natural logarithm of 1 + x; equal bits on every machine.")
OHMWARD_FUNCTION_OF_X(Erf, erf, "Error function of x; equal bits on every machine.")
OHMWARD_FUNCTION_OF_X(Erfc, erfc, "1 - erf(x); equal bits on every machine.")
OHMWARD_FUNCTION_OF_X(NormalProbability, normal_probability,
                      "Probability that a standard normal variable is at most x; equal bits on every machine.")
OHMWARD_FUNCTION_OF_X(
    NormalQuantile, normal_quantile,
    "The value below which a standard normal variable lies with probability x; equal bits everywhere.")
#undef OHMWARD_FUNCTION_OF_X

struct Pow {
  static constexpr const char* name = "pow";
  static constexpr const char* arguments = "t, p";
  static constexpr const char* formula = "t to the power p for t >= 0; equal bits on every machine.";
  static constexpr std::size_t inputs = 1, parameters = 1;
  static constexpr detail::Exponent prepare(const double* of) noexcept { return detail::exponent(of[0]); }
};

/// In two short loops: a processor overlaps elements only as far as it looks ahead, and both together are too long.
void pow_loop(std::size_t size, const double* const* inputs, const double* parameters, double* out) noexcept {
  const auto prepared = Pow::prepare(parameters);
  in_strips<Pow>(size, inputs, [&](std::size_t first, std::size_t count) {
    const auto p = prepared;
    const double* const t = inputs[0] + first;
    double* const to = out + first;
    double high[strip], low[strip];
    for (std::size_t i = 0; i < count; ++i) {
      const detail::TwoDoubles w = detail::log2_parts(t[i]);
      high[i] = w.high;
      low[i] = w.low;
    }
    OHMWARD_INDEPENDENT_ELEMENTS
    for (std::size_t i = 0; i < count; ++i) to[i] = detail::pow(t[i], {high[i], low[i]}, p);
  });
}

constexpr Elementwise pow_entry{Pow::name,       Pow::arguments, Pow::formula, Pow::inputs,
                                Pow::parameters, &pow_loop,      nullptr};

constexpr Elementwise table[] = {function<Exp>,           function<Exp2>,  function<Log>,
                                 function<Log2>,          function<Log1p>, pow_entry,
                                 function<Erf>,           function<Erfc>,  function<NormalProbability>,
                                 function<NormalQuantile>};

void uniform_pairs(std::size_t pairs, double* out, Stream stream, std::uint64_t first_pair) noexcept {
  for (std::size_t i = 0; i < pairs; ++i) {
    const numerics::detail::Pair drawn = numerics::detail::uniform_pair(stream, first_pair + i);
    out[2 * i] = drawn.first;
    out[2 * i + 1] = drawn.second;
  }
}

void normal_pairs(std::size_t pairs, double* out, Stream stream, std::uint64_t first_pair) noexcept {
  uniform_pairs(pairs, out, stream, first_pair);
  for (std::size_t i = 0; i < 2 * pairs; ++i) out[i] = normal_quantile(out[i]);
}

constexpr Draws draws{&uniform_pairs, &normal_pairs};

}  // namespace
}  // namespace loops
}  // namespace OHMWARD_LEVEL

LevelTable OHMWARD_OF_LEVEL(functions_)() noexcept;
LevelTable OHMWARD_OF_LEVEL(functions_)() noexcept {
  return {loops::table, sizeof loops::table / sizeof loops::table[0]};
}

const Draws& OHMWARD_OF_LEVEL(draws_)() noexcept;
const Draws& OHMWARD_OF_LEVEL(draws_)() noexcept { return loops::draws; }

}  // namespace ohmward::numerics
