#include <gtest/gtest.h>

#include <cmath>
#include <vector>

#include "ohmward/fleet/trend.hpp"

namespace ohmward::fleet {
namespace {

using uncertainty::Part;
using uncertainty::Quantity;

Quantity reading(double ohm, Censoring censoring = Censoring::exact) {
  Quantity q{.value = ohm, .scale = Scale::log, .censoring = censoring, .status = Status::sound};
  q.parts.set(Part::reading, 0.03);
  q.parts.set(Part::gain, 0.3);
  return q;
}

const temperature::Law none{};

std::vector<HistoryReading> halving_each_year() {
  std::vector<HistoryReading> history;
  for (int i = 0; i < 8; ++i) {
    const double day = 120.0 * i;
    history.push_back({.day = day, .resistance = reading(4e9 * std::exp2(-day / 365.25) * (1 + 0.01 * (i % 3 - 1)))});
  }
  return history;
}

TEST(Trend, HalvingEachYear) {
  const Trend t = trend(halving_each_year(), {.law = none, .lower_limit_ohm = 100e6});
  EXPECT_EQ(t.status, Status::sound);
  EXPECT_NEAR(t.slope_per_year, -std::log(2.0), 0.02);
  EXPECT_NEAR(t.robust_slope_per_year, -std::log(2.0), 0.03);
  EXPECT_NEAR(t.expected_crossing_day, std::log2(40.0) * 365.25, 40);
  EXPECT_LT(t.crossing_day, t.expected_crossing_day);
}

TEST(Trend, TheCommonGainMovesTheLevelOnly) {
  std::vector<HistoryReading> other = halving_each_year();
  for (HistoryReading& r : other) r.resistance.parts.set(Part::gain, 0);
  EXPECT_EQ(trend(halving_each_year(), {.law = none}).slope_standard_uncertainty_per_year,
            trend(other, {.law = none}).slope_standard_uncertainty_per_year);
}

TEST(Trend, TheRobustSlopeShrugsOffOneWildReading) {
  std::vector<HistoryReading> history = halving_each_year();
  history[6].resistance.value *= 1000;
  const Trend t = trend(history, {.law = none});
  EXPECT_NEAR(t.robust_slope_per_year, -std::log(2.0), 0.1);
  EXPECT_GT(t.slope_per_year, 0);
}

TEST(Trend, SaysWhatIsMissing) {
  EXPECT_EQ(trend({}, {.law = none}).status, Status::too_few_points);
  EXPECT_EQ(trend(halving_each_year(), {.law = none, .reference_celsius = 40}).status, Status::no_law);
  const temperature::Law law = temperature::law(temperature::Halving{.step_kelvin = 10});
  const Trend without = trend(halving_each_year(), {.law = law, .reference_celsius = 40});
  EXPECT_EQ(without.left_out, 8U);
  EXPECT_EQ(without.status, Status::too_few_points);
  std::vector<HistoryReading> over = halving_each_year();
  for (HistoryReading& r : over) r.resistance.censoring = Censoring::above;
  EXPECT_EQ(trend(over, {.law = none}).status, Status::too_few_points);
}

TEST(CompareLike, OfTwoNeitherIsTheYardstick) {
  const std::vector<Quantity> two{reading(2e9), reading(0.1e9)};
  const std::vector<LikeResult> found = compare_like(two);
  EXPECT_TRUE(found[0].stands_out && found[1].stands_out);
  EXPECT_EQ(found[0].status, Status::few_points);
  const std::vector<Quantity> alone{reading(2e9), reading(nan)};
  EXPECT_EQ(compare_like(alone)[0].status, Status::too_few_points);
}

}  // namespace
}  // namespace ohmward::fleet
