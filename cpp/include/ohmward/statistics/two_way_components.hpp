#pragma once

#include <cstddef>
#include <span>

#include "ohmward/core/floating_point.hpp"
#include "ohmward/core/status.hpp"

namespace ohmward::statistics {

/// One cause of scatter.
struct Component {
  double variance = nan;            ///< as estimated; below 0 where chance made it so
  double standard_deviation = nan;  ///< its root; 0 where the estimate is negative
  std::size_t levels = 0;           ///< how many different ones were seen
};

/// Components of variance of readings by two causes. The one-way case is variance_components in type_a.hpp.
struct TwoWayComponents {
  double mean = nan;                  ///< of all readings
  double standard_uncertainty = nan;  ///< of that mean, negative estimates counted as 0
  Component first;                    ///< crossed: of the first cause; nested: of the outer one
  Component second;                   ///< crossed: of the second cause; nested: of the inner one within the outer
  Component interaction;              ///< crossed only, and only where it was asked for and cells repeat
  Component within;                   ///< of one reading, what no cause explains
  Status status = Status::too_few_points;
};

/// Inner groups within outer ones: readings of a set-up, set-ups of a day. Unequal numbers allowed.
///
/// Sums of squares of groups equal their expectations, linear in the variances (Henderson's method I): unbiased
/// whatever the numbers are; for equal numbers the usual analysis of variance. A variance below 0 is reported as
/// estimated, its standard deviation as 0, and the others stay as they are, so that their means over many samples are
/// right.
///
/// @param outer,inner one label a reading, any integers; inner labels may repeat in another outer group
/// @throws InvalidParameter for no reading or unequal lengths
/// Missing readings (NaN) are left out. Status: sound; few_points (a cause with fewer than 4 levels); too_few_points
/// (fewer than 2 readings); no_solution (the design can not tell the causes apart: one outer group, one inner group in
/// each outer one, or one reading in each inner one).
/// Source: `henderson-1953`. Accuracy: within 1e-10 of the analysis of variance by statsmodels where numbers are equal,
/// of the expectations worked out with whole matrices where not (test_statistics.py).
[[nodiscard]] TwoWayComponents nested_components(std::span<const double> readings, std::span<const long> outer,
                                                 std::span<const long> inner);

/// Two causes that meet: operators and meters that read the same parts. Unequal numbers and empty cells allowed.
/// Method, errors and status as nested_components.
/// @param interaction asks for a component of the cell as well; where no cell has two readings it can not be told from
///        the scatter of one reading, which then holds both, and interaction stays NaN
[[nodiscard]] TwoWayComponents crossed_components(std::span<const double> readings, std::span<const long> first,
                                                  std::span<const long> second, bool interaction = true);

}  // namespace ohmward::statistics
