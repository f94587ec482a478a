#pragma once

/// @file
/// Named decision rules and limits about a nominal value. A rule is agreed before measuring and reported with the
/// result. Sources: `ilac-g8`, `jcgm-106`, `iso-14253-1`.

#include <string_view>

#include "ohmward/conformity/limit.hpp"

namespace ohmward::conformity {

/// w = 0.83 U with k = 2: specific risk of a false pass below 5 % for a one-sided limit. Source: `iso-14253-1`.
[[nodiscard]] Rule iso_14253_1();

/// "simple", "guarded" (U), "iso_14253_1" (0.83 U), "guarded_1.5" (1.5 U), "guarded_3" (3 U), each with k = 2.
/// @throws InvalidParameter for another name
[[nodiscard]] Rule rule_named(std::string_view name);

/// The guard band that keeps the specific risk of a false pass at a one-sided limit at or below `risk`: w = z·u.
/// With finite degrees of freedom z is the t quantile. @throws InvalidParameter for a risk outside (0, 0.5]
[[nodiscard]] Rule rule_for_risk(double risk, double degrees_of_freedom = infinity);

/// Greatest specific risk of a false pass that a rule allows at a one-sided limit: that of a reading on the acceptance
/// limit. 2.28 % for w = 2u.
[[nodiscard]] double greatest_specific_risk(const Rule& rule) noexcept;

/// One- or two-sided tolerance about a nominal value, absolute or as a fraction of it. NaN leaves an end open.
struct Tolerance {
  double nominal = nan;
  double below = nan;
  double above = nan;
  bool relative = false;  ///< `below` and `above` are fractions of the nominal value
  bool strict = false;
  Rule rule{};
};
/// @throws InvalidParameter for a tolerance below 0, no end at all, or an empty interval
[[nodiscard]] Limit limit_about(const Tolerance& tolerance);

/// A limit whose ends make sense: at least one, finite, lower below upper. @throws InvalidParameter
void check(const Limit& limit);

/// Least and greatest accepted reading for a standard uncertainty on the scale of the quantity (log: of ln value).
struct Acceptance {
  double lower = nan;
  double upper = nan;
  /// Some reading can pass.
  [[nodiscard]] constexpr bool is_possible() const noexcept { return !(lower > upper); }
};
[[nodiscard]] Acceptance acceptance_of(const Limit& limit, double standard_uncertainty,
                                       Scale scale = Scale::linear) noexcept;

}  // namespace ohmward::conformity
