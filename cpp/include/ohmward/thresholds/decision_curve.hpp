#pragma once

#include <span>
#include <vector>

#include "ohmward/core/floating_point.hpp"
#include "ohmward/core/status.hpp"
#include "ohmward/statistics/roc.hpp"

namespace ohmward::thresholds {

/// Events found, less false alarms at the exchange rate of one probability at which a flag is just worth while:
/// net benefit a unit = prevalence·sensitivity - (1 - prevalence)·(1 - specificity)·p/(1 - p).
struct NetBenefit {
  std::vector<double> value;  ///< scores of unknown side counting half
  std::vector<double> low;    ///< interval, at worst
  std::vector<double> high;   ///< interval, at best
};

struct DecisionCurve {
  NetBenefit rule{};         ///< of flagging above the threshold
  std::vector<double> all;   ///< of flagging everything; flagging nothing has 0
  std::vector<double> best;  ///< of the threshold that is best on these very units: no rule gets more here
  double prevalence = nan;
  Status status = Status::too_few_points;
};

/// Net benefit of a threshold over probabilities at which somebody would act (Vickers and Elkin).
///
/// @param probability each within (0, 1): the cost of a false alarm over that of a false alarm and a miss together
/// @param prevalence of the event where the rule is to be used; NaN: as in the sample
/// @throws InvalidParameter as statistics::area_under_curve; a probability or prevalence outside (0, 1)
/// Units of unknown outcome are left out. Status as rates_at.
/// Source: `decision-curve`.
[[nodiscard]] DecisionCurve decision_curve(const statistics::ScoredUnits& scored, double threshold,
                                           std::span<const double> probability, double prevalence = nan,
                                           double level = 0.95);

}  // namespace ohmward::thresholds
