#pragma once

/// @file
/// The loops behind every elementwise formula, written so that a compiler vectorises them.
///
/// A formula is a struct F with
///   static constexpr const char *name, *arguments, *formula;
///   static constexpr std::size_t inputs, parameters;
///   static auto prepare(const double* parameters);               // what the whole loop shares
///   static formula::Outcome (or double) at(const Prepared&, double...);
///
/// Only functions of this level and compiler built-ins may be called here: see ohmward/numerics/level.hpp.

#include <cstddef>
#include <cstdint>

#include "ohmward/numerics/elementwise.hpp"

/// Says of the loop that follows that no element depends on another: an output is an input itself or apart from it.
#if defined(__clang__)
#define OHMWARD_INDEPENDENT_ELEMENTS _Pragma("clang loop vectorize(assume_safety)")
#elif defined(__GNUC__)
#define OHMWARD_INDEPENDENT_ELEMENTS _Pragma("GCC ivdep")
#else
#define OHMWARD_INDEPENDENT_ELEMENTS
#endif

namespace ohmward::numerics {
inline namespace OHMWARD_LEVEL {
namespace loops {

/// Eight cache lines of doubles: the unit of prefetching.
inline constexpr std::size_t strip = 64;
/// How far ahead memory is asked for; the largest single gain of all that was tried.
inline constexpr std::size_t ahead = 192;
/// Elements whose status stays in the first-level cache before it is narrowed to a byte.
inline constexpr std::size_t block = 512;

inline void prefetch([[maybe_unused]] const double* from) noexcept {
#if defined(__GNUC__)
  for (std::size_t line = 0; line < strip; line += 8) __builtin_prefetch(from + line);
#endif
}

template <std::size_t... index>
struct Indices {};
template <std::size_t count, std::size_t... index>
struct MakeIndices : MakeIndices<count - 1, count - 1, index...> {};
template <std::size_t... index>
struct MakeIndices<0, index...> {
  using type = Indices<index...>;
};
template <std::size_t count>
using IndicesUpTo = typename MakeIndices<count>::type;

constexpr double value_of(double x) noexcept { return x; }
template <class Outcome>
constexpr double value_of(const Outcome& x) noexcept {
  return x.value;
}

/// Calls body(first, size) for strips, with the inputs of later ones prefetched; `size` is a constant but in the last.
template <class F, class Body>
inline void in_strips(std::size_t size, const double* const* inputs, Body body) noexcept {
  std::size_t i = 0;
  for (; i + strip <= size; i += strip) {
    for (std::size_t k = 0; k < F::inputs; ++k) prefetch(inputs[k] + i + ahead);
    body(i, strip);
  }
  if (i < size) body(i, size - i);
}

template <class F, std::size_t... k>
inline void value(std::size_t size, const double* const* inputs, const double* parameters, double* out,
                  Indices<k...>) noexcept {
  const auto prepared = F::prepare(parameters);
  in_strips<F>(size, inputs, [&](std::size_t first, std::size_t count) {
    const auto shared = prepared;
    const double* const at[] = {inputs[k] + first...};
    double* const to = out + first;
    OHMWARD_INDEPENDENT_ELEMENTS
    for (std::size_t i = 0; i < count; ++i) to[i] = value_of(F::at(shared, at[k][i]...));
  });
}

template <class F, std::size_t... k>
inline void status(std::size_t size, const double* const* inputs, const double* parameters, std::int8_t* out,
                   Indices<k...>) noexcept {
  const auto prepared = F::prepare(parameters);
  double codes[block];
  for (std::size_t first = 0; first < size; first += block) {
    const auto shared = prepared;
    const std::size_t count = size - first < block ? size - first : block;
    const double* const at[] = {inputs[k] + first...};
    for (std::size_t i = 0; i < count; ++i) codes[i] = F::at(shared, at[k][i]...).code;
    std::int8_t* const to = out + first;
    for (std::size_t i = 0; i < count; ++i) to[i] = static_cast<std::int8_t>(static_cast<std::int32_t>(codes[i]));
  }
}

template <class F>
void value(std::size_t size, const double* const* inputs, const double* parameters, double* out) noexcept {
  value<F>(size, inputs, parameters, out, IndicesUpTo<F::inputs>{});
}

template <class F>
void status(std::size_t size, const double* const* inputs, const double* parameters, std::int8_t* out) noexcept {
  status<F>(size, inputs, parameters, out, IndicesUpTo<F::inputs>{});
}

/// Entry of a function that has a result for every argument.
template <class F>
inline constexpr Elementwise function{F::name, F::arguments, F::formula, F::inputs, F::parameters, &value<F>, nullptr};

/// Entry of a formula with a status.
template <class F>
inline constexpr Elementwise formula{F::name,       F::arguments, F::formula, F::inputs,
                                     F::parameters, &value<F>,    &status<F>};

}  // namespace loops
}  // namespace OHMWARD_LEVEL
}  // namespace ohmward::numerics
