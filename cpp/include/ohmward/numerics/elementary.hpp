#pragma once

/// @file
/// exp, exp2, log, log2, pow and sqrt with the same bits on every machine.
///
/// Only IEEE 754 addition, subtraction, multiplication, division and square root and integer operations on the bit
/// pattern: no libm, no fused multiply-add, no branch. A loop over any of them vectorises.
///
/// NaN gives the one quiet NaN of core. Subnormal numbers count as zero, as arguments and as results, so that a host
/// that flushes them sees the same values; the smallest result other than zero is 2^-1022.
///
/// Largest errors found and the bounds that the tests hold (ulp of the result; reference: 64-bit precision, and
/// mpmath):
///
/// | function | found | bound | searched |
/// |---|---|---|---|
/// | exp | 0.626 | 0.70 | 1e7 over the whole range, 1e7 in -1 ... 1, 40 neighbours of every reduction boundary |
/// | exp2 | 0.620 | 0.70 | the same |
/// | log | 0.828 | 0.90 | 1e7, half of them in 0.5 ... 1.5; 100 neighbours of every power of two and table edge |
/// | log2 | 0.820 | 0.90 | the same |
/// | log1p | 1.281 | 1.5 | 1e7 in -0.9 ... 3, 1e7 in 2^-60 ... 1 |
/// | pow | 0.742 | 0.75 | 1e7, t in 2^-20 ... 2^40, p of -2, -0.731, -0.5, 0.5, 1.3 |
/// | pow, any p | 0.10 abs(p) | 0.7 + 0.115 abs(p) | 5e6, p of -20 ... 300 |
///
/// exp2 and log2 are exact for integers and powers of two. The plots come from cpp/benchmarks/plot_errors.py.

#include <cmath>
#include <cstdint>

#include "ohmward/core/floating_point.hpp"
#include "ohmward/numerics/coefficients.hpp"
#include "ohmward/numerics/level.hpp"

