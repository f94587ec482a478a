#include "ohmward/thresholds/best_threshold.hpp"

#include <algorithm>
#include <cmath>

#include "ohmward/core/errors.hpp"
#include "statistics/order.hpp"
#include "thresholds/study_units.hpp"

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

/// Weights with and without the event.
struct Pair {
  double with = 0, without = 0;
};

/// Units from the highest score down; of one score those without the event first, so that a rule can only be best
/// behind the last unit with the event of a score.
class Ranked {
 public:
  explicit Ranked(const ScoredUnits& scored) {
    const StudyUnits units = study_units(scored);
    std::vector<double> at;
    std::vector<std::size_t> kept;
    for (std::size_t i = 0; i < units.size(); ++i) {
      const double score = std::isfinite(units.low[i]) ? units.low[i] : units.high[i];
      if (!std::isfinite(score) || units.event[i] == ScoredUnits::unknown) continue;
      at.push_back(score);
      kept.push_back(i);
    }
    std::vector<std::uint32_t> order = statistics::rising_order(at);
    std::ranges::reverse(order);
    for (std::size_t first = 0, last = 0; first < order.size(); first = last) {
      while (last < order.size() && at[order[last]] == at[order[first]]) ++last;
      for (const std::uint8_t event : {ScoredUnits::without, ScoredUnits::with}) {
        for (std::size_t k = first; k < last; ++k)
          if (const std::size_t unit = kept[order[k]]; units.event[unit] == event) {
            score_.push_back(at[order[k]]);
            weight_.push_back(units.weight[unit]);
            if (units.clustered) cluster_.push_back(static_cast<long>(units.cluster[unit]));
            (event == ScoredUnits::with ? total_.with : total_.without) += units.weight[unit];
            ++(event == ScoredUnits::with ? with_ : without_);
          }
        if (event == ScoredUnits::without) with_from_.push_back(score_.size());
      }
      if (score_.size() > with_from_.back())
        end_.push_back(score_.size());  // this score holds an event
      else
        with_from_.pop_back();
    }
    weighted_ = units.weighted;
    set_up_to_here();
  }

  [[nodiscard]] std::size_t size() const noexcept { return score_.size(); }
  [[nodiscard]] std::span<const long> clusters() const noexcept { return cluster_; }
  [[nodiscard]] std::size_t fewest() const noexcept { return std::min(with_, without_); }
  [[nodiscard]] Pair total() const noexcept { return total_; }

  /// What lies above a threshold in the sample itself.
  [[nodiscard]] Pair above(double threshold) const {
    const auto end = std::ranges::partition_point(score_, [&](double score) { return score > threshold; });
    return up_to_here_[static_cast<std::size_t>(end - score_.begin())];
  }

  /// The rule of least cost where unit i counts times[i] times.
  [[nodiscard]] Rule best(std::span<const std::uint32_t> times, const Costs& costs) const;

 private:
  void set_up_to_here() {
    up_to_here_.reserve(size() + 1);
    Pair sum;
    up_to_here_.push_back(sum);
    for (std::size_t i = 0, stretch = 0; i < size(); ++i) {
      while (stretch < end_.size() && i >= end_[stretch]) ++stretch;
      const bool with = stretch < end_.size() && i >= with_from_[stretch];
      (with ? sum.with : sum.without) += weight_[i];
      up_to_here_.push_back(sum);
    }
  }

  [[nodiscard]] double sum_of(std::span<const std::uint32_t> times, std::size_t first, std::size_t last) const {
    if (weighted_) {
      double sum = 0;
      for (std::size_t i = first; i < last; ++i) sum += times[i] * weight_[i];
      return sum;
    }
    std::uint64_t sum = 0;
    for (std::size_t i = first; i < last; ++i) sum += times[i];
    return static_cast<double>(sum);
  }

  std::vector<double> score_, weight_;
  std::vector<long> cluster_;
  std::vector<std::size_t> with_from_, end_;  ///< stretches: units without the event, then of one score with it
  std::vector<Pair> up_to_here_;
  Pair total_{};
  std::size_t with_ = 0, without_ = 0;
  bool weighted_ = false;
};

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

