#include <gtest/gtest.h>

#include <cmath>
#include <vector>

#include "ohmward/core/errors.hpp"
#include "ohmward/numerics/normal.hpp"
#include "ohmward/numerics/random.hpp"
#include "ohmward/statistics/crossed_mean.hpp"

namespace ohmward::statistics {
namespace {

struct Design {
  std::vector<double> readings;
  std::vector<long> days, operators;

  [[nodiscard]] CrossedMean split(double step = 0) const { return crossed_mean(readings, {days, operators}, step); }
};

double normal(std::uint64_t block, std::size_t i) {
  return numerics::normal_quantile(numerics::uniform({.seed = 11, .block = block}, i));
}

struct True {
  double day, by_operator, interaction, repeat;
};

Design drawn(long days, long operators, long repeats, const True& of, std::uint64_t run = 0) {
  Design d;
  for (long i = 0; i < days; ++i)
    for (long j = 0; j < operators; ++j)
      for (long k = 0; k < repeats; ++k) {
        const auto cell = static_cast<std::size_t>(i * operators + j);
        d.readings.push_back(
            10 + of.day * normal(4 * run, static_cast<std::size_t>(i)) +
            of.by_operator * normal(4 * run + 1, static_cast<std::size_t>(j)) +
            of.interaction * normal(4 * run + 2, cell) +
            of.repeat * normal(4 * run + 3, cell * static_cast<std::size_t>(repeats) + static_cast<std::size_t>(k)));
        d.days.push_back(100 - i);
        d.operators.push_back(j * 7);
      }
  return d;
}

TEST(CrossedMean, ComeBackOnAverageAndUCoversTheScatterOfTheMean) {
  constexpr True truth{.day = 0.3, .by_operator = 0.2, .interaction = 0.1, .repeat = 0.15};
  constexpr int runs = 2000;
  double day = 0, by_operator = 0, repeat = 0, u = 0, scatter = 0;
  for (int run = 0; run < runs; ++run) {
    const CrossedMean of = drawn(8, 6, 3, truth, static_cast<std::uint64_t>(run)).split();
    day += of.between_days * of.between_days / runs;
    by_operator += of.between_operators * of.between_operators / runs;
    repeat += of.repeat * of.repeat / runs;
    u += of.standard_uncertainty * of.standard_uncertainty / runs;
    scatter += (of.mean - 10) * (of.mean - 10) / runs;
  }
  EXPECT_NEAR(day / 0.09, 1, 0.05);
  EXPECT_NEAR(by_operator / 0.04, 1, 0.06);
  EXPECT_NEAR(repeat / 0.0225, 1, 0.01);
  EXPECT_NEAR(u / (0.09 / 8 + 0.04 / 6 + 0.01 / 48 + 0.0225 / 144), 1, 0.05);
  EXPECT_NEAR(u / scatter, 1, 0.1);
}

TEST(CrossedMean, WithoutEffectsEveryReadingCounts) {
  const Design d = drawn(5, 4, 6, {.day = 0, .by_operator = 0, .interaction = 0, .repeat = 1});
  const CrossedMean of = d.split();
  EXPECT_LT(of.between_days, 0.3);
  EXPECT_LT(of.between_operators, 0.3);
  EXPECT_NEAR(of.repeat, 1, 0.2);
}

TEST(CrossedMean, ADisplayThatNeverMovesStillHidesAStep) {
  Design d = drawn(4, 4, 2, {.day = 0, .by_operator = 0, .interaction = 0, .repeat = 0});
  const CrossedMean of = d.split(0.1);
  EXPECT_DOUBLE_EQ(of.repeat, 0.1 / std::sqrt(12.0));
  EXPECT_DOUBLE_EQ(of.standard_uncertainty, 0.1 / std::sqrt(12.0));
  EXPECT_TRUE(std::isinf(of.degrees_of_freedom));
  EXPECT_EQ(of.status, Status::sound);
}

TEST(CrossedMean, TooFewOrMissingReadingsHaveNoValue) {
  EXPECT_EQ(drawn(3, 3, 1, {1, 1, 1, 1}).split().status, Status::too_few_points);
  EXPECT_EQ(drawn(1, 3, 2, {1, 1, 1, 1}).split().status, Status::too_few_points);
  EXPECT_EQ(drawn(3, 3, 2, {1, 1, 1, 1}).split().status, Status::few_points);
  Design d = drawn(3, 3, 2, {1, 1, 1, 1});
  d.readings[4] = nan;
  EXPECT_EQ(d.split().status, Status::missing_input);
  EXPECT_TRUE(std::isnan(d.split().standard_uncertainty));
  EXPECT_EQ(Design{}.split().status, Status::too_few_points);
}

TEST(CrossedMean, UnequalDesignsAreRefused) {
  Design d = drawn(3, 3, 2, {1, 1, 1, 1});
  EXPECT_THROW((void)d.split(-1), InvalidParameter);
  d.operators[0] = d.operators[2];
  EXPECT_THROW((void)d.split(), InvalidParameter);
  d = drawn(3, 3, 2, {1, 1, 1, 1});
  d.days.pop_back();
  EXPECT_THROW((void)d.split(), InvalidParameter);
  d = drawn(2, 2, 2, {1, 1, 1, 1});
  for (std::size_t i = 0; i < 4; ++i) d.operators[i] = 0, d.operators[i + 4] = 1;  // each day its own operator
  EXPECT_THROW((void)d.split(), InvalidParameter);
}

}  // namespace
}  // namespace ohmward::statistics
