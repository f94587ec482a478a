#include <gtest/gtest.h>

#include <algorithm>
#include <cmath>
#include <numeric>
#include <vector>

#include "ohmward/core/errors.hpp"
#include "ohmward/numerics/random.hpp"
#include "ohmward/statistics/roc.hpp"
#include "statistics/order.hpp"

namespace ohmward::statistics {
namespace {

using Numbers = std::vector<double>;
using Events = std::vector<std::uint8_t>;
using Labels = std::vector<long>;

ScoredUnits exactly(const Numbers& score, const Events& event) { return {.low = score, .high = score, .event = event}; }

struct Made {
  Numbers score;
  Events event;
  Labels cluster;
};

/// Scores with ties, a shift of `events` by one, and an effect of each cluster.
Made made(std::size_t n, std::uint64_t seed, std::size_t a_cluster = 1) {
  Made all;
  for (std::size_t i = 0; i < n; ++i) {
    const auto cluster = static_cast<long>(i / a_cluster);
    const bool with = numerics::uniform({seed, 1}, i) < 0.3;
    const double shared = numerics::normal({seed, 2}, static_cast<std::uint64_t>(cluster));
    const double score = numerics::normal({seed, 3}, i) + shared + (with ? 1 : 0);
    all.score.push_back(std::round(4 * score) / 4);
    all.event.push_back(with ? 1 : 0);
    all.cluster.push_back(7 * cluster - 3);
  }
  return all;
}

/// One pair's worth: 1 in order, half a tie.
double ordered(double with, double without) { return with > without ? 1 : (with == without ? 0.5 : 0); }

/// Area and DeLong's or Obuchowski's variance, written as in the papers: all pairs, sums by class and cluster.
struct ByPairs {
  double area = 0, variance = 0;
};
ByPairs by_pairs(const Numbers& score, const Events& event, const Labels& cluster) {
  const std::size_t n = score.size();
  double m = 0, k = 0;
  for (const auto e : event) (e == 1 ? m : k) += 1;
  Numbers share(n, 0.0);
  ByPairs result;
  for (std::size_t i = 0; i < n; ++i)
    for (std::size_t j = 0; j < n; ++j)
      if (event[i] == 1 && event[j] == 0) {
        const double worth = ordered(score[i], score[j]);
        share[i] += worth / k;
        share[j] += worth / m;
        result.area += worth / (m * k);
      }
  Labels labels(cluster);
  std::ranges::sort(labels);
  labels.erase(std::unique(labels.begin(), labels.end()), labels.end());
  double s10 = 0, s01 = 0, s11 = 0, with_clusters = 0, without_clusters = 0;
  for (const long label : labels) {
    double with = 0, without = 0, with_count = 0, without_count = 0;
    for (std::size_t i = 0; i < n; ++i)
      if (cluster[i] == label) {
        (event[i] == 1 ? with : without) += share[i];
        (event[i] == 1 ? with_count : without_count) += 1;
      }
    const double a = with - with_count * result.area, b = without - without_count * result.area;
    s10 += a * a;
    s01 += b * b;
    s11 += a * b;
    with_clusters += with_count > 0 ? 1 : 0;
    without_clusters += without_count > 0 ? 1 : 0;
  }
  const auto clusters = static_cast<double>(labels.size());
  s10 *= with_clusters / ((with_clusters - 1) * m);
  s01 *= without_clusters / ((without_clusters - 1) * k);
  s11 *= clusters / (clusters - 1);
  result.variance = s10 / m + s01 / k + 2 * s11 / (m * k);
  return result;
}

TEST(RisingOrder, IsStableAndEqualToASort) {
  Numbers values(5000);
  for (std::size_t i = 0; i < values.size(); ++i)
    values[i] = std::round(numerics::normal({1}, i) * 50) * std::pow(10.0, static_cast<double>(i % 7) - 3);
  values[10] = infinity;
  values[20] = -infinity;
  values[30] = -0.0;
  values[40] = 0.0;
  std::vector<std::uint32_t> sorted(values.size());
  std::iota(sorted.begin(), sorted.end(), 0U);
  std::ranges::stable_sort(sorted, [&](auto a, auto b) { return values[a] < values[b]; });
  EXPECT_EQ(rising_order(values), sorted);
  values.resize(50);
  EXPECT_TRUE(std::ranges::is_sorted(rising_order(values), {}, [&](auto i) { return values[i]; }));
}

TEST(AreaUnderCurve, EqualsAllPairs) {
  for (const std::uint64_t seed : {1U, 2U, 3U}) {
    const Made all = made(150, seed);
    const AreaUnderCurve of = area_under_curve(exactly(all.score, all.event));
    const ByPairs truth = by_pairs(all.score, all.event, all.cluster);
    EXPECT_NEAR(of.middle.area, truth.area, 1e-13);
    EXPECT_NEAR(of.middle.standard_error, std::sqrt(truth.variance), 1e-13);
    EXPECT_EQ(of.status, Status::sound);
    EXPECT_EQ(of.worst.area, of.best.area);
  }
}

TEST(AreaUnderCurve, InClustersEqualsObuchowskisSums) {
  const Made all = made(240, 5, 6);
  ScoredUnits units = exactly(all.score, all.event);
  const double alone = area_under_curve(units).middle.standard_error;
  units.cluster = all.cluster;
  const AreaUnderCurve of = area_under_curve(units);
  const ByPairs truth = by_pairs(all.score, all.event, all.cluster);
  EXPECT_EQ(of.clusters, 40U);
  EXPECT_NEAR(of.middle.area, truth.area, 1e-13);
  EXPECT_NEAR(of.middle.standard_error, std::sqrt(truth.variance), 1e-13);
  EXPECT_NE(of.middle.standard_error, alone);
}

TEST(AreaUnderCurve, AUnitOfWeightTwoIsTwoUnitsOfOneCluster) {
  const Made all = made(80, 9);
  Numbers score, weight;
  Events event;
  Labels cluster;
  for (std::size_t i = 0; i < all.score.size(); ++i) {
    weight.push_back(i % 3 == 0 ? 2 : 1);
    for (int copy = 0; copy < (i % 3 == 0 ? 2 : 1); ++copy) {
      score.push_back(all.score[i]);
      event.push_back(all.event[i]);
      cluster.push_back(static_cast<long>(i));
    }
  }
  ScoredUnits weighted = exactly(all.score, all.event), copied = exactly(score, event);
  weighted.weight = weight;
  copied.cluster = cluster;
  const Area a = area_under_curve(weighted).middle, b = area_under_curve(copied).middle;
  EXPECT_NEAR(a.area, b.area, 1e-13);
  EXPECT_NEAR(a.standard_error, b.standard_error, 1e-13);
}

TEST(AreaUnderCurve, OverRangeScoresGiveBounds) {
  // Healthy parts above the ceiling of their meters; the failing one is known to lie below all but one bound.
  const Numbers low{5, -infinity, 3, 1, 2}, high{5, -4, 3, 1, 2};
  const Events event{1, 1, 0, 0, 0};
  const AreaUnderCurve of = area_under_curve({.low = low, .high = high, .event = event});
  EXPECT_DOUBLE_EQ(of.best.area, 0.5);  // even at its best below all
  const Numbers open_high{5, 2.5, 3, 1, 2}, open_low{5, 0, 3, 1, 2};
  const AreaUnderCurve open = area_under_curve({.low = open_low, .high = open_high, .event = event});
  EXPECT_DOUBLE_EQ(open.worst.area, 3.0 / 6);
  EXPECT_DOUBLE_EQ(open.best.area, 5.0 / 6);
  EXPECT_DOUBLE_EQ(open.middle.area, 4.0 / 6);
}

TEST(AreaUnderCurve, AllOverloadedTellsNothing) {
  const Numbers low(6, -infinity), high(6, infinity);
  const Events event{1, 0, 1, 0, 1, 0};
  const AreaUnderCurve of = area_under_curve({.low = low, .high = high, .event = event});
  EXPECT_EQ(of.worst.area, 0);
  EXPECT_EQ(of.middle.area, 0.5);
  EXPECT_EQ(of.best.area, 1);
}

TEST(AreaUnderCurve, PerfectOrderKeepsAnInterval) {
  const Numbers score{1, 2, 3, 4, 11, 12, 13};
  const Events event{0, 0, 0, 0, 1, 1, 1};
  const AreaUnderCurve of = area_under_curve(exactly(score, event));
  EXPECT_EQ(of.middle.area, 1);
  EXPECT_NEAR(of.middle.low, std::pow(0.025, 1.0 / 3), 1e-15);
  EXPECT_EQ(of.middle.high, 1);
  EXPECT_EQ(of.status, Status::few_points);
  const Events reversed{1, 1, 1, 1, 0, 0, 0};
  EXPECT_NEAR(area_under_curve(exactly(score, reversed)).middle.high, 1 - std::pow(0.025, 1.0 / 3), 1e-15);
}

TEST(AreaUnderCurve, OneClassOrOneUnitSaysSo) {
  EXPECT_EQ(area_under_curve(exactly({1, 2, 3}, {0, 0, 0})).status, Status::too_few_points);
  EXPECT_TRUE(std::isnan(area_under_curve(exactly({1, 2, 3}, {0, 0, 0})).middle.area));
  const AreaUnderCurve one = area_under_curve(exactly({1, 2, 3}, {0, 1, 0}));
  EXPECT_EQ(one.middle.area, 0.5);
  EXPECT_TRUE(std::isnan(one.middle.low));
  EXPECT_EQ(area_under_curve(exactly({}, {})).status, Status::too_few_points);
}

TEST(AreaUnderCurve, MissingAndUnknownAreLeftOut) {
  const AreaUnderCurve of = area_under_curve(exactly({1, nan, 3, 4, 2, 9}, {0, 0, 1, 1, 0, ScoredUnits::unknown}));
  EXPECT_EQ(of.left_out, 2U);
  EXPECT_EQ(of.with, 2U);
  EXPECT_EQ(of.without, 2U);
}

TEST(AreaUnderCurve, RefusesWhatMakesNoSense) {
  EXPECT_THROW((void)area_under_curve(exactly({1, 2}, {0, 1, 1})), InvalidParameter);
  EXPECT_THROW((void)area_under_curve(exactly({1, 2}, {0, 3})), InvalidParameter);
  EXPECT_THROW((void)area_under_curve(exactly({1, 2}, {0, 1}), 1), InvalidParameter);
  const Numbers low{2, 1}, high{1, 1}, weight{1, 0};
  const Events event{0, 1};
  EXPECT_THROW((void)area_under_curve({.low = low, .high = high, .event = event}), InvalidParameter);
  EXPECT_THROW((void)area_under_curve({.low = high, .high = high, .event = event, .weight = weight}), InvalidParameter);
}

// The variance of a difference from the covariance of placements, class by class, as DeLong writes it.
TEST(CompareAreas, EqualsDeLongsCovariance) {
  const Made first = made(120, 21), noise = made(120, 22);
  Numbers second(first.score);
  for (std::size_t i = 0; i < second.size(); ++i) second[i] += 0.8 * noise.score[i];
  const AreaComparison of = compare_areas(exactly(first.score, first.event), second, second);
  const Placements a = placements(first.score, first.event), b = placements(second, first.event);
  double variance = 0;
  for (const int event : {0, 1}) {
    double n = 0, aa = 0, bb = 0, ab = 0;
    for (std::size_t i = 0; i < second.size(); ++i)
      if (first.event[i] == event) {
        n += 1;
        aa += (a.share[i] - a.area) * (a.share[i] - a.area);
        bb += (b.share[i] - b.area) * (b.share[i] - b.area);
        ab += (a.share[i] - a.area) * (b.share[i] - b.area);
      }
    variance += (aa + bb - 2 * ab) / (n * (n - 1));
  }
  EXPECT_NEAR(of.difference.area, a.area - b.area, 1e-15);
  EXPECT_NEAR(of.difference.standard_error, std::sqrt(variance), 1e-13);
  EXPECT_GT(of.difference.area, 0);
  EXPECT_LT(of.p_value, 1);
}

TEST(CompareAreas, OfAScoreWithItselfIsNothing) {
  const Made all = made(60, 3);
  const AreaComparison of = compare_areas(exactly(all.score, all.event), all.score, all.score);
  EXPECT_EQ(of.difference.area, 0);
  EXPECT_EQ(of.p_value, 1);
}

TEST(CompareAreas, UnitsThatLackOneScoreCountInNeither) {
  const AreaComparison of =
      compare_areas(exactly({1, nan, 3, 4, 5}, {0, 0, 1, 1, 0}), Numbers{1, 2, 3, nan, 0}, Numbers{1, 2, 3, nan, 0});
  EXPECT_EQ(of.left_out, 2U);
  EXPECT_EQ(of.first.area, 0.5);
}

TEST(RocCurve, WalksFromNoneToAll) {
  const Numbers low{1, 2, 2, 3}, high{1, 2, 2, infinity};
  const Events event{0, 0, 1, 1};
  const RocCurve curve = roc_curve({.low = low, .high = high, .event = event});
  EXPECT_EQ(curve.threshold, (Numbers{3, 2, 1, -infinity}));
  EXPECT_EQ(curve.with_low, (Numbers{0, 0.5, 1, 1}));
  EXPECT_EQ(curve.with_high, (Numbers{0.5, 0.5, 1, 1}));
  EXPECT_EQ(curve.without_low, (Numbers{0, 0, 0.5, 1}));
  EXPECT_EQ(roc_curve(exactly({1, 2}, {1, 1})).status, Status::too_few_points);
}

}  // namespace
}  // namespace ohmward::statistics