namespace ohmward::numerics {
inline namespace OHMWARD_LEVEL {

inline constexpr double smallest_normal = 0x1p-1022;
inline constexpr double largest_finite = 0x1.fffffffffffffp1023;

namespace detail {

[[nodiscard]] constexpr std::uint64_t bits(double x) noexcept { return __builtin_bit_cast(std::uint64_t, x); }
[[nodiscard]] constexpr double from_bits(std::uint64_t x) noexcept { return __builtin_bit_cast(double, x); }

[[nodiscard]] constexpr double absolute(double x) noexcept { return from_bits(bits(x) & (~std::uint64_t{0} >> 1)); }

/// x with its `low` lowest bits cleared.
[[nodiscard]] constexpr double truncated(double x, unsigned low) noexcept {
  return from_bits(bits(x) & (~std::uint64_t{0} << low));
}

template <int degree>
[[nodiscard]] constexpr double horner(const double (&c)[degree], double x) noexcept {
  double sum = c[degree - 1];
  for (int i = degree - 2; i >= 0; --i) sum = c[i] + x * sum;
  return sum;
}

/// 2^(counter/8) * (1 + q), where `shifted` is counter/8 (or counter) plus a constant whose last bits are zero.
/// The exponent is added after the last rounding: no subnormal arises on the way.
[[nodiscard]] constexpr double scaled(double shifted, double q) noexcept {
  const std::uint64_t counter = bits(shifted);
  const std::uint64_t entry
  = counter & 7;
  const double mantissa = from_bits(coefficients::exp_table[entry] + (entry << 49));
  return from_bits(bits(mantissa * q + mantissa) + ((counter & ~std::uint64_t{7}) << 49));
}

/// 2^(x + rest) for -1022 <= x < 1024 and a small rest; elsewhere and for NaN some number.
[[nodiscard]] constexpr double exp2_in_range(double x, double rest) noexcept {
  constexpr double to_eighths = 0x1.8p52 / 8;
  const double shifted = x + to_eighths;
  const double eighths = shifted - to_eighths;
  const double f = ((x - eighths) - coefficients::exp_shift_log2) + rest;
  return scaled(shifted, f * horner(coefficients::exp2_polynomial, f));
}

[[nodiscard]] constexpr double exp2_in_range(double x) noexcept {
  constexpr double to_eighths = 0x1.8p52 / 8;
  const double shifted = x + to_eighths;
  const double f = (x - (shifted - to_eighths)) - coefficients::exp_shift_log2;
  return scaled(shifted, f * horner(coefficients::exp2_polynomial, f));
}

/// e^x where the result is a normal number; elsewhere and for NaN some number.
[[nodiscard]] constexpr double exp_in_range(double x) noexcept {
  constexpr double to_integer = 0x1.8p52;
  const double shifted = x * coefficients::exp_per_step + to_integer;
  const double counter = shifted - to_integer;
  const double r =
      (x - counter * coefficients::exp_step_high) - (counter * coefficients::exp_step_low + coefficients::exp_shift_ln);
  return scaled(shifted, r + (r * r) * horner(coefficients::exp_polynomial, r));
}

/// x = 2^exponent * (1 + f) for a positive normal x, and log(1 + f) = f - (h - p).
struct LogParts {
  double exponent;
  double f;
  double h;
  double p;
};

[[nodiscard]] constexpr LogParts log_parts(double x) noexcept {
  // The exponent becomes a double without a 64-bit arithmetic shift, which older vector units lack.
  constexpr std::uint64_t bias = 1024;
  const std::uint64_t above = bits(x) - coefficients::log_offset;
  const std::uint64_t biased = (above + (bias << 52)) >> 52;
  const double exponent = from_bits(biased | bits(0x1p52)) - (0x1p52 + static_cast<double>(bias));
  const double f = from_bits(bits(x) - (above & 0xfff0000000000000)) - 1;
  const double s = f / (f + 2);
  const double z = s * s;
  const double h = 0.5 * (f * f);
  return {exponent, f, h, s * (h + z * horner(coefficients::log_polynomial, z))};
}

[[nodiscard]] constexpr double log_in_range(double x) noexcept {
  const LogParts of = log_parts(x);
  const double a = of.exponent * coefficients::ln2_high;
  const double sum = a + of.f;
  const double lost = (a - sum) + of.f;
  return sum + (((of.p + of.exponent * coefficients::ln2_low) + lost) - of.h);
}

/// log2 x as high + low with high = fl(high + low), for a positive normal x.
struct TwoDoubles {
  double high;
  double low;
};

[[nodiscard]] constexpr TwoDoubles log2_parts(double x) noexcept {
  const LogParts of = log_parts(x);
  const double ln_high = truncated(of.f - of.h, 32);
  const double ln_low = ((of.f - ln_high) - of.h) + of.p;
  const double high = ln_high * coefficients::log2e_high;  // exact
  const double low = (ln_low + ln_high) * coefficients::log2e_low + ln_low * coefficients::log2e_high;
  const double sum = of.exponent + high;
  const double rest = low + ((of.exponent - sum) + high);
  const double first = sum + rest;  // rest may be as large as 2^-7: make `first` the nearest double
  return {first, (sum - first) + rest};
}

/// An exponent made ready for many numbers.
struct Exponent {
  double value;
  double high;         ///< its upper 26 bits
  double low;          ///< the rest
  double at_zero;      ///< 0^p
  double at_infinity;  ///< inf^p
  double at_one;       ///< 1^p
};

[[nodiscard]] constexpr Exponent exponent(double p) noexcept {
  const double one = p == p ? 1 : nan;
  const double high = truncated(p, 27);
  return {p, high, p - high, p > 0 ? 0 : (p < 0 ? infinity : one), p > 0 ? infinity : (p < 0 ? 0 : one), one};
}

/// t^p, given log2 t where t is a normal number.
[[nodiscard]] constexpr double pow(double t, const TwoDoubles& w, const Exponent& p) noexcept {
  const double x = p.value * w.high;
  const double w_high = truncated(w.high, 27);
  const double w_low = (w.high - w_high) + w.low;
  const double y = exp2_in_range(p.high * w_high, w_low * p.high + w.high * p.low);
  const double beyond = x >= 1024 ? infinity : (x < -1022 ? 0 : p.at_one);  // x is NaN for 1^inf
  const bool in_range = (x >= -1022) & (x < 1024);
  const double of_limit = t > 1 ? p.at_infinity : (t > -smallest_normal ? p.at_zero : nan);
  const bool normal = (t >= smallest_normal) & (t <= largest_finite);
  return normal ? (in_range ? y : beyond) : of_limit;
}

[[nodiscard]] constexpr double logarithm_or_limit(double x, double of_normal) noexcept {
  const double of_other =
      x >= 0 ? (x < smallest_normal ? -infinity : infinity) : (x > -smallest_normal ? -infinity : nan);
  const bool normal = (x >= smallest_normal) & (x <= largest_finite);
  return normal ? of_normal : of_other;
}

}  // namespace detail

/// 2^x. +inf from x = 1024, +0 below x = -1022.
[[nodiscard]] constexpr double exp2(double x) noexcept {
  const double y = detail::exp2_in_range(x);
  const bool in_range = (x >= -1022) & (x < 1024);
  return in_range ? y : (x >= 1024 ? infinity : (x < -1022 ? 0 : nan));
}

/// e^x. +inf above the logarithm of the largest double (709.78), +0 below that of the smallest normal (-708.39).
[[nodiscard]] constexpr double exp(double x) noexcept {
  using coefficients::exp_highest, coefficients::exp_lowest;
  const double y = detail::exp_in_range(x);
  const bool in_range = (x >= exp_lowest) & (x <= exp_highest);
  return in_range ? y : (x > exp_highest ? infinity : (x < exp_lowest ? 0 : nan));
}

/// Natural logarithm. -inf for zero of either sign and subnormal x, NaN for negative x, +inf for +inf.
[[nodiscard]] constexpr double log(double x) noexcept { return detail::logarithm_or_limit(x, detail::log_in_range(x)); }

/// Logarithm to base 2; limits as log. Exact for powers of two.
[[nodiscard]] constexpr double log2(double x) noexcept {
  return detail::logarithm_or_limit(x, detail::log2_parts(x).high);
}

/// log(1 + x) without the loss of small x; limits as log at 1 + x, +0 for a zero of either sign.
[[nodiscard]] constexpr double log1p(double x) noexcept {
  const double u = 1 + x;
  const double lost = (x - (u - 1)) / u;
  const bool normal = (u >= smallest_normal) & (u <= largest_finite);
  const double within = detail::absolute(x) < smallest_normal ? 0 : detail::log_in_range(u) + lost;
  return normal ? within : detail::logarithm_or_limit(u, nan);
}

/// t^p of a number t >= 0, by way of log2 t in two doubles.
///
/// NaN for negative t and where t or p is NaN, also where the IEEE function would give 1. t^0 = 1 and 1^p = 1
/// otherwise; zero (and subnormal) and infinite t or p give the limits 0, 1 or +inf.
[[nodiscard]] constexpr double pow(double t, double p) noexcept {
  return detail::pow(t, detail::log2_parts(t), detail::exponent(p));
}

/// Square root, correctly rounded by the hardware (or the soft-float library).
[[nodiscard]] inline double sqrt(double x) noexcept { return std::sqrt(x); }

}  // namespace OHMWARD_LEVEL
}  // namespace ohmward::numerics
