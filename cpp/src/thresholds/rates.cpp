#include "ohmward/thresholds/rates.hpp"

#include <algorithm>
#include <cmath>

#include "ohmward/core/errors.hpp"
#include "ohmward/numerics/elementary.hpp"
#include "ohmward/numerics/normal.hpp"
#include "ohmward/statistics/distributions.hpp"
#include "statistics/level.hpp"
#include "thresholds/share.hpp"
#include "thresholds/study_units.hpp"

namespace ohmward::thresholds {
namespace {

constexpr double few = 10;
constexpr std::uint8_t with = ScoredUnits::with, without = ScoredUnits::without;

void require(const ScoredUnits& units, const RatesOptions& options) {
  statistics::require_level(options.level);
  const bool stated = !std::isnan(options.prevalence);
  if (stated && !(options.prevalence > 0 && options.prevalence < 1))
    throw InvalidParameter("prevalence", options.prevalence, "between 0 and 1, both excluded");
  if (options.interval == ShareInterval::exact && !units.weight.empty())
    throw InvalidParameter("interval", "exact", "wilson where units have weights");
}

/// How what is not known falls out.
enum class Fate { worst, middle, best };

/// One threshold on all units: who belongs to which share at which fate.
class AtThreshold {
 public:
  AtThreshold(const StudyUnits& units, double threshold) : units_(units), threshold_(threshold) {}

  [[nodiscard]] MeasuredShare sensitivity(Fate fate) const {
    return measured_share(units_, [this, fate](std::size_t i) -> Member {
      const bool missed = may_be_below(i), hit = may_be_above(i);
      if (units_.event[i] == with) return {1, flagged(i, fate == Fate::best, fate)};
      if (units_.event[i] == without || fate == Fate::middle) return {};
      // An unknown outcome is an event where that does harm, or good.
      return fate == Fate::worst ? Member{missed ? 1.0 : 0.0, 0} : Member{hit ? 1.0 : 0.0, 1};
    });
  }

  [[nodiscard]] MeasuredShare specificity(Fate fate) const {
    return measured_share(units_, [this, fate](std::size_t i) -> Member {
      const bool spared = may_be_below(i), alarmed = may_be_above(i);
      if (units_.event[i] == without) return {1, 1 - flagged(i, fate == Fate::worst, fate)};
      if (units_.event[i] == with || fate == Fate::middle) return {};
      return fate == Fate::worst ? Member{alarmed ? 1.0 : 0.0, 0} : Member{spared ? 1.0 : 0.0, 1};
    });
  }

  /// Share of events among the flagged.
  [[nodiscard]] MeasuredShare positive(Fate fate) const {
    return measured_share(units_, [this, fate](std::size_t i) -> Member {
      if (units_.event[i] == with) return {flagged(i, fate == Fate::best, fate), 1};
      if (units_.event[i] == without) return {flagged(i, fate == Fate::worst, fate), 0};
      if (fate == Fate::middle) return {};
      return {may_be_above(i) ? 1.0 : 0.0, fate == Fate::best ? 1.0 : 0.0};
    });
  }

  /// Share without the event among those that are not flagged.
  [[nodiscard]] MeasuredShare negative(Fate fate) const {
    return measured_share(units_, [this, fate](std::size_t i) -> Member {
      if (units_.event[i] == with) return {1 - flagged(i, fate == Fate::best, fate), 0};
      if (units_.event[i] == without) return {1 - flagged(i, fate == Fate::worst, fate), 1};
      if (fate == Fate::middle) return {};
      return {may_be_below(i) ? 1.0 : 0.0, fate == Fate::best ? 1.0 : 0.0};
    });
  }

 private:
  [[nodiscard]] bool may_be_above(std::size_t i) const { return units_.maybe_above(i, threshold_); }
  [[nodiscard]] bool may_be_below(std::size_t i) const { return !units_.surely_above(i, threshold_); }

  /// 1 above, 0 not; unknown: half in the middle, else as the fate wants it.
  [[nodiscard]] double flagged(std::size_t i, bool wanted, Fate fate) const {
    const bool sure = units_.surely_above(i, threshold_), maybe = units_.maybe_above(i, threshold_);
    if (sure == maybe) return sure ? 1 : 0;
    return fate == Fate::middle ? 0.5 : (wanted ? 1 : 0);
  }

