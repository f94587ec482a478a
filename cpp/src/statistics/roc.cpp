#include "ohmward/statistics/roc.hpp"

#include <algorithm>
#include <cmath>
#include <functional>
#include <limits>
#include <string>

#include "ohmward/core/errors.hpp"
#include "ohmward/numerics/elementary.hpp"
#include "ohmward/statistics/distributions.hpp"
#include "statistics/groups.hpp"
#include "statistics/level.hpp"
#include "statistics/order.hpp"

namespace ohmward::statistics {
namespace {

constexpr std::size_t few = 10;

/// Units that count: complete, and of known outcome.
struct Kept {
  std::vector<double> low, high;
  std::vector<std::uint8_t> event;
  std::vector<double> weight;        ///< empty: all 1
  std::vector<std::size_t> cluster;  ///< 0, 1, ...; empty: each unit alone
  std::size_t clusters = 0;
  std::size_t left_out = 0;

  [[nodiscard]] bool exact() const noexcept { return low == high; }
};

void require_length(const char* field, std::size_t given, std::size_t wanted) {
  if (given != wanted)
    throw InvalidParameter(field, static_cast<double>(given), "one a unit, " + std::to_string(wanted));
}

}  // namespace

void require(const ScoredUnits& units) {
  const std::size_t n = units.low.size();
  require_length("high", units.high.size(), n);
  require_length("event", units.event.size(), n);
  if (!units.weight.empty()) require_length("weight", units.weight.size(), n);
  if (!units.cluster.empty()) require_length("cluster", units.cluster.size(), n);
  if (!units.stratum.empty()) {
    require_length("stratum", units.stratum.size(), n);
    require_length("weight", units.weight.size(), n);
  }
  if (n > std::numeric_limits<std::uint32_t>::max())
    throw InvalidParameter("low", static_cast<double>(n), "fewer than 2^32 units");
  for (std::size_t i = 0; i < n; ++i) {
    if (units.low[i] > units.high[i]) throw InvalidParameter("low", units.low[i], "not above high");
    if (units.event[i] > ScoredUnits::unknown) throw InvalidParameter("event", units.event[i], "0, 1 or 2");
    if (!units.weight.empty() && units.weight[i] <= 0) throw InvalidParameter("weight", units.weight[i], "above 0");
  }
}

namespace {

Kept kept_of(const ScoredUnits& units, const std::vector<bool>& lacking = {}) {
  Kept kept;
  std::vector<long> labels;
  const bool weighted = !units.weight.empty(), clustered = !units.cluster.empty();
  kept.low.reserve(units.low.size());
  kept.high.reserve(units.low.size());
  kept.event.reserve(units.low.size());
  for (std::size_t i = 0; i < units.low.size(); ++i) {
    if (units.event[i] == ScoredUnits::unknown || std::isnan(units.low[i]) || std::isnan(units.high[i]) ||
        (weighted && std::isnan(units.weight[i])) || (!lacking.empty() && lacking[i])) {
      ++kept.left_out;
      continue;
    }
    kept.low.push_back(units.low[i]);
    kept.high.push_back(units.high[i]);
    kept.event.push_back(units.event[i]);
    if (weighted) kept.weight.push_back(units.weight[i]);
    if (clustered) labels.push_back(units.cluster[i]);
  }
  Groups groups = groups_of(labels);
  kept.cluster = std::move(groups.of);
  kept.clusters = clustered ? groups.count : kept.low.size();
  return kept;
}

double weight_of(std::span<const double> weight, std::size_t i) noexcept { return weight.empty() ? 1 : weight[i]; }

/// Scores where every pair of unknown order speaks for the score, or against it.
std::vector<double> at_best(const Kept& kept) {
  std::vector<double> score(kept.low);
  for (std::size_t i = 0; i < score.size(); ++i)
    if (kept.event[i] == ScoredUnits::with) score[i] = kept.high[i];
  return score;
}
std::vector<double> at_worst(const Kept& kept) {
  std::vector<double> score(kept.high);
  for (std::size_t i = 0; i < score.size(); ++i)
    if (kept.event[i] == ScoredUnits::with) score[i] = kept.low[i];
  return score;
}

/// What the classes add to the variance of an area, by their units or clusters, and what both do together.
struct Spread {
  double with = 0, without = 0, both = 0;
  double with_groups = 0, without_groups = 0;
  double with_units = 0, without_units = 0;  ///< independent ones that know as much
};

/// Variance of an area with what it rests on.
struct Uncertainty {
  double variance = nan;
  double degrees_of_freedom = nan;
};

double few_group_factor(double groups) noexcept { return groups / (groups - 1); }

Spread spread_of_units(const Placements& of, const Kept& kept, double with_weight, double without_weight) {
  Spread spread;
  for (std::size_t i = 0; i < kept.event.size(); ++i) {
    const bool with = kept.event[i] == ScoredUnits::with;
    const double part = weight_of(kept.weight, i) * (of.share[i] - of.area) / (with ? with_weight : without_weight);
    (with ? spread.with : spread.without) += part * part;
    (with ? spread.with_groups : spread.without_groups) += 1;
  }
  return spread;
}

Spread spread_of_clusters(const Placements& of, const Kept& kept, double with_weight, double without_weight) {
  struct Group {
    double with = 0, without = 0;
    bool has_with = false, has_without = false;
  };
  std::vector<Group> groups(kept.clusters);
  for (std::size_t i = 0; i < kept.event.size(); ++i) {
    Group& group = groups[kept.cluster[i]];
    const bool with = kept.event[i] == ScoredUnits::with;
    const double part = weight_of(kept.weight, i) * (of.share[i] - of.area) / (with ? with_weight : without_weight);
    (with ? group.with : group.without) += part;
    (with ? group.has_with : group.has_without) = true;
  }
  Spread spread;
  for (const Group& group : groups) {
    spread.with += group.with * group.with;
    spread.without += group.without * group.without;
    spread.both += group.with * group.without;
    spread.with_groups += group.has_with ? 1 : 0;
    spread.without_groups += group.has_without ? 1 : 0;
  }
  return spread;
}

/// With the factors for few groups.
Spread spread_of(const Placements& of, const Kept& kept) {
  double with = 0, without = 0, with_squares = 0, without_squares = 0;
  for (std::size_t i = 0; i < kept.event.size(); ++i) {
    const bool event = kept.event[i] == ScoredUnits::with;
    const double weight = weight_of(kept.weight, i);
    (event ? with : without) += weight;
    (event ? with_squares : without_squares) += weight * weight;
  }
  const Spread alone = spread_of_units(of, kept, with, without);
  Spread spread = kept.cluster.empty() ? alone : spread_of_clusters(of, kept, with, without);
  const double independent = alone.with + alone.without;
  const double design_effect =
      independent > 0 ? std::max(1.0, (spread.with + spread.without + 2 * spread.both) / independent) : 1;
  spread.with_units = with * with / with_squares / design_effect;
  spread.without_units = without * without / without_squares / design_effect;
  spread.with *= few_group_factor(spread.with_groups);
  spread.without *= few_group_factor(spread.without_groups);
  if (kept.clusters > 1 && !kept.cluster.empty()) spread.both *= few_group_factor(static_cast<double>(kept.clusters));
  return spread;
}

/// Variance of the two parts together, on Welch's degrees of freedom.
Uncertainty together(double with, double without, double both, const Spread& spread, const Kept& kept) {
  const double sum = with + without;
  const double welch =
      sum * sum / (with * with / (spread.with_groups - 1) + without * without / (spread.without_groups - 1));
  const double most = kept.cluster.empty() ? infinity : static_cast<double>(kept.clusters) - 1;
  return {.variance = std::max(0.0, sum + 2 * both), .degrees_of_freedom = sum > 0 ? std::min(welch, most) : most};
}

/// Estimate, standard error and degrees of freedom; no interval yet.
Area measured(const Placements& of, const Kept& kept, const Spread& spread) {
  Area area{.area = of.area};
  if (spread.with_groups < 2 || spread.without_groups < 2) return area;
  const Uncertainty found = together(spread.with, spread.without, spread.both, spread, kept);
  area.standard_error = std::sqrt(found.variance);
  area.degrees_of_freedom = found.degrees_of_freedom;
  return area;
}

/// Pairs of units that nothing ties together, as many as can be formed.
double independent_pairs(const Kept& kept) {
  double with = 0, without = 0;
  if (kept.cluster.empty()) {
    for (const std::uint8_t event : kept.event) (event == ScoredUnits::with ? with : without) += 1;
    return std::min(with, without);
  }
  std::vector<unsigned> has(kept.clusters, 0);
  for (std::size_t i = 0; i < kept.event.size(); ++i)
    has[kept.cluster[i]] |= kept.event[i] == ScoredUnits::with ? 1U : 2U;
  for (const unsigned classes : has) {
    with += (classes & 1U) != 0 ? 1 : 0;
    without += (classes & 2U) != 0 ? 1 : 0;
  }
  return std::max(1.0, std::min({with, without, std::floor(static_cast<double>(kept.clusters) / 2)}));
}

/// Half a unit of each class is added that speaks neither for the score nor against it, as half a hit and half a miss
/// are to a share: with few units an area near 1 and its variance are too good together.
constexpr double added = 0.5;

/// A class's part of the variance with it, around the area that has it too.
double softened(double part, double units, double area, double middle) {
  const double share = units / (units + added);
  const double moved = units * (area - middle) * (area - middle) + added * (0.5 - middle) * (0.5 - middle);
  return part * share * share + moved / ((units + added) * std::max(added, units + added - 1));
}

void set_interval(Area& area, const Spread& spread, const Kept& kept, double level) {
  if (std::isnan(area.standard_error)) return;
  const double tail = (1 - level) / 2;
  if (area.area <= 0 || area.area >= 1) {
    const double end = numerics::exp(numerics::log(tail) / independent_pairs(kept));
    area.low = area.area >= 1 ? end : 0;
    area.high = area.area >= 1 ? 1 : 1 - end;
    return;
  }
  const double m = spread.with_units, n = spread.without_units, fewer = std::min(m, n);
  const double middle = (fewer * area.area + added * 0.5) / (fewer + added);
  const Uncertainty found =
      together(softened(spread.with, m, area.area, middle), softened(spread.without, n, area.area, middle),
               spread.both * m / (m + added) * n / (n + added), spread, kept);
  const double factor = -student_t_quantile(tail, found.degrees_of_freedom);
  const double half = factor * std::sqrt(found.variance) / (middle * (1 - middle));
  const double odds = middle / (1 - middle);
  area.low = std::min(area.area, odds * numerics::exp(-half) / (1 + odds * numerics::exp(-half)));
  area.high = std::max(area.area, 1 / (1 + numerics::exp(-half) / odds));
}

Placements half_way(const Placements& first, const Placements& second) {
  Placements middle{.share = first.share, .area = 0.5 * (first.area + second.area)};
  for (std::size_t i = 0; i < middle.share.size(); ++i) middle.share[i] = 0.5 * (first.share[i] + second.share[i]);
  return middle;
}

Placements middle_placements(const Kept& kept) {
  const Placements worst = placements(at_worst(kept), kept.event, kept.weight);
  return kept.exact() ? worst : half_way(worst, placements(at_best(kept), kept.event, kept.weight));
}

Area with_interval(const Placements& of, const Kept& kept, double level) {
  const Spread spread = spread_of(of, kept);
  Area area = measured(of, kept, spread);
  set_interval(area, spread, kept, level);
  return area;
}

std::size_t count_with(const Kept& kept) {
  return static_cast<std::size_t>(std::ranges::count(kept.event, ScoredUnits::with));
}

Status status_of(const Area& area, std::size_t with, std::size_t without, std::size_t clusters) {
  if (std::isnan(area.standard_error)) return Status::too_few_points;
  return std::min({with, without, clusters}) < few ? Status::few_points : Status::sound;
}

}  // namespace

Placements placements(std::span<const double> score, std::span<const std::uint8_t> event,
                      std::span<const double> weight) {
  const std::size_t n = score.size();
  Placements of{.share = std::vector<double>(n)};
  double with = 0, without = 0;
  for (std::size_t i = 0; i < n; ++i) (event[i] == ScoredUnits::with ? with : without) += weight_of(weight, i);
  const std::vector<std::uint32_t> order = rising_order(score);
  double with_below = 0, without_below = 0, concordant = 0;
  for (std::size_t first = 0, last = 0; first < n; first = last) {
    double with_here = 0, without_here = 0;
    for (; last < n && score[order[last]] == score[order[first]]; ++last)
      (event[order[last]] == ScoredUnits::with ? with_here : without_here) += weight_of(weight, order[last]);
    const double of_with = (without_below + 0.5 * without_here) / without;
    const double of_without = (with - with_below - 0.5 * with_here) / with;
    for (std::size_t k = first; k < last; ++k)
      of.share[order[k]] = event[order[k]] == ScoredUnits::with ? of_with : of_without;
    concordant += with_here * (without_below + 0.5 * without_here);
    with_below += with_here;
    without_below += without_here;
  }
  of.area = with > 0 && without > 0 ? concordant / (with * without) : nan;
  return of;
}

AreaUnderCurve area_under_curve(const ScoredUnits& units, double level) {
  require_level(level);
  require(units);
  const Kept kept = kept_of(units);
  AreaUnderCurve result{.with = count_with(kept), .clusters = kept.clusters, .left_out = kept.left_out};
  result.without = kept.event.size() - result.with;
  if (result.with == 0 || result.without == 0) return result;
  const Placements worst = placements(at_worst(kept), kept.event, kept.weight);
  result.worst = result.best = result.middle = with_interval(worst, kept, level);
  if (!kept.exact()) {
    const Placements best = placements(at_best(kept), kept.event, kept.weight);
    result.best = with_interval(best, kept, level);
    result.middle = with_interval(half_way(worst, best), kept, level);
  }
  result.status = status_of(result.middle, result.with, result.without, result.clusters);
  return result;
}

AreaComparison compare_areas(const ScoredUnits& first, std::span<const double> second_low,
                             std::span<const double> second_high, double level) {
  require_level(level);
  require(first);
  const ScoredUnits second{second_low, second_high, first.event, first.weight, first.cluster};
  require_length("second_low", second_low.size(), first.low.size());
  require(second);
  std::vector<bool> lacking(first.low.size());
  for (std::size_t i = 0; i < lacking.size(); ++i)
    lacking[i] = std::isnan(first.low[i]) || std::isnan(first.high[i]) || std::isnan(second_low[i]) ||
                 std::isnan(second_high[i]);
  const Kept a = kept_of(first, lacking), b = kept_of(second, lacking);
  AreaComparison result{.left_out = a.left_out};
  const std::size_t with = count_with(a), without = a.event.size() - with;
  if (with == 0 || without == 0) return result;
  const Placements of_a = middle_placements(a), of_b = middle_placements(b);
  result.first = with_interval(of_a, a, level);
  result.second = with_interval(of_b, b, level);
  Placements apart{.share = of_a.share, .area = of_a.area - of_b.area};
  for (std::size_t i = 0; i < apart.share.size(); ++i) apart.share[i] -= of_b.share[i];
  Area& difference = result.difference = measured(apart, a, spread_of(apart, a));
  result.status = status_of(difference, with, without, a.clusters);
  if (std::isnan(difference.standard_error)) return result;
  const double half = -student_t_quantile((1 - level) / 2, difference.degrees_of_freedom) * difference.standard_error;
  difference.low = difference.area - half;
  difference.high = difference.area + half;
  const double t = std::abs(difference.area) / difference.standard_error;
  result.p_value = difference.area == 0 ? 1 : 2 * student_t_cdf(-t, difference.degrees_of_freedom);
  return result;
}

RocCurve roc_curve(const ScoredUnits& units) {
  require(units);
  const Kept kept = kept_of(units);
  RocCurve curve;
  double total[2] = {0, 0};
  for (std::size_t i = 0; i < kept.event.size(); ++i) total[kept.event[i]] += weight_of(kept.weight, i);
  if (!(total[0] > 0 && total[1] > 0)) return curve;
  std::vector<double>& ends = curve.threshold;
  for (const double end : kept.low)
    if (std::isfinite(end)) ends.push_back(end);
  for (const double end : kept.high)
    if (std::isfinite(end)) ends.push_back(end);
  std::ranges::sort(ends, std::greater<>());
  ends.erase(std::unique(ends.begin(), ends.end()), ends.end());
  ends.push_back(-infinity);
  // Walked from the highest score down, each side of the interval for itself.
  const auto flagged = [&](std::span<const double> score, std::uint8_t event, std::vector<double>& shares) {
    const std::vector<std::uint32_t> order = rising_order(score);
    double above = 0;
    std::size_t next = order.size();
    for (const double threshold : ends) {
      for (; next > 0 && (score[order[next - 1]] > threshold || threshold == -infinity); --next)
        if (kept.event[order[next - 1]] == event) above += weight_of(kept.weight, order[next - 1]);
      shares.push_back(std::min(1.0, above / total[event]));
    }
  };
  flagged(kept.low, ScoredUnits::with, curve.with_low);
  flagged(kept.high, ScoredUnits::with, curve.with_high);
  flagged(kept.low, ScoredUnits::without, curve.without_low);
  flagged(kept.high, ScoredUnits::without, curve.without_high);
  curve.status = Status::sound;
  return curve;
}

}  // namespace ohmward::statistics
