#include <gtest/gtest.h>

#include <algorithm>
#include <cmath>
#include <map>
#include <numbers>
#include <numeric>
#include <vector>

#include "made_units.hpp"
#include "ohmward/core/errors.hpp"
#include "ohmward/thresholds/best_threshold.hpp"

namespace ohmward::thresholds {
namespace {

using Numbers = std::vector<double>;

constexpr Costs costs{.of_miss = 5, .of_false_alarm = 1, .prevalence = 0.2};

double cost_by_counting(const MadeUnits& all, double threshold, const Costs& of) {
  double with = 0, without = 0, missed = 0, alarmed = 0;
  for (std::size_t i = 0; i < all.score.size(); ++i) {
    (all.event[i] == 1 ? with : without) += 1;
    missed += all.event[i] == 1 && !(all.score[i] > threshold) ? 1 : 0;
    alarmed += all.event[i] == 0 && all.score[i] > threshold ? 1 : 0;
  }
  const double p = std::isnan(of.prevalence) ? with / (with + without) : of.prevalence;
  return p * of.of_miss * missed / with + (1 - p) * of.of_false_alarm * alarmed / without;
}

/// Silverman's rule with a power of -1/4 for the narrower class and the smaller number, written down once more.
double bandwidth_of(const MadeUnits& all) {
  double narrower = infinity;
  double fewer = infinity;
  for (const std::uint8_t event : {std::uint8_t{0}, std::uint8_t{1}}) {
    Numbers score;
    for (std::size_t i = 0; i < all.score.size(); ++i)
      if (all.event[i] == event) score.push_back(all.score[i]);
    std::ranges::sort(score);
    const auto n = static_cast<double>(score.size());
    const double mean = std::accumulate(score.begin(), score.end(), 0.0) / n;
    double squares = 0;
    for (const double each : score) squares += (each - mean) * (each - mean);
    const auto quartile = [&](double share) { return score[static_cast<std::size_t>(std::ceil(share * n)) - 1]; };
    narrower = std::min({narrower, std::sqrt(squares / (n - 1)), (quartile(0.75) - quartile(0.25)) / 1.349});
    fewer = std::min(fewer, n);
  }
  return 0.9 * narrower / std::pow(fewer, 0.25);
}

/// Every unit a normal kernel, by the error function: the cost per false alarm on all.
double smoothed_cost(const MadeUnits& all, double threshold, double bandwidth, double odds) {
  double with = 0, without = 0, missed = 0, alarmed = 0;
  for (std::size_t i = 0; i < all.score.size(); ++i) {
    const double above = 0.5 * std::erfc((threshold - all.score[i]) / (bandwidth * std::sqrt(2)));
    (all.event[i] == 1 ? with : without) += 1;
    (all.event[i] == 1 ? missed : alarmed) += all.event[i] == 1 ? 1 - above : above;
  }
  return odds * missed / with + alarmed / without;
}

double odds_of(const MadeUnits& all, const Costs& of) {
  const auto with = static_cast<double>(std::ranges::count(all.event, std::uint8_t{1}));
  const double p = std::isnan(of.prevalence) ? with / static_cast<double>(all.event.size()) : of.prevalence;
  return p * of.of_miss / ((1 - p) * of.of_false_alarm);
}

/// Least smoothed cost within a range, on a grid of a hundredth of the bandwidth.
double least_within(const MadeUnits& all, double from, double to, double bandwidth, double odds) {
  double least = infinity;
  for (double t = from; t < to; t += bandwidth / 100) least = std::min(least, smoothed_cost(all, t, bandwidth, odds));
  return least;
}

/// How much more a threshold costs than the best, smoothed. An infinite one stands for all beyond the outermost unit.
double excess_of(const MadeUnits& all, double threshold, double bandwidth, double odds) {
  const auto [lowest, highest] = std::ranges::minmax(all.score);
  const double from = lowest - 4 * bandwidth, to = highest + 4 * bandwidth;
  const double least = std::min({odds, 1.0, least_within(all, from, to, bandwidth, odds)});
  if (threshold == infinity) return std::min(odds, least_within(all, highest, to, bandwidth, odds)) - least;
  if (threshold == -infinity) return std::min(1.0, least_within(all, from, lowest, bandwidth, odds)) - least;
  return smoothed_cost(all, threshold, bandwidth, odds) - least;
}

// Cells of a sixteenth of the bandwidth move a unit by up to a 32nd and its share above a threshold by up to 0.0125,
// one unit this way and one that: thousandths in all.
TEST(BestThreshold, IsWhereTheSmoothedCostIsLeast) {
  for (const std::uint64_t seed : {1U, 2U, 3U, 4U}) {
    const MadeUnits all = made_units(seed, {.units = 150, .rounding = seed % 2 == 0 ? 0.25 : 0});
    const double bandwidth = bandwidth_of(all);
    for (const double miss : {0.5, 5.0, 50.0})
      for (const double prevalence : {nan, 0.02}) {
        const Costs of{.of_miss = miss, .of_false_alarm = 1, .prevalence = prevalence};
        const BestThreshold best = best_threshold(all.units(), of, {.replicates = 2});
        const double odds = odds_of(all, of);
        EXPECT_NEAR(excess_of(all, best.rule.threshold, bandwidth, odds), 0, 1e-3 * std::min(odds, 1.0));
        EXPECT_NEAR(best.rule.cost, cost_by_counting(all, best.rule.threshold, of), 1e-14);
        const auto above = std::ranges::count_if(all.score, [&](double x) { return x > best.rule.above; });
        EXPECT_EQ(above, std::ranges::count_if(all.score, [&](double x) { return x >= best.rule.up_to; }));
      }
  }
}

// One event has no spread of its own, and tells little.
TEST(BestThreshold, IsLeftOpenByOneEvent) {
  const Numbers score{5, 0, 1, 2, 1.5};
  const std::vector<std::uint8_t> event{1, 0, 0, 0, 0};
  const BestThreshold of = best_threshold({.low = score, .high = score, .event = event}, costs, {.replicates = 20});
  EXPECT_EQ(of.rule.above, 2);
  EXPECT_EQ(of.rule.up_to, 5);
  EXPECT_LT(of.low, 0);
  EXPECT_EQ(of.high, infinity);
  EXPECT_EQ(of.status, Status::few_points);
}

TEST(BestThreshold, LiesInTheMiddleOfAWideGap) {
  const Numbers score{0, 0.1, 0.2, 10, 10.1, 10.2};
  const std::vector<std::uint8_t> event{0, 0, 0, 1, 1, 1};
  const BestThreshold of = best_threshold({.low = score, .high = score, .event = event}, costs, {.replicates = 20});
  EXPECT_NEAR(of.rule.threshold, 5.1, 0.1);
  EXPECT_EQ(of.rule.cost, 0);
}

/// Units that statistics::bootstrap draws: in rising order, or clusters in the order in which they come up there.
std::vector<std::size_t> groups_in_order(const MadeUnits& all, bool clustered) {
  std::vector<std::size_t> order(all.score.size());
  std::iota(order.begin(), order.end(), std::size_t{0});
  std::ranges::stable_sort(order, {}, [&](std::size_t i) { return all.score[i]; });
  std::vector<std::size_t> group(order.size());
  std::map<long, std::size_t> number;
  for (std::size_t k = 0; k < order.size(); ++k)
    group[order[k]] = clustered ? number.try_emplace(all.cluster[order[k]], number.size()).first->second : k;
  return group;
}

/// A copy of the data for each replicate, drawn with the multiplicities that statistics::bootstrap hands out.
TEST(BestThreshold, ChoosesOnReplicatesAsOnCopiesOfTheData) {
  for (const bool clustered : {false, true}) {
    const MadeUnits all = made_units(11, {.units = 120, .a_cluster = 4, .shared_scatter = 1});
    const statistics::BootstrapOptions options{.replicates = 200, .seed = 5};
    const BestThreshold fast = best_threshold(all.units(clustered), costs, options);
    const std::vector<std::size_t> group = groups_in_order(all, clustered);
    const double bandwidth = bandwidth_of(all), odds = odds_of(all, costs);
    std::size_t number = 0;
    const auto copied = [&](std::span<const std::uint32_t> times, std::span<double> out) {
      MadeUnits copy;
      for (std::size_t i = 0; i < all.score.size(); ++i)
        for (std::uint32_t c = 0; c < times[group[i]]; ++c) {
          copy.score.push_back(all.score[i]);
          copy.event.push_back(all.event[i]);
        }
      out[0] = 0;
      if (number++ == 0) return;  // the sample itself comes first
      const double chosen = fast.thresholds[number - 2];
      out[0] = excess_of(copy, chosen, bandwidth, odds);
      out[1] = cost_by_counting(all, chosen, costs) - cost_by_counting(copy, chosen, costs);
    };
    const std::size_t drawn = 1 + *std::ranges::max_element(group);
    const auto slow = statistics::bootstrap(copied, drawn, {}, 2, {.replicates = 200, .seed = 5, .threads = 1});
    double sum = 0;
    for (std::size_t r = 0; r < options.replicates; ++r) {
      EXPECT_NEAR(slow[0].replicates[r], 0, 2e-3) << r;
      EXPECT_NEAR(fast.optimisms[r], slow[1].replicates[r], 1e-13);
      sum += slow[1].replicates[r];
    }
    EXPECT_NEAR(fast.optimism, sum / 200, 1e-13);
    EXPECT_GT(fast.optimism, 0);
    EXPECT_EQ(fast.cost_corrected, fast.rule.cost + fast.optimism);
  }
}

/// Likelihood ratio of the two counts in the kernel's window, each unit counted by hand.
double root_at(const MadeUnits& all, double at, double bandwidth, double odds) {
  double with = 0, without = 0, near = 0, off = 0;
  for (std::size_t i = 0; i < all.score.size(); ++i) {
    const double deviate = (at - all.score[i]) / bandwidth;
    const double kernel = std::numbers::sqrt2 * std::exp(-0.5 * deviate * deviate);  // 2 sqrt(pi) of a density
    (all.event[i] == 1 ? near : off) += kernel;
    (all.event[i] == 1 ? with : without) += 1;
  }
  const double p = with / (with + odds * without), both = near + off;
  const double ratio = 2 * (near * std::log(near / (both * p)) + off * std::log(off / (both * (1 - p))));
  const double window = 2 * std::sqrt(std::numbers::pi) * bandwidth;
  const double density = both / (window * (with / odds + without));
  const double in_sample = 1 - density * window * (1 / with + 1 / without) / (odds / with + 1 / without);
  return (near > both * p ? 1 : -1) * std::sqrt(ratio / in_sample);
}

TEST(BestThreshold, ItsIntervalEndsWhereTheDensitiesDiffer) {
  for (const std::uint64_t seed : {21U, 22U, 23U}) {
    const MadeUnits all = made_units(seed, {.units = 400, .shift = 1.5, .rounding = 0});
    const BestThreshold of = best_threshold(all.units(), costs, {.replicates = 2, .level = 0.9});
    const double most = 1.6448536269514722;  // normal quantile at 0.95
    const double bandwidth = bandwidth_of(all), odds = odds_of(all, costs);
    EXPECT_NEAR(root_at(all, of.low, bandwidth, odds), -most, 0.05) << seed;
    EXPECT_NEAR(root_at(all, of.high, bandwidth, odds), most, 0.05) << seed;
    EXPECT_LT(of.low, of.rule.threshold);
    EXPECT_GT(of.high, of.rule.threshold);
  }
}

// Sparse units far from the threshold do not deny it: they count where they are, not where the fine cells end.
TEST(BestThreshold, ItsIntervalReachesIntoASparseTail) {
  Numbers score;
  std::vector<std::uint8_t> event;
  for (int i = 0; i < 200; ++i) {
    score.push_back(numerics::normal({3, 1}, static_cast<std::uint64_t>(i)));
    event.push_back(0);
  }
  for (int i = 0; i < 12; ++i) {
    score.push_back(10 + 0.1 * numerics::normal({3, 2}, static_cast<std::uint64_t>(i)));
    event.push_back(1);
  }
  const double highest = *std::max_element(score.begin(), score.begin() + 200);
  const BestThreshold of =
      best_threshold({.low = score, .high = score, .event = event}, {1, 1, 0.5}, {.replicates = 2});
  EXPECT_LT(of.low, highest);
  EXPECT_GT(of.low, 0);
  EXPECT_LT(of.high, 10.5);
}

TEST(BestThreshold, StandsScoresOverManyPowersOfTen) {
  MadeUnits all = made_units(6, {.units = 400, .shift = 1.5, .rounding = 0});
  for (double& each : all.score) each = std::pow(10, 6 * each);
  const BestThreshold of = best_threshold(all.units(), costs, {.replicates = 20});
  EXPECT_NEAR(of.rule.cost, cost_by_counting(all, of.rule.threshold, costs), 1e-14);
  EXPECT_LE(of.low, of.rule.threshold);
  EXPECT_GE(of.high, of.rule.threshold);
  EXPECT_EQ(of.undefined, 0U);
}

TEST(BestThreshold, StandsCostsThatNobodyHas) {
  const MadeUnits all = made_units(6, {.units = 100});
  EXPECT_EQ(best_threshold(all.units(), {1e200, 1e-200, 0.5}, {.replicates = 20}).rule.sensitivity, 1);
  const BestThreshold equal = best_threshold(
      {.low = Numbers(6, 2.0), .high = Numbers(6, 2.0), .event = std::vector<std::uint8_t>{1, 0, 0, 1, 0, 0}}, costs,
      {.replicates = 20});
  EXPECT_TRUE(std::isinf(equal.rule.threshold));
}

// Turned round, the classes and their costs exchanged, the problem is the same.
TEST(BestThreshold, MirrorsWithTheClasses) {
  const MadeUnits all = made_units(9, {.units = 200, .shift = 1.5, .rounding = 0});
  MadeUnits turned = all;
  for (double& each : turned.score) each = -each;
  for (std::uint8_t& each : turned.event) each = each == 1 ? 0 : 1;
  const BestThreshold a = best_threshold(all.units(), {3, 1, 0.3}, {.replicates = 2});
  const BestThreshold b = best_threshold(turned.units(), {1, 3, 0.7}, {.replicates = 2});
  const double cell = bandwidth_of(all) / 4;
  EXPECT_NEAR(a.rule.threshold, -b.rule.threshold, 0.5 * cell);
  EXPECT_NEAR(a.low, -b.high, cell);
  EXPECT_NEAR(a.high, -b.low, cell);
}

TEST(BestThreshold, KnowsNoMoreFromUnitsThatHangTogether) {
  const MadeUnits all = made_units(14, {.units = 150, .shift = 1.5, .rounding = 0});
  const MadeUnits thrice = repeated(all, std::vector<std::size_t>(all.score.size(), 3));
  const auto width = [&](const statistics::ScoredUnits& units) {
    const BestThreshold of = best_threshold(units, costs, {.replicates = 2});
    return of.high - of.low;
  };
  const double once = width(all.units()), together = width(thrice.units(true)), blind = width(thrice.units());
  EXPECT_GT(together, 0.95 * once);
  EXPECT_LT(blind, 0.85 * once);
}

TEST(BestThreshold, DoesNotDependOnThreads) {
  const MadeUnits all = made_units(3, {.units = 300, .a_cluster = 5});
  const auto run = [&](int threads) {
    return best_threshold(all.units(true), costs, {.replicates = 100, .threads = threads});
  };
  EXPECT_EQ(run(1).thresholds, run(2).thresholds);
  EXPECT_EQ(run(1).optimisms, run(7).optimisms);
}

TEST(BestThreshold, TellsWhereFlaggingNothingOrAllIsCheapest) {
  const MadeUnits all = made_units(5, {.units = 100, .shift = 0});
  const BestThreshold none = best_threshold(all.units(), {1, 1000, 0.01}, {.replicates = 50});
  EXPECT_EQ(none.rule.threshold, infinity);
  EXPECT_EQ(none.rule.cost, none.cost_of_none);
  // A replicate may have an event at its very top, which is then flagged for nothing.
  EXPECT_EQ(none.flags_none, static_cast<std::size_t>(std::ranges::count(none.thresholds, infinity)));
  EXPECT_GT(none.flags_none, 25U);
  EXPECT_EQ(none.high, infinity);
  const BestThreshold every = best_threshold(all.units(), {1000, 1, 0.5}, {.replicates = 50});
  EXPECT_GE(every.cost_of_all, every.rule.cost);
  EXPECT_LT(every.rule.threshold, -1);
}

TEST(BestThreshold, WeighsUnits) {
  const MadeUnits all = made_units(8, {.units = 60});
  std::vector<std::size_t> times;
  for (std::size_t i = 0; i < all.score.size(); ++i) times.push_back(1 + i % 3);
  const MadeUnits copied = repeated(all, times);
  const Numbers weight(times.begin(), times.end()), equal(all.score.size(), 2.5);
  statistics::ScoredUnits weighted = all.units();
  weighted.weight = weight;
  EXPECT_NEAR(rule_at(weighted, 0.3, costs).cost, rule_at(copied.units(), 0.3, costs).cost, 1e-14);
  const Rule rule = best_threshold(weighted, costs, {.replicates = 2}).rule;
  EXPECT_NEAR(rule.cost, cost_by_counting(copied, rule.threshold, costs), 1e-14);
  // Equal weights say nothing.
  weighted.weight = equal;
  const BestThreshold a = best_threshold(weighted, costs, {.replicates = 2});
  const BestThreshold b = best_threshold(all.units(), costs, {.replicates = 2});
  EXPECT_NEAR(a.rule.threshold, b.rule.threshold, 1e-12);
  EXPECT_EQ(a.low, b.low);
  EXPECT_NEAR(a.high, b.high, 1e-9);
}

TEST(BestThreshold, StandsBoundsAtTheirBoundAndLeavesOutWhatHasNone) {
  const Numbers low{3, 2, -infinity, 0, -infinity}, high{3, infinity, 1, 0, infinity};
  const std::vector<std::uint8_t> event{1, 1, 0, 0, 1};
  const BestThreshold of = best_threshold({.low = low, .high = high, .event = event}, costs, {.replicates = 4});
  EXPECT_EQ(of.rule.above, 1);
  EXPECT_EQ(of.rule.up_to, 2);
  EXPECT_EQ(of.rule.cost, 0);
}

TEST(BestThreshold, RefusesWhatMakesNoSense) {
  const MadeUnits all = made_units(5, {.units = 30});
  EXPECT_THROW((void)best_threshold(all.units(), {0, 1}), InvalidParameter);
  EXPECT_THROW((void)best_threshold(all.units(), {1, -1}), InvalidParameter);
  EXPECT_THROW((void)best_threshold(all.units(), {1, 1, 2}), InvalidParameter);
  MadeUnits one = all;
  std::ranges::fill(one.event, std::uint8_t{0});
  EXPECT_EQ(best_threshold(one.units(), costs).status, Status::too_few_points);
}

}  // namespace
}  // namespace ohmward::thresholds
