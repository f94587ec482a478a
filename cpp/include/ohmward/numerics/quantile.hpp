#pragma once

#include <span>

namespace ohmward::numerics {

/// Quantiles of a sample without sorting it: a histogram over the leading bits finds the few values around each.
///
/// Definition: linear between order statistics, position level * (n - 1). A NaN in the sample, an empty sample or a
/// level outside 0 ... 1 gives NaN.
/// @param values  sample, any order; not changed
/// @param levels  probabilities 0 ... 1, any order
/// @param out     one quantile a level
/// @throws InvalidParameter if out and levels differ in length
void quantiles(std::span<const double> values, std::span<const double> levels, std::span<double> out);

}  // namespace ohmward::numerics