Rule Ranked::best(std::span<const std::uint32_t> times, const Costs& costs) const {
  std::vector<Pair> flagged(end_.size());
  Pair total;
  std::size_t from = 0;
  for (std::size_t s = 0; s < end_.size(); ++s) {
    total.without += sum_of(times, from, with_from_[s]);
    total.with += sum_of(times, with_from_[s], end_[s]);
    flagged[s] = total;
    from = end_[s];
  }
  total.without += sum_of(times, from, size());
  Rule rule;
  if (!(total.with > 0 && total.without > 0)) return rule;
  // Of equal rules the one in the middle: the first would flag too few on average. Rules as none, stretch 0, 1, ...
  const auto flags = [&](std::size_t rule_number) { return rule_number == 0 ? Pair{} : flagged[rule_number - 1]; };
  std::vector<double> cost(end_.size() + 1);
  for (std::size_t k = 0; k < cost.size(); ++k) cost[k] = cost_of(flags(k), total, costs);
  const double within = *std::ranges::min_element(cost) * (1 + rounding);
  std::vector<std::size_t> equal;
  for (std::size_t k = 0; k < cost.size(); ++k)
    if (cost[k] <= within && (k == 0 || flags(k).with > flags(k - 1).with)) equal.push_back(k);
  const std::size_t chosen = equal[(equal.size() - 1) / 2];
  std::size_t end = chosen == 0 ? 0 : end_[chosen - 1];  // units that the rule flags, in this order
  rule = rule_of(flags(chosen), total, costs);
  // Only units that are in the replicate bound the threshold.
  std::size_t next = end;
  while (next < size() && times[next] == 0) ++next;
  while (end > 0 && times[end - 1] == 0) --end;
  rule.up_to = end > 0 ? score_[end - 1] : infinity;
  rule.above = next < size() ? score_[next] : -infinity;
  const bool open = std::isinf(rule.up_to) || std::isinf(rule.above);
  rule.threshold = !open ? rule.above + 0.5 * (rule.up_to - rule.above) : (end > 0 ? -infinity : infinity);
  return rule;
}

/// Quantile without interpolation, so that infinite thresholds stay what they are.
double ranked_quantile(const std::vector<double>& sorted, double level) {
  const double place = std::ceil(level * static_cast<double>(sorted.size()));
  return sorted[static_cast<std::size_t>(std::clamp(place, 1.0, static_cast<double>(sorted.size()))) - 1];
}

void summarise(BestThreshold& result, double level) {
  std::vector<double> defined;
  double sum = 0;
  for (std::size_t r = 0; r < result.thresholds.size(); ++r) {
    const double threshold = result.thresholds[r];
    if (std::isnan(threshold)) {
      ++result.undefined;
      continue;
    }
    defined.push_back(threshold);
    sum += result.optimisms[r];
    result.flags_none += threshold == infinity ? 1 : 0;
    result.flags_all += threshold == -infinity ? 1 : 0;
  }
  if (2 * defined.size() < result.thresholds.size()) return;
  std::ranges::sort(defined);
  result.low = ranked_quantile(defined, (1 - level) / 2);
  result.high = ranked_quantile(defined, (1 + level) / 2);
  result.optimism = sum / static_cast<double>(defined.size());
  result.cost_corrected = result.rule.cost + result.optimism;
}

}  // namespace

BestThreshold best_threshold(const ScoredUnits& units, const Costs& costs, const BootstrapOptions& options) {
  require(costs);
  const Ranked ranked(units);
  BestThreshold result;
  if (ranked.fewest() == 0) return result;
  const std::vector<std::uint32_t> once(ranked.size(), 1U);
  result.rule = ranked.best(once, costs);
  result.cost_of_none = cost_of({}, ranked.total(), costs);
  result.cost_of_all = cost_of(ranked.total(), ranked.total(), costs);
  const auto statistic = [&](std::span<const std::uint32_t> times, std::span<double> out) {
    const Rule chosen = ranked.best(times, costs);
    out[0] = chosen.threshold;
    out[1] = std::isnan(chosen.threshold)
                 ? nan
                 : cost_of(ranked.above(chosen.threshold), ranked.total(), costs) - chosen.cost;
  };
  std::vector<BootstrapEstimate> estimates =
      statistics::bootstrap(statistic, ranked.size(), ranked.clusters(), 2, options);
  result.thresholds = std::move(estimates[0].replicates);
  result.optimisms = std::move(estimates[1].replicates);
  summarise(result, options.level);
  const bool doubtful = static_cast<double>(ranked.fewest()) < few || result.undefined > 0;
  result.status = doubtful ? Status::few_points : Status::sound;
  return result;
}

Rule rule_at(const ScoredUnits& units, double threshold, const Costs& costs) {
  require(costs);
  if (std::isnan(threshold)) throw InvalidParameter("threshold", threshold, "a number");
  const Ranked ranked(units);
  if (ranked.fewest() == 0) return {};
  Rule rule = rule_of(ranked.above(threshold), ranked.total(), costs);
  rule.threshold = rule.up_to = rule.above = threshold;
  return rule;
}

}  // namespace ohmward::thresholds
