#include "ohmward/thresholds/best_threshold.hpp"

#include <algorithm>
#include <cmath>

#include "ohmward/core/errors.hpp"
#include "ohmward/numerics/normal.hpp"
#include "ohmward/statistics/distributions.hpp"
#include "statistics/level.hpp"
#include "thresholds/sorted_units.hpp"
#include "thresholds/threshold_interval.hpp"

namespace ohmward::thresholds {
namespace {

using statistics::BootstrapEstimate;
using statistics::BootstrapOptions;
using statistics::ScoredUnits;

constexpr double few = 10;
constexpr double rounding = 1e-12;  ///< costs that differ by less are equal

void require(const Costs& costs) {
  if (!(costs.of_miss > 0 && std::isfinite(costs.of_miss)))
    throw InvalidParameter("cost_of_miss", costs.of_miss, "above 0");
  if (!(costs.of_false_alarm > 0 && std::isfinite(costs.of_false_alarm)))
    throw InvalidParameter("cost_of_false_alarm", costs.of_false_alarm, "above 0");
  if (!std::isnan(costs.prevalence) && !(costs.prevalence > 0 && costs.prevalence < 1))
    throw InvalidParameter("prevalence", costs.prevalence, "between 0 and 1, both excluded");
}

double cost_of(const Pair& flagged, const Pair& total, const Costs& costs) {
  const double missed = (total.with - flagged.with) / total.with, alarmed = flagged.without / total.without;
  const double prevalence = std::isnan(costs.prevalence) ? total.with / (total.with + total.without) : costs.prevalence;
  return prevalence * costs.of_miss * missed + (1 - prevalence) * costs.of_false_alarm * alarmed;
}

Rule rule_of(const Pair& flagged, const Pair& total, const Costs& costs) {
  Rule rule;
  rule.cost = cost_of(flagged, total, costs);
  rule.sensitivity = flagged.with / total.with;
  rule.specificity = 1 - flagged.without / total.without;
  return rule;
}

/// Cost of all misses over that of all false alarms; beyond the bounds, which keep sums finite, one of them is all.
double odds_of(const Pair& total, const Costs& costs) {
  constexpr double most = 1e100;
  return std::clamp(cost_of({}, total, costs) / cost_of(total, total, costs), 1 / most, most);
}

/// Where the smoothed cost is least, in cells; infinite where flagging none, or all, is as cheap.
double best_place(const Weighed& of, double odds) {
  const std::size_t boundaries = of.with.size() - 1;
  std::vector<double> cost(boundaries);  // of flagging what lies above the end of each cell; all false alarms cost 1
  double missed = 0, spared = 0;
  for (std::size_t k = 0; k < boundaries; ++k) {
    missed += of.with[k];
    spared += of.without[k];
    cost[k] = odds * missed / of.total.with + 1 - spared / of.total.without;
  }
  const auto least = std::ranges::min_element(cost);
  const double within = *least + rounding * std::min(odds, 1.0);
  if (odds <= within) return infinity;
  if (1 <= within) return -infinity;
  const auto first = static_cast<double>(least - cost.begin());
  const auto beyond = std::find_if(least, cost.end(), [&](double each) { return each > within; });
  const auto last = static_cast<double>(beyond - cost.begin() - 1);
  if (last > first) return 0.5 * (first + last) + 0.5;  // nobody is near: the middle of the gap
  // Where the slope of the cost is 0 between the middles of two cells.
  const auto k = static_cast<std::size_t>(first);
  const auto slope = [&](std::size_t cell) {
    return odds * of.with[cell] / of.total.with - of.without[cell] / of.total.without;
  };
  return first + slope(k) / (slope(k) - slope(k + 1));
}

/// A threshold chosen on a replicate, with what it flags there.
struct Choice {
  double place = nan, threshold = nan;
  Pair flagged{}, total{};
};

Choice choice_of(const SortedUnits& units, std::span<const std::uint32_t> times, const Weighed& weighed,
                 const Costs& costs) {
  Choice choice{.total = weighed.total};
  if (!(choice.total.with > 0 && choice.total.without > 0)) return choice;
  choice.place = best_place(weighed, odds_of(choice.total, costs));
  choice.threshold = std::isinf(choice.place) ? choice.place : units.cells().centre(choice.place);
  if (std::isinf(choice.place))
    choice.flagged = choice.place > 0 ? Pair{} : choice.total;
  else
    choice.flagged = units.above(choice.threshold, times, weighed);
  // Beyond the outermost unit a rule flags none, or all.
  if (!(choice.flagged.with > 0 || choice.flagged.without > 0)) choice.threshold = infinity;
  if (choice.flagged.with >= choice.total.with && choice.flagged.without >= choice.total.without)
    choice.threshold = -infinity;
  return choice;
}

/// How far the root of the likelihood ratio may go: counts of independent units have a known variance, those of
/// clusters one that is estimated.
double most_for(const SortedUnits& units, double level) {
  const double tail = (1 - level) / 2;
  if (!units.clustered()) return -numerics::normal_quantile(tail);
  const double freedom = static_cast<double>(units.groups()) - 1;
  return freedom > 0 ? -statistics::student_t_quantile(tail, freedom) : infinity;
}

Ends interval_of(const SortedUnits& units, const Weighed& weighed, const Choice& choice, const Costs& costs,
                 double level) {
  const bool stated = !std::isnan(costs.prevalence);
  const double odds = odds_of(choice.total, costs);
  Crossing crossing{.with = weighed.with,
                    .without = weighed.without,
                    .units_with = units.equal_units().with,
                    .units_without = units.equal_units().without,
                    .odds = odds,
                    .odds_stated = stated};
  for (double& each : crossing.with) each /= choice.total.with;
  for (double& each : crossing.without) each /= choice.total.without;
  crossing.design_effect = units.design_effect(choice.threshold, weighed, odds, stated);
  return threshold_interval(crossing, units.cells(), choice.place, most_for(units, level));
}

void summarise(BestThreshold& result) {
  double sum = 0;
  std::size_t defined = 0;
  for (std::size_t r = 0; r < result.thresholds.size(); ++r) {
    const double threshold = result.thresholds[r];
    if (std::isnan(threshold)) {
      ++result.undefined;
      continue;
    }
    ++defined;
    sum += result.optimisms[r];
    result.flags_none += threshold == infinity ? 1 : 0;
    result.flags_all += threshold == -infinity ? 1 : 0;
  }
  if (2 * defined < result.thresholds.size()) return;
  result.optimism = sum / static_cast<double>(defined);
  result.cost_corrected = result.rule.cost + result.optimism;
}

}  // namespace

BestThreshold best_threshold(const ScoredUnits& scored, const Costs& costs, const BootstrapOptions& options) {
  require(costs);
  statistics::require_level(options.level);
  const SortedUnits units(scored);
  BestThreshold result;
  if (units.fewest() == 0) return result;
  const std::vector<std::uint32_t> once(units.groups(), 1U);
  const Weighed own = units.weighed(once);
  const Choice choice = choice_of(units, once, own, costs);
  result.rule = rule_of(choice.flagged, choice.total, costs);
  result.rule.threshold = choice.threshold;
  result.rule.up_to = units.next_above(choice.threshold);
  result.rule.above = units.next_below(choice.threshold);
  result.cost_of_none = cost_of({}, choice.total, costs);
  result.cost_of_all = cost_of(choice.total, choice.total, costs);
  const Ends ends = interval_of(units, own, choice, costs, options.level);
  result.low = ends.low;
  result.high = ends.high;
  const auto statistic = [&](std::span<const std::uint32_t> times, std::span<double> out) {
    const Choice chosen = choice_of(units, times, units.weighed(times), costs);
    out[0] = chosen.threshold;
    out[1] = std::isnan(chosen.threshold) ? nan
                                          : cost_of(units.above(chosen.threshold), choice.total, costs) -
                                                cost_of(chosen.flagged, chosen.total, costs);
  };
  std::vector<BootstrapEstimate> estimates = statistics::bootstrap(statistic, units.groups(), {}, 2, options);
  result.thresholds = std::move(estimates[0].replicates);
  result.optimisms = std::move(estimates[1].replicates);
  summarise(result);
  const bool doubtful = static_cast<double>(units.fewest()) < few || result.undefined > 0;
  result.status = doubtful ? Status::few_points : Status::sound;
  return result;
}

Rule rule_at(const ScoredUnits& scored, double threshold, const Costs& costs) {
  require(costs);
  if (std::isnan(threshold)) throw InvalidParameter("threshold", threshold, "a number");
  const SortedUnits units(scored);
  if (units.fewest() == 0) return {};
  Rule rule = rule_of(units.above(threshold), units.total(), costs);
  rule.threshold = rule.up_to = rule.above = threshold;
  return rule;
}

}  // namespace ohmward::thresholds
