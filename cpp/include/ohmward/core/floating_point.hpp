#pragma once

/// @file
/// Compile-time guard: the same reading must give the same last digit everywhere, so arithmetic has to be plain IEEE.

#include <limits>

#if defined(__FAST_MATH__) || (defined(__FINITE_MATH_ONLY__) && __FINITE_MATH_ONLY__)
#error "Ohmward can not be compiled with fast-math: a missing value would pass a limit. Remove -ffast-math / -Ofast."
#endif
#if (defined(__FP_FAST_FMA) || defined(__ARM_FEATURE_FMA)) && !defined(OHMWARD_CONTRACTION_IS_OFF)
#error \
    "This target has fused multiply-add: compile with -ffp-contract=off -DOHMWARD_CONTRACTION_IS_OFF (the CMake package does)."
#endif
#if defined(__FLT_EVAL_METHOD__) && __FLT_EVAL_METHOD__ != 0 && __FLT_EVAL_METHOD__ != 16
#error "Ohmward needs double arithmetic without excess precision: compile 32-bit x86 with -mfpmath=sse."
#endif

namespace ohmward {

static_assert(std::numeric_limits<double>::is_iec559, "Ohmward needs IEEE 754 doubles");

/// The one NaN that a computed value shows where there is none.
inline constexpr double nan = std::numeric_limits<double>::quiet_NaN();
inline constexpr double infinity = std::numeric_limits<double>::infinity();

}  // namespace ohmward
