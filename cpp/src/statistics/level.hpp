#pragma once

#include "ohmward/core/errors.hpp"
#include "ohmward/numerics/normal.hpp"

namespace ohmward::statistics {

/// @throws InvalidParameter for a level of confidence outside (0, 1); NaN is outside
inline void require_level(double level) {
  if (!(level > 0 && level < 1)) throw InvalidParameter("level", level, "between 0 and 1, both excluded");
}

/// How many standard uncertainties a two-sided normal interval reaches to either side.
inline double two_sided_normal(double level) { return -numerics::normal_quantile((1 - level) / 2); }

}  // namespace ohmward::statistics
