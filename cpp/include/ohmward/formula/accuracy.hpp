#pragma once

/// @file
/// Standard uncertainty that one line of an accuracy sheet gives a reading.

#include "ohmward/formula/outcome.hpp"

namespace ohmward::formula {

/// sqrt(3): what a bound is divided by to give a standard uncertainty. Source: `gum` 4.3.7.
inline constexpr double divisor_of_bound = 1.7320508075688772;

/// What a sheet states for a reading.
struct SheetTerms {
  double reading_percent = 0;
  double range_percent = 0;
  double range_high = 0;  ///< what range_percent is of
  double counts = 0;
  double display_step = 0;  ///< one count
  double gain_share = 0;    ///< share of the reading term that is common to readings on one range, 0 ... 1
  double factor = 1;        ///< a sheet widens outside its reference range
  double divisor = divisor_of_bound;
};

/// Standard uncertainty in its common part and the rest; both in quadrature give the whole.
struct SheetUncertainty {
  double gain = nan;
  double reading = nan;
};

inline namespace OHMWARD_LEVEL {

/// The terms of one sheet add as bounds: a = p R + r range + n step, u = a/divisor. On the log scale
/// u(ln R) = (p + (r range + n step)/max(R, T))/divisor with the limit T (0 or NaN: none), so that counts do not blow
/// up below the limit. Source: `gum` 4.3.7, `iec-61557`.
[[nodiscard]] inline SheetUncertainty sheet_uncertainty(const SheetTerms& t, double reading, bool log_scale,
                                                        double decision_value) noexcept {
  constexpr double per_cent = 0.01;
  const double size = numerics::detail::absolute(reading);
  const double of_range = t.range_percent > 0 ? t.range_percent * per_cent * t.range_high : 0;
  const double additive = of_range + t.counts * t.display_step;
  double proportional = t.reading_percent * per_cent;
  double rest = additive;
  if (log_scale)
    rest = additive / (decision_value > size ? decision_value : size);
  else
    proportional *= size;
  const double scale = t.factor / t.divisor;
  const double whole = (proportional + rest) * scale;
  const double gain = proportional * t.gain_share * scale;
  return {gain, numerics::sqrt(whole * whole - gain * gain)};
}

}  // namespace OHMWARD_LEVEL
}  // namespace ohmward::formula
