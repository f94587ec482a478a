#include "ohmward/thresholds/decision_curve.hpp"

#include <algorithm>
#include <cmath>

#include "ohmward/core/errors.hpp"
#include "ohmward/statistics/distributions.hpp"
#include "statistics/level.hpp"
#include "thresholds/study_units.hpp"

namespace ohmward::thresholds {
namespace {

using statistics::ScoredUnits;

constexpr double few = 10;

void require(std::span<const double> probability, double prevalence, double level) {
  statistics::require_level(level);
  for (const double p : probability)
    if (!(p > 0 && p < 1)) throw InvalidParameter("probability", p, "between 0 and 1, both excluded");
  if (!std::isnan(prevalence) && !(prevalence > 0 && prevalence < 1))
    throw InvalidParameter("prevalence", prevalence, "between 0 and 1, both excluded");
}

struct Sums {
  double with = 0, without = 0;
};

struct Estimate {
  double value = nan;
  double half = nan;
};

/// Mean benefit where `flagged` says how far each unit is flagged, with half its interval from the sums of clusters.
class Benefit {
 public:
  Benefit(const StudyUnits& units, double prevalence, double level) : units_(units), prevalence_(prevalence) {
    for (std::size_t i = 0; i < units.size(); ++i)
      (units.event[i] == ScoredUnits::with ? total_.with : total_.without) += counts(i) ? units.weight[i] : 0;
    stated_ = !std::isnan(prevalence);
    if (!stated_) prevalence_ = total_.with / (total_.with + total_.without);
    const auto clusters = static_cast<double>(units.clusters);
    factor_ = -statistics::student_t_quantile((1 - level) / 2, clusters - 1) * std::sqrt(clusters / (clusters - 1));
  }

  [[nodiscard]] double prevalence() const noexcept { return prevalence_; }
  [[nodiscard]] Sums total() const noexcept { return total_; }

  [[nodiscard]] double of_shares(double sensitivity, double false_share, double odds) const noexcept {
    return prevalence_ * sensitivity - (1 - prevalence_) * false_share * odds;
  }

  template <class Flagged>
  [[nodiscard]] Estimate of(const Flagged& flagged, double odds) const {
    Sums above;
    for (std::size_t i = 0; i < units_.size(); ++i)
      if (counts(i))
        (units_.event[i] == ScoredUnits::with ? above.with : above.without) += units_.weight[i] * flagged(i);
    const double sensitivity = above.with / total_.with, false_share = above.without / total_.without;
    Estimate estimate{.value = of_shares(sensitivity, false_share, odds)};
    std::vector<double> influence(units_.clusters, 0.0);
    for (std::size_t i = 0; i < units_.size(); ++i) {
      if (!counts(i)) continue;
      const bool with = units_.event[i] == ScoredUnits::with;
      const double worth = with ? flagged(i) : -odds * flagged(i);
      if (stated_)
        influence[units_.cluster[i]] +=
            units_.weight[i] * (with ? prevalence_ * (flagged(i) - sensitivity) / total_.with
                                     : (1 - prevalence_) * odds * (false_share - flagged(i)) / total_.without);
      else
        influence[units_.cluster[i]] += units_.weight[i] * (worth - estimate.value) / (total_.with + total_.without);
    }
    double squares = 0;
    for (const double each : influence) squares += each * each;
    estimate.half = factor_ * std::sqrt(squares);
    return estimate;
  }

 private:
  [[nodiscard]] bool counts(std::size_t i) const noexcept { return units_.event[i] != ScoredUnits::unknown; }

  const StudyUnits& units_;
  double prevalence_;
  double factor_ = nan;
  Sums total_{};
  bool stated_ = false;
};

}  // namespace

DecisionCurve decision_curve(const ScoredUnits& scored, double threshold, std::span<const double> probability,
                             double prevalence, double level) {
  require(probability, prevalence, level);
  if (std::isnan(threshold)) throw InvalidParameter("threshold", threshold, "a number");
  const StudyUnits units = study_units(scored);
  DecisionCurve result;
  const auto number = [&](std::uint8_t event) { return static_cast<double>(std::ranges::count(units.event, event)); };
  const double fewest = std::min(number(ScoredUnits::with), number(ScoredUnits::without));
  if (fewest == 0) return result;
  result.status = fewest < few ? Status::few_points : Status::sound;
  const Benefit benefit(units, prevalence, level);
  result.prevalence = benefit.prevalence();
  const statistics::RocCurve curve = statistics::roc_curve(scored);
  const auto flagged = [&](std::size_t i, double unknown) {
    const bool sure = units.surely_above(i, threshold), maybe = units.maybe_above(i, threshold);
    return sure == maybe ? (sure ? 1.0 : 0.0) : unknown;
  };
  for (const double p : probability) {
    const double odds = p / (1 - p);
    const auto with = [&](std::size_t i) { return units.event[i] == ScoredUnits::with; };
    const Estimate worst = benefit.of([&](std::size_t i) { return flagged(i, with(i) ? 0 : 1); }, odds);
    const Estimate best = benefit.of([&](std::size_t i) { return flagged(i, with(i) ? 1 : 0); }, odds);
    result.rule.value.push_back(benefit.of([&](std::size_t i) { return flagged(i, 0.5); }, odds).value);
    result.rule.low.push_back(worst.value - worst.half);
    result.rule.high.push_back(best.value + best.half);
    result.all.push_back(benefit.of_shares(1, 1, odds));
    double most = 0;
    for (std::size_t k = 0; k < curve.threshold.size(); ++k)
      most = std::max(most, benefit.of_shares(0.5 * (curve.with_low[k] + curve.with_high[k]),
                                              0.5 * (curve.without_low[k] + curve.without_high[k]), odds));
    result.best.push_back(most);
  }
  return result;
}

}  // namespace ohmward::thresholds
