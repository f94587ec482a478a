#pragma once

#include <cstdint>

#include "ohmward/core/floating_point.hpp"
#include "ohmward/core/status.hpp"
#include "ohmward/statistics/roc.hpp"

namespace ohmward::thresholds {

/// Scores, larger ones speaking for the event; a unit is flagged where its score lies above the threshold.
using statistics::ScoredUnits;

enum class ShareInterval : std::int8_t {
  wilson = 0,  ///< covers its level on average over shares
  exact = 1,   ///< Clopper and Pearson: never less than its level
};

struct RatesOptions {
  double level = 0.95;
  ShareInterval interval = ShareInterval::wilson;
  double prevalence = nan;  ///< of the event where the rule is to be used; NaN: as in the sample
};

/// A share of units. Where a score is a bound, or an outcome unknown, it lies anywhere from worst to best.
struct Share {
  double value = nan;  ///< of known outcomes, scores of unknown side counting half
  double worst = nan;
  double best = nan;
  double low = nan;   ///< lower end of the interval at worst
  double high = nan;  ///< upper end of the interval at best
};

/// Weights of units, which are numbers of units where no weights are given.
struct FlagCounts {
  double with = 0, without = 0, unknown = 0;  ///< all units of this outcome
  double with_flagged_low = 0, with_flagged_high = 0;
  double without_flagged_low = 0, without_flagged_high = 0;
  double unknown_flagged_low = 0, unknown_flagged_high = 0;
  std::size_t left_out = 0;  ///< no score
};

struct Rates {
  FlagCounts counts{};
  Share sensitivity{};
  Share specificity{};
  Share positive_predictive_value{};
  Share negative_predictive_value{};
  Status status = Status::too_few_points;
};

/// What a threshold does on these units.
///
/// Clusters and weights count by an effective number of units (Korn and Graubard) on the degrees of freedom of the
/// clusters; counted weights by strata, each of which speaks as a whole for the units that it stands for. With a stated
/// prevalence predictive values follow from sensitivity and specificity (Bayes), their intervals from the delta method
/// on the logit; without one they are shares of this sample, which only a cohort can give.
/// @throws InvalidParameter as statistics::area_under_curve; a prevalence outside (0, 1); a NaN threshold; the exact
///         interval for units with weights
/// Status: sound; few_points (fewer than 10 units with the event, or of a class); too_few_points (a class is empty).
/// Sources: `clopper-pearson`, `wilson-score`, `korn-graubard`, `bayes-predictive-values`.
[[nodiscard]] Rates rates_at(const ScoredUnits& scored, double threshold, const RatesOptions& options = {});

/// Which share a threshold is sought for.
enum class Target : std::int8_t { sensitivity = 0, specificity = 1 };

struct TargetThreshold {
  double threshold = nan;  ///< flags as few (sensitivity) or as many (specificity) units as the target allows
  double low = nan;        ///< thresholds at which the interval of the share holds the target
  double high = nan;
  Status status = Status::too_few_points;
};

/// The threshold at which sensitivity or specificity reaches a target, with the thresholds that the data can not tell
/// from it: the interval of the share holds the target there. Infinite where only flagging none or all does.
/// @param target within (0, 1)
/// @throws InvalidParameter as rates_at
[[nodiscard]] TargetThreshold threshold_for(const ScoredUnits& scored, Target of, double target,
                                            const RatesOptions& options = {});

}  // namespace ohmward::thresholds