  const StudyUnits& units_;
  double threshold_;
};

template <class Measure>
Share share_over_fates(const Measure& measure, const RatesOptions& options) {
  const MeasuredShare worst = measure(Fate::worst), best = measure(Fate::best);
  return {.value = measure(Fate::middle).value,
          .worst = worst.value,
          .best = best.value,
          .low = interval_of(worst, options).low,
          .high = interval_of(best, options).high};
}

double logistic(double x) { return 1 / (1 + numerics::exp(-x)); }

/// Half a unit added to hits and misses where one of them is empty, so that a logarithm exists.
MeasuredShare softened(MeasuredShare share) {
  if (share.value > 0 && share.value < 1) return share;
  const double n = share.effective;
  share.value = (n * share.value + 0.5) / (n + 1);
  return share;
}

/// Predictive value for a prevalence: of hits among (hits and false ones), by Bayes.
/// ln odds = logit prevalence + ln(true share) - ln(1 - other share), with the roles of the classes as given.
struct Predictive {
  double value = nan;
  Ends ends{};
};
Predictive predictive(const MeasuredShare& right, const MeasuredShare& other, double prevalence,
                      const RatesOptions& options) {
  Predictive result;
  if (!(right.units > 0 && other.units > 0)) return result;
  const double hits = prevalence * right.value, false_ones = (1 - prevalence) * (1 - other.value);
  result.value = hits + false_ones > 0 ? hits / (hits + false_ones) : nan;
  if (std::isnan(right.effective) || std::isnan(other.effective)) return result;
  const MeasuredShare a = softened(right), b = softened(other);
  const double variance = a.variance() / (a.value * a.value) + b.variance() / ((1 - b.value) * (1 - b.value)) +
                          2 * covariance_of(right, other) / (a.value * (1 - b.value));
  const double freedom = std::min(right.degrees_of_freedom, other.degrees_of_freedom);
  const double factor = -statistics::student_t_quantile((1 - options.level) / 2, freedom);
  const double centre =
      numerics::log(prevalence / (1 - prevalence)) + numerics::log(a.value) - numerics::log(1 - b.value);
  const double half = factor * std::sqrt(std::max(0.0, variance));
  result.ends = {logistic(centre - half), logistic(centre + half)};
  return result;
}

void set_predictive_values(Rates& rates, const AtThreshold& at, const RatesOptions& options) {
  if (std::isnan(options.prevalence)) {
    rates.positive_predictive_value = share_over_fates([&](Fate fate) { return at.positive(fate); }, options);
    rates.negative_predictive_value = share_over_fates([&](Fate fate) { return at.negative(fate); }, options);
    return;
  }
  const auto both = [&](Fate fate, bool positive) {
    const MeasuredShare se = at.sensitivity(fate), sp = at.specificity(fate);
    return positive ? predictive(se, sp, options.prevalence, options)
                    : predictive(sp, se, 1 - options.prevalence, options);
  };
  const auto over_fates = [&](bool positive) {
    const Predictive worst = both(Fate::worst, positive), best = both(Fate::best, positive);
    return Share{both(Fate::middle, positive).value, worst.value, best.value, worst.ends.low, best.ends.high};
  };
  rates.positive_predictive_value = over_fates(true);
  rates.negative_predictive_value = over_fates(false);
}

FlagCounts counts_at(const StudyUnits& units, double threshold) {
  FlagCounts counts{.left_out = units.left_out};
  for (std::size_t i = 0; i < units.size(); ++i) {
    const std::uint8_t event = units.event[i];
    const double weight = units.weight[i];
    (event == with ? counts.with : (event == without ? counts.without : counts.unknown)) += weight;
    if (units.surely_above(i, threshold))
      (event == with ? counts.with_flagged_low
                     : (event == without ? counts.without_flagged_low : counts.unknown_flagged_low)) += weight;
    if (units.maybe_above(i, threshold))
      (event == with ? counts.with_flagged_high
                     : (event == without ? counts.without_flagged_high : counts.unknown_flagged_high)) += weight;
  }
  return counts;
}

Status status_of(const StudyUnits& units) {
  const auto number = [&](std::uint8_t event) { return static_cast<double>(std::ranges::count(units.event, event)); };
  const double fewest = std::min(number(with), number(without));
  return fewest == 0 ? Status::too_few_points : (fewest < few ? Status::few_points : Status::sound);
}

/// Thresholds fall along `candidates`; the first at which `holds` is true, which stays true from there on.
template <class Holds>
std::size_t first_where(const std::vector<double>& candidates, const Holds& holds) {
  const auto found = std::ranges::partition_point(candidates, [&](double t) { return !holds(t); });
  return static_cast<std::size_t>(found - candidates.begin());
}

}  // namespace

Rates rates_at(const ScoredUnits& scored, double threshold, const RatesOptions& options) {
  require(scored, options);
  if (std::isnan(threshold)) throw InvalidParameter("threshold", threshold, "a number");
  const StudyUnits units = study_units(scored);
  const AtThreshold at(units, threshold);
  Rates rates{.counts = counts_at(units, threshold)};
  rates.sensitivity = share_over_fates([&](Fate fate) { return at.sensitivity(fate); }, options);
  rates.specificity = share_over_fates([&](Fate fate) { return at.specificity(fate); }, options);
  set_predictive_values(rates, at, options);
  rates.status = status_of(units);
  return rates;
}

TargetThreshold threshold_for(const ScoredUnits& scored, Target of, double target, const RatesOptions& options) {
  require(scored, options);
  if (!(target > 0 && target < 1)) throw InvalidParameter("target", target, "between 0 and 1, both excluded");
  const StudyUnits units = study_units(scored);
  TargetThreshold result{.status = status_of(units)};
  if (result.status == Status::too_few_points) return result;
  const std::vector<double> candidates = candidate_thresholds(units);
  const auto share_at = [&](double t) {
    const AtThreshold at(units, t);
    return share_over_fates(
        [&](Fate fate) { return of == Target::sensitivity ? at.sensitivity(fate) : at.specificity(fate); }, options);
  };
  const auto at = [&](std::size_t index) { return candidates[std::min(index, candidates.size() - 1)]; };
  const auto before = [&](std::size_t index) { return candidates[index > 0 ? index - 1 : 0]; };
  if (of == Target::sensitivity) {  // rises as the threshold falls
    result.threshold = at(first_where(candidates, [&](double t) { return share_at(t).value >= target; }));
    result.high = at(first_where(candidates, [&](double t) { return share_at(t).high >= target; }));
    result.low = before(first_where(candidates, [&](double t) { return share_at(t).low > target; }));
  } else {  // falls with it
    result.threshold = before(first_where(candidates, [&](double t) { return share_at(t).value < target; }));
    result.high = at(first_where(candidates, [&](double t) { return share_at(t).low <= target; }));
    result.low = before(first_where(candidates, [&](double t) { return share_at(t).high < target; }));
  }
  return result;
}

}  // namespace ohmward::thresholds
