#pragma once

#include <cstddef>
#include <cstdint>
#include <span>
#include <vector>

#include "ohmward/core/floating_point.hpp"
#include "ohmward/core/status.hpp"

namespace ohmward::statistics {

/// Scores of units with and without an event. A larger score speaks for the event.
///
/// Of each score an interval is known: `low` equals `high` where it was read exactly, a reading over range reaches to
/// infinity. A unit with NaN in low, high or weight is left out; so is one whose outcome is not known.
struct ScoredUnits {
  static constexpr std::uint8_t without = 0, with = 1, unknown = 2;

  std::span<const double> low;
  std::span<const double> high;
  std::span<const std::uint8_t> event;  ///< without, with or unknown
  std::span<const double> weight = {};  ///< above 0; empty: all 1
  std::span<const long> cluster = {};   ///< one label a unit, any integers; empty: each unit alone
  /// Where weights are shares that were counted: those of one label were counted together. Empty: weights are known.
  /// Shares (thresholds::rates_at) make use of it; all else takes weights as known, which errs to the wide side.
  std::span<const long> stratum = {};
};

/// @throws InvalidParameter for unequal lengths, strata without weights, low above high, an event beyond unknown or a
/// weight not above 0
void require(const ScoredUnits& units);

/// Probability that a unit with the event scores above one without, ties counting half.
struct Area {
  double area = nan;
  double standard_error = nan;
  double degrees_of_freedom = nan;
  double low = nan;
  double high = nan;
};

/// The area where the order of scores is in part unknown.
struct AreaUnderCurve {
  Area middle{};  ///< pairs of unknown order count half
  Area worst{};   ///< each of them speaks against the score
  Area best{};    ///< each of them speaks for it
  std::size_t with = 0;
  std::size_t without = 0;
  std::size_t clusters = 0;
  std::size_t left_out = 0;
  Status status = Status::too_few_points;
};

/// Area under the receiver operating characteristic by ranks, with DeLong's variance; units of one cluster may hang
/// together in any way (Obuchowski). O(n log n).
///
/// The interval is symmetric in the logit of an area to which half a unit of each class is added that speaks neither
/// way, with Student's factor on Welch's degrees of freedom, in clusters not more than clusters - 1. From 12 events 95
/// % held 96.8 to 98.4, an area ± 1.96 standard errors 80 to 90 (tests/power/threshold_coverage.py). At an area of 0 or
/// 1 the variance says nothing: there the far end is the area at which as many independent pairs as there are would all
/// have one order with the probability (1 - level) / 2.
/// @param level within (0, 1)
/// @throws InvalidParameter for unequal lengths, low above high, an event beyond unknown, a weight not above 0 or a
///         level outside (0, 1)
/// Status: sound; few_points (fewer than 10 with or without the event, or than 10 clusters); too_few_points (a class
/// is empty: no area; or one unit or cluster in it: no interval).
/// Sources: `delong`, `obuchowski`, `welch-placements`, `softened-area`. Accuracy: area and standard error within 1e-12
/// of all pairs taken one by one (test_roc.cpp), of scikit-learn's roc_auc_score (test_thresholds.py).
[[nodiscard]] AreaUnderCurve area_under_curve(const ScoredUnits& units, double level = 0.95);

/// Areas of two scores of the same units.
struct AreaComparison {
  Area first{};
  Area second{};
  Area difference{};  ///< first less second; its interval is symmetric
  double p_value = nan;
  std::size_t left_out = 0;
  Status status = Status::too_few_points;
};

/// Paired comparison of areas (DeLong; in clusters Obuchowski): units that lack one of the scores are left out.
/// Pairs of unknown order count half in both.
/// @param second_low, second_high the other score of the same units
/// @throws InvalidParameter as area_under_curve
/// Sources: `delong`, `obuchowski`.
[[nodiscard]] AreaComparison compare_areas(const ScoredUnits& first, std::span<const double> second_low,
                                           std::span<const double> second_high, double level = 0.95);

/// What is flagged where every score above a threshold is.
struct RocCurve {
  std::vector<double> threshold;  ///< falling: each known end of a score, then -infinity
  std::vector<double> with_low;   ///< share of those with the event that is surely above
  std::vector<double> with_high;  ///< ... that may be above
  std::vector<double> without_low;
  std::vector<double> without_high;
  Status status = Status::too_few_points;
};

/// The receiver operating characteristic; from (0, 0) to (1, 1), one point a threshold.
/// @throws InvalidParameter as area_under_curve
[[nodiscard]] RocCurve roc_curve(const ScoredUnits& units);

/// For each unit the share of the other class that it is rightly ordered with: of those without the event below a
/// unit with it, of those with it above a unit without; ties half. `score` has one number a unit.
/// Source: `delong`.
struct Placements {
  std::vector<double> share;
  double area = nan;
};
[[nodiscard]] Placements placements(std::span<const double> score, std::span<const std::uint8_t> event,
                                    std::span<const double> weight = {});

}  // namespace ohmward::statistics
