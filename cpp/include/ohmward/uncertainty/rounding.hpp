#pragma once

#include <string>

namespace ohmward::uncertainty {

/// A value and its uncertainty as people write them.
struct Rounded {
  double value;
  double uncertainty;
  int decimals;  ///< places after the point; negative: rounded to tens, hundreds …
};

/// Rounds an uncertainty to `digits` digits, up unless the excess is at most 5 % of the last digit kept, and the value
/// to the same place (JCGM 100:2008 7.2.6). @throws InvalidParameter unless uncertainty > 0 and digits is 1 or 2.
/// Source: `gum`.
[[nodiscard]] Rounded rounded(double value, double uncertainty, int digits = 2);

/// "10.058 ± 0.027", or "(2.3 ± 0.4)e9" beyond 1e6 and below 1e-3.
[[nodiscard]] std::string text(const Rounded& result);

}  // namespace ohmward::uncertainty
