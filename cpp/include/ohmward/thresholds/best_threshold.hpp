#pragma once

#include <cstddef>
#include <span>
#include <vector>

#include "ohmward/core/floating_point.hpp"
#include "ohmward/core/status.hpp"
#include "ohmward/statistics/bootstrap.hpp"
#include "ohmward/statistics/roc.hpp"

namespace ohmward::thresholds {

/// What mistakes cost, in any one unit.
struct Costs {
  double of_miss;           ///< an event that was not flagged
  double of_false_alarm;    ///< a flag on a unit without the event
  double prevalence = nan;  ///< of the event where the rule is to be used; NaN: as in the sample
};

/// One rule "flag above the threshold" on a set of units.
struct Rule {
  double threshold = nan;  ///< infinite: flag none, or all
  double up_to = nan;      ///< the lowest score that is flagged
  double above = nan;      ///< the highest that is not: any threshold from here to up_to does the same
  double cost = nan;       ///< a unit, on average
  double sensitivity = nan;
  double specificity = nan;
};

struct BestThreshold {
  Rule rule{};
  double low = nan;           ///< interval of the threshold; infinite where the units can not tell it from flagging all
  double high = nan;          ///< ... or none
  double cost_of_none = nan;  ///< of flagging nothing
  double cost_of_all = nan;   ///< of flagging everything
  double optimism = nan;      ///< by how much the cost of a rule is told too low on the units it was chosen on
  double cost_corrected = nan;
  std::size_t flags_none = 0;      ///< replicates whose best rule flags nothing
  std::size_t flags_all = 0;       ///< ... or everything
  std::size_t undefined = 0;       ///< replicates without one of the classes
  std::vector<double> thresholds;  ///< of the replicates, in the order drawn; NaN where undefined
  std::vector<double> optimisms;   ///< cost on all units less cost on its own replicate, one a replicate
  Status status = Status::too_few_points;
};

/// The threshold of least cost p·c_miss·(1 - sensitivity) + (1 - p)·c_alarm·(1 - specificity), p being the prevalence,
/// where both classes are smoothed by one normal kernel. Its bandwidth is Silverman's for the narrower class and the
/// fewer units n, with n^(-1/4). The rule that looks best without smoothing ends just behind some unit with the event
/// and costs new units 1.1 to 3.9 times as much more than the best (tests/power/threshold_choice.py).
///
/// A score that is a bound stands at its bound; one without any is left out, as is an unknown outcome.
/// At a best threshold p·c_miss times the density of units with the event equals (1 - p)·c_alarm times that of the
/// others. The interval reaches over all thresholds of which a likelihood ratio does not deny this, by the counts in
/// the kernel's window, nor that they cost no more than the best, by the counts between; with weights and in clusters
/// by the design effect, in clusters also by Student's factor. 95 % held 92.8 to 97.4 from 12 to 1000 events of ten
/// shapes, more from fewer (tests/power/threshold_coverage.py). Scores that spread over orders of magnitude want
/// logarithms. The bootstrap chooses the threshold anew on every replicate and judges it on all units: the mean
/// difference is the optimism (Harrell). Whole clusters are drawn where there are clusters.
/// @throws InvalidParameter as statistics::area_under_curve and statistics::bootstrap; a cost not above 0; a
///         prevalence outside (0, 1)
/// Status: sound; few_points (fewer than 10 units of a class, or replicates without a class); too_few_points (a class
/// is empty).
/// Sources: `expected-cost`, `smoothed-threshold`, `silverman-bandwidth`, `local-likelihood-interval`,
/// `optimism-bootstrap`. Accuracy: cells of a sixteenth of the bandwidth, of half from 1000 units of each class; costs
/// of rules equal those of counting (test_best_threshold.cpp).
[[nodiscard]] BestThreshold best_threshold(const statistics::ScoredUnits& scored, const Costs& costs,
                                           const statistics::BootstrapOptions& options = {});

/// The rule "flag above the threshold" judged on units as they are.
[[nodiscard]] Rule rule_at(const statistics::ScoredUnits& scored, double threshold, const Costs& costs);

}  // namespace ohmward::thresholds
