#pragma once

#include "ohmward/core/checked.hpp"
#include "ohmward/numerics/elementary.hpp"

namespace ohmward::formula {

/// A value and its status number, kept as a double so that a loop stays one width and vectorises on every machine.
/// `Checked` is the form for people; every formula has both, the short form in namespace `outcome`.
struct Outcome {
  double value;
  double code;

  [[nodiscard]] constexpr Checked<double> checked() const noexcept {
    return {value, static_cast<Status>(static_cast<int>(code))};
  }
};

inline namespace OHMWARD_LEVEL {
namespace detail {

[[nodiscard]] constexpr double number(Status status) noexcept { return static_cast<double>(status); }

/// Without && and ||, which branch: a loop over these vectorises.
template <class... Bool>
[[nodiscard]] constexpr bool all(Bool... conditions) noexcept {
  return (static_cast<int>(conditions) & ...) != 0;
}
template <class... Bool>
[[nodiscard]] constexpr bool any(Bool... conditions) noexcept {
  return (static_cast<int>(conditions) | ...) != 0;
}

[[nodiscard]] constexpr bool missing(double x) noexcept { return x != x; }

/// Above zero and finite. Subnormal numbers count as zero. False for NaN.
[[nodiscard]] constexpr bool positive(double x) noexcept {
  return all(x >= numerics::smallest_normal, x <= numerics::largest_finite);
}

/// At least zero and finite. False for NaN.
[[nodiscard]] constexpr bool not_negative(double x) noexcept {
  return all(x > -numerics::smallest_normal, x <= numerics::largest_finite);
}

/// Zero, or too small to be told from it.
[[nodiscard]] constexpr bool zero(double x) noexcept {
  return all(x > -numerics::smallest_normal, x < numerics::smallest_normal);
}

[[nodiscard]] constexpr bool finite(double x) noexcept {
  return all(x >= -numerics::largest_finite, x <= numerics::largest_finite);
}

/// Beyond this no reading of anything is believed: squares and their sums would overflow.
inline constexpr double greatest_reading = 1e100;
[[nodiscard]] constexpr bool believable(double x) noexcept {
  return all(x >= -greatest_reading, x <= greatest_reading);
}

/// A reading of +inf: the display was over range and no ceiling is known.
[[nodiscard]] constexpr bool over_range(double x) noexcept { return x > numerics::largest_finite; }

template <class... Double>
[[nodiscard]] constexpr bool any_missing(Double... x) noexcept {
  return any(missing(x)...);
}
template <class... Double>
[[nodiscard]] constexpr bool any_over_range(Double... x) noexcept {
  return any(over_range(x)...);
}
template <class... Double>
[[nodiscard]] constexpr bool all_positive(Double... x) noexcept {
  return all(positive(x)...);
}
template <class... Double>
[[nodiscard]] constexpr bool all_not_negative(Double... x) noexcept {
  return all(not_negative(x)...);
}

/// What is wrong with the inputs of a formula, worst first.
struct Inputs {
  bool missing;                ///< one of them is NaN
  bool possible;               ///< every one lies where it must; false for NaN
  bool over_range = false;     ///< a reading is +inf
  bool contradiction = false;  ///< possible one by one, not together
  bool not_applicable = false;
};

/// The value where there is one. A result that overflowed is out of domain, one that fell below the smallest normal
/// number has no value; an exact zero needs `may_be_zero`.
[[nodiscard]] constexpr Outcome judged(const Inputs& inputs, double value, bool may_be_zero) noexcept {
  const bool vanished = all(zero(value), !may_be_zero);
  const bool usable = all(inputs.possible, !inputs.contradiction, !inputs.not_applicable);
  const bool ok = all(usable, finite(value), !vanished);
  const bool vanishes = all(usable, vanished);
  const double of_result = vanishes ? number(Status::below_smallest) : number(Status::out_of_domain);
  const double of_possible = inputs.contradiction    ? number(Status::contradiction)
                             : inputs.not_applicable ? number(Status::not_applicable)
                                                     : of_result;
  const double of_inputs = inputs.possible     ? of_possible
                           : inputs.over_range ? number(Status::unknown_bound)
                                               : number(Status::out_of_domain);
  return {ok ? (zero(value) ? 0 : value) : nan, ok ? 0 : (inputs.missing ? number(Status::missing_input) : of_inputs)};
}

}  // namespace detail
}  // namespace OHMWARD_LEVEL
}  // namespace ohmward::formula
