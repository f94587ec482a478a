#include <gtest/gtest.h>

#include <algorithm>
#include <cmath>
#include <functional>
#include <iterator>
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

/// Tries the middle between each two neighbouring scores; of equal costs the middle one.
double best_by_trying(const MadeUnits& all, const Costs& of) {
  Numbers scores(all.score);
  std::ranges::sort(scores, std::greater<>());
  scores.erase(std::unique(scores.begin(), scores.end()), scores.end());
  Numbers tried{infinity};
  for (std::size_t i = 0; i + 1 < scores.size(); ++i)
    tried.push_back(scores[i + 1] + 0.5 * (scores[i] - scores[i + 1]));
  tried.push_back(-infinity);
  double least = infinity;
  for (const double t : tried) least = std::min(least, cost_by_counting(all, t, of));
  Numbers equal;
  std::ranges::copy_if(tried, std::back_inserter(equal),
                       [&](double t) { return cost_by_counting(all, t, of) <= least * (1 + 1e-12); });
  return equal[(equal.size() - 1) / 2];
}

TEST(BestThreshold, EqualsTryingEveryThreshold) {
  for (const std::uint64_t seed : {1U, 2U, 3U, 4U}) {
    const MadeUnits all = made_units(seed, {.units = 150, .rounding = seed % 2 == 0 ? 0.25 : 0});
    for (const double miss : {0.5, 5.0, 50.0})
      for (const double prevalence : {nan, 0.02}) {
        const Costs of{.of_miss = miss, .of_false_alarm = 1, .prevalence = prevalence};
        const BestThreshold best = best_threshold(all.units(), of, {.replicates = 2});
        const double truth = best_by_trying(all, of);
        EXPECT_NEAR(best.rule.cost, cost_by_counting(all, truth, of), 1e-14);
        EXPECT_NEAR(best.rule.cost, cost_by_counting(all, best.rule.threshold, of), 1e-14);
      }
  }
}

/// A copy of the data for each replicate, drawn with the multiplicities that statistics::bootstrap hands out.
TEST(BestThreshold, EqualsCopyingTheDataForEveryReplicate) {
  for (const bool clustered : {false, true}) {
    const MadeUnits all = made_units(11, {.units = 120, .a_cluster = 4, .shared_scatter = 1});
    const statistics::BootstrapOptions options{.replicates = 200, .seed = 5};
    const BestThreshold fast = best_threshold(all.units(clustered), costs, options);
    // The room hands over its units sorted: from the highest score down, those without the event first.
    std::vector<std::size_t> order(all.score.size());
    for (std::size_t i = 0; i < order.size(); ++i) order[i] = i;
    std::ranges::sort(order, [&](std::size_t a, std::size_t b) {
      if (all.score[a] != all.score[b]) return all.score[a] > all.score[b];
      if (all.event[a] != all.event[b]) return all.event[a] < all.event[b];
      return a > b;
    });
    std::vector<long> labels;
    for (const std::size_t i : order) labels.push_back(all.cluster[i]);
    const auto copied = [&](std::span<const std::uint32_t> times, std::span<double> out) {
      MadeUnits copy;
      for (std::size_t k = 0; k < order.size(); ++k)
        for (std::uint32_t c = 0; c < times[k]; ++c) {
          copy.score.push_back(all.score[order[k]]);
          copy.event.push_back(all.event[order[k]]);
        }
      out[0] = best_by_trying(copy, costs);
      out[1] = cost_by_counting(all, out[0], costs) - cost_by_counting(copy, out[0], costs);
    };
    const auto slow = statistics::bootstrap(copied, order.size(), clustered ? labels : std::vector<long>{}, 2, options);
    double sum = 0;
    for (std::size_t r = 0; r < options.replicates; ++r) {
      EXPECT_EQ(fast.thresholds[r], slow[0].replicates[r]) << r;
      EXPECT_NEAR(fast.optimisms[r], slow[1].replicates[r], 1e-13);
      sum += slow[1].replicates[r];
    }
    EXPECT_NEAR(fast.optimism, sum / 200, 1e-13);
    EXPECT_GT(fast.optimism, 0);
    EXPECT_EQ(fast.cost_corrected, fast.rule.cost + fast.optimism);
  }
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

TEST(BestThreshold, WeightsCountAsCopies) {
  const MadeUnits all = made_units(8, {.units = 60});
  MadeUnits copied;
  Numbers weight;
  for (std::size_t i = 0; i < all.score.size(); ++i) {
    weight.push_back(1 + static_cast<double>(i % 3));
    for (std::size_t c = 0; c < 1 + i % 3; ++c) {
      copied.score.push_back(all.score[i]);
      copied.event.push_back(all.event[i]);
    }
  }
  statistics::ScoredUnits weighted = all.units();
  weighted.weight = weight;
  const Rule a = best_threshold(weighted, costs, {.replicates = 2}).rule;
  const Rule b = best_threshold(copied.units(), costs, {.replicates = 2}).rule;
  EXPECT_EQ(a.threshold, b.threshold);
  EXPECT_NEAR(a.cost, b.cost, 1e-14);
  EXPECT_NEAR(rule_at(weighted, 0.3, costs).cost, rule_at(copied.units(), 0.3, costs).cost, 1e-14);
}

TEST(BestThreshold, StandsBoundsAtTheirBoundAndLeavesOutWhatHasNone) {
  const Numbers low{3, 2, -infinity, 0, -infinity}, high{3, infinity, 1, 0, infinity};
  const std::vector<std::uint8_t> event{1, 1, 0, 0, 1};
  const BestThreshold of = best_threshold({.low = low, .high = high, .event = event}, costs, {.replicates = 4});
  EXPECT_EQ(of.rule.threshold, 1.5);
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
