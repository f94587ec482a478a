#pragma once

#include <vector>

#include "thresholds/cells.hpp"
#include "thresholds/share.hpp"

namespace ohmward::thresholds {

/// What is known of a threshold of least cost: there units with the event are as dense, times `odds`, as those without.
struct Crossing {
  std::vector<double> with, without;  ///< smoothed shares of each class by cell
  double units_with = 0;              ///< as many equal ones
  double units_without = 0;
  double odds = 1;           ///< cost of all misses over that of all false alarms
  bool odds_stated = true;   ///< or those of the sample, where chance moves both classes together
  double design_effect = 1;  ///< variance of the difference of densities over that of independent units
};

/// All thresholds that a likelihood ratio of the units with the event and without does not deny, as binomial counts of
/// a sample that they are part of: neither of those within the kernel's window there, which must be in balance at a
/// best threshold, nor of those between there and `at` (a place in cells), which say whether it costs more. The
/// interval reaches over all that are not denied, though some between may be.
/// @param most of the signed root of the likelihood ratio
[[nodiscard]] Ends threshold_interval(const Crossing& crossing, const Cells& cells, double at, double most);

}  // namespace ohmward::thresholds
