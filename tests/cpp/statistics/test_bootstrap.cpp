#include <gtest/gtest.h>

#include <algorithm>
#include <cmath>
#include <numeric>
#include <stdexcept>
#include <vector>

#include "ohmward/core/errors.hpp"
#include "ohmward/numerics/random.hpp"
#include "ohmward/statistics/bootstrap.hpp"

namespace ohmward::statistics {
namespace {

using Numbers = std::vector<double>;

WeightedStatistic mean_of_sample(const Numbers& sample) {
  return [&sample](std::span<const std::uint32_t> times, std::span<double> estimates) {
    double sum = 0;
    double count = 0;
    for (std::size_t i = 0; i < times.size(); ++i) {
      sum += times[i] * sample[i];
      count += times[i];
    }
    estimates[0] = sum / count;
  };
}

Numbers normal_sample(std::size_t size) {
  Numbers sample(size);
  numerics::fill_normal(sample, {.seed = 5});
  return sample;
}

std::vector<long> in_clusters_of(std::size_t units, long size) {
  std::vector<long> labels(units);
  for (std::size_t i = 0; i < units; ++i) labels[i] = static_cast<long>(i) / size - 3;
  return labels;
}

TEST(Bootstrap, EveryReplicateDrawsAsManyUnitsAsThereAre) {
  const WeightedStatistic drawn = [](std::span<const std::uint32_t> times, std::span<double> estimates) {
    estimates[0] = std::accumulate(times.begin(), times.end(), 0.0);
  };
  const BootstrapEstimate of = bootstrap(drawn, 37)[0];
  for (const double each : of.replicates) EXPECT_EQ(each, 37);
  EXPECT_EQ(of.standard_deviation, 0);
}

TEST(Bootstrap, UnitsOfAClusterComeTogether) {
  const std::vector<long> clusters = in_clusters_of(24, 4);
  const WeightedStatistic apart = [](std::span<const std::uint32_t> times, std::span<double> estimates) {
    estimates[0] = 0;
    for (std::size_t i = 0; i < times.size(); ++i) estimates[0] += times[i] != times[i / 4 * 4] ? 1 : 0;
  };
  const BootstrapEstimate of = bootstrap(apart, 24, clusters)[0];
  for (const double each : of.replicates) EXPECT_EQ(each, 0);
}

TEST(Bootstrap, BitsDoNotDependOnThreads) {
  const Numbers sample = normal_sample(50);
  const std::vector<long> clusters = in_clusters_of(50, 2);
  for (const BootstrapInterval interval : {BootstrapInterval::percentile, BootstrapInterval::bias_corrected}) {
    const auto run = [&](int threads, std::span<const long> labels) {
      return bootstrap(mean_of_sample(sample), sample.size(), labels, 1,
                       {.replicates = 501, .interval = interval, .threads = threads})[0];
    };
    for (const std::span<const long> labels : {std::span<const long>{}, std::span<const long>(clusters)})
      for (const int threads : {2, 7}) {
        const BootstrapEstimate one = run(1, labels);
        const BootstrapEstimate many = run(threads, labels);
        EXPECT_EQ(one.replicates, many.replicates);
        EXPECT_EQ(one.low, many.low);
        EXPECT_EQ(one.high, many.high);
      }
  }
}

// The bootstrap's own standard deviation of a mean is known: that of the sample, divided by n, over root n.
TEST(Bootstrap, SpreadOfAMeanIsTheKnownOne) {
  const Numbers sample = normal_sample(40);
  const double mean = std::accumulate(sample.begin(), sample.end(), 0.0) / 40;
  double squares = 0;
  for (const double x : sample) squares += (x - mean) * (x - mean);
  const double expected = std::sqrt(squares / 40 / 40);
  const BootstrapEstimate of = bootstrap(mean_of_sample(sample), 40, {}, 1, {.replicates = 20000})[0];
  EXPECT_NEAR(of.value, mean, 1e-15);
  EXPECT_NEAR(of.standard_deviation, expected, 4 * expected / std::sqrt(2.0 * 20000));
  EXPECT_EQ(of.status, Status::sound);
  // Of a symmetric statistic both kinds of interval say nearly the same.
  const BootstrapEstimate moved = bootstrap(mean_of_sample(sample), 40, {}, 1,
                                            {.replicates = 20000, .interval = BootstrapInterval::bias_corrected})[0];
  EXPECT_NEAR(moved.low, of.low, 0.1 * expected);
  EXPECT_NEAR(moved.high, of.high, 0.1 * expected);
}

TEST(Bootstrap, SeedsAreIndependentAndRepeatable) {
  const Numbers sample = normal_sample(30);
  const auto replicates = [&](std::uint64_t seed) {
    return bootstrap(mean_of_sample(sample), 30, {}, 1, {.replicates = 50, .seed = seed})[0].replicates;
  };
  EXPECT_EQ(replicates(1), replicates(1));
  EXPECT_NE(replicates(1), replicates(2));
}

TEST(Bootstrap, UndefinedReplicatesAreCountedAndLeftOut) {
  const WeightedStatistic needs_the_first = [](std::span<const std::uint32_t> times, std::span<double> estimates) {
    estimates[0] = times[0] > 0 ? static_cast<double>(times[1]) : nan;
    estimates[1] = nan;
  };
  const std::vector<BootstrapEstimate> of = bootstrap(needs_the_first, 40, {}, 2, {.replicates = 4000});
  EXPECT_NEAR(static_cast<double>(of[0].undefined), 4000 * std::pow(39.0 / 40, 40), 120);
  EXPECT_EQ(of[0].status, Status::few_points);
  EXPECT_FALSE(std::isnan(of[0].high));
  EXPECT_EQ(of[1].status, Status::too_few_points);
  EXPECT_TRUE(std::isnan(of[1].low));
}

TEST(Bootstrap, FewUnitsAreSaid) {
  const Numbers sample = normal_sample(40);
  const auto status = [&](std::size_t units, std::span<const long> labels) {
    return bootstrap(mean_of_sample(sample), units, labels)[0].status;
  };
  EXPECT_EQ(status(29, {}), Status::few_points);
  EXPECT_EQ(status(30, {}), Status::sound);
  EXPECT_EQ(status(1, {}), Status::too_few_points);
  EXPECT_EQ(status(40, in_clusters_of(40, 4)), Status::few_points);
  EXPECT_EQ(status(40, in_clusters_of(40, 100)), Status::too_few_points);
}

TEST(Bootstrap, WithoutAnswerOfBcaNothingIsInvented) {
  // Largest of the sample: no replicate lies above it, so the median bias has no normal quantile but by its ties.
  const WeightedStatistic never_as_large = [](std::span<const std::uint32_t> times, std::span<double> estimates) {
    estimates[0] = std::ranges::all_of(times, [](std::uint32_t t) { return t == 1; }) ? 2 : 1;
  };
  const BootstrapEstimate of = bootstrap(never_as_large, 25, {}, 1, {.interval = BootstrapInterval::bias_corrected})[0];
  EXPECT_EQ(of.status, Status::out_of_domain);
  EXPECT_TRUE(std::isnan(of.low));
}

TEST(Bootstrap, RefusesSenselessParametersAndPassesErrorsOn) {
  const Numbers sample = normal_sample(4);
  const WeightedStatistic mean = mean_of_sample(sample);
  EXPECT_THROW((void)bootstrap(mean, 0), InvalidParameter);
  EXPECT_THROW((void)bootstrap(mean, 4, std::vector<long>{1, 2, 3}), InvalidParameter);
  EXPECT_THROW((void)bootstrap(mean, 4, {}, 0), InvalidParameter);
  EXPECT_THROW((void)bootstrap(mean, 4, {}, 1, {.replicates = 1}), InvalidParameter);
  EXPECT_THROW((void)bootstrap(mean, 4, {}, 1, {.level = 1}), InvalidParameter);
  const WeightedStatistic fails = [](std::span<const std::uint32_t>, std::span<double>) {
    throw std::runtime_error("no");
  };
  EXPECT_THROW((void)bootstrap(fails, 4), std::runtime_error);
}

}  // namespace
}  // namespace ohmward::statistics
