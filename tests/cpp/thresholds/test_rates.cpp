#include <gtest/gtest.h>

#include <cmath>
#include <string>
#include <vector>

#include "check_values.hpp"
#include "made_units.hpp"
#include "ohmward/core/errors.hpp"
#include "ohmward/statistics/proportion.hpp"
#include "ohmward/thresholds/rates.hpp"

namespace ohmward::thresholds {
namespace {

using Numbers = std::vector<double>;
using Events = std::vector<std::uint8_t>;

/// 8 of 10 events above 0 and 15 of 90 others.
MadeUnits two_by_two() {
  MadeUnits all;
  const auto add = [&](int count, double score, std::uint8_t event) {
    for (int i = 0; i < count; ++i) {
      all.score.push_back(score);
      all.event.push_back(event);
    }
  };
  add(8, 1, 1);
  add(2, -1, 1);
  add(15, 1, 0);
  add(75, -1, 0);
  return all;
}

TEST(RatesAt, GivesTheSharesAndIntervalsOfATwoByTwo) {
  const MadeUnits all = two_by_two();
  for (const auto interval : {ShareInterval::wilson, ShareInterval::exact}) {
    const Rates of = rates_at(all.units(), 0, {.interval = interval});
    const auto expected = [&](std::int64_t events, std::int64_t trials) {
      return interval == ShareInterval::wilson ? statistics::wilson({events, trials})
                                               : statistics::clopper_pearson({events, trials});
    };
    const auto equal = [](const Share& share, const statistics::Proportion& truth) {
      EXPECT_NEAR(share.value, truth.value, 1e-15);
      EXPECT_NEAR(share.low, truth.low, 1e-12);
      EXPECT_NEAR(share.high, truth.high, 1e-12);
      EXPECT_EQ(share.worst, share.best);
    };
    equal(of.sensitivity, expected(8, 10));
    equal(of.specificity, expected(75, 90));
    equal(of.positive_predictive_value, expected(8, 23));
    equal(of.negative_predictive_value, expected(75, 77));
    EXPECT_EQ(of.status, Status::sound);
  }
}

class RatesValues : public ::testing::TestWithParam<testing::CheckValue> {};

TEST_P(RatesValues, AreAsPrinted) {
  const testing::CheckValue& row = GetParam();
  MadeUnits all;
  const auto add = [&](const char* column, double score, std::uint8_t event) {
    for (int i = 0; i < static_cast<int>(row.number(column)); ++i) {
      all.score.push_back(score);
      all.event.push_back(event);
    }
  };
  add("failed_flagged", 1, 1);
  add("failed_let_be", -1, 1);
  add("sound_flagged", 1, 0);
  add("sound_let_be", -1, 0);
  const Rates of = rates_at(all.units(), 0, {.prevalence = row.number("prevalence")});
  const std::string& figure = row.text("figure");
  const Share& share = figure == "sensitivity"                 ? of.sensitivity
                       : figure == "specificity"               ? of.specificity
                       : figure == "positive_predictive_value" ? of.positive_predictive_value
                                                               : of.negative_predictive_value;
  row.expect(share.value);
}

INSTANTIATE_TEST_SUITE_P(CheckValues, RatesValues, ::testing::ValuesIn(testing::check_values("threshold_rates")));

TEST(RatesAt, FlagsStrictlyAbove) {
  const Rates of = rates_at(two_by_two().units(), 1);
  EXPECT_EQ(of.sensitivity.value, 0);
  EXPECT_EQ(of.specificity.value, 1);
  EXPECT_TRUE(std::isnan(of.positive_predictive_value.value));
}

TEST(RatesAt, AStatedPrevalenceGivesBayes) {
  const MadeUnits all = two_by_two();
  const Rates of = rates_at(all.units(), 0, {.prevalence = 0.01});
  const double hits = 0.01 * 0.8, alarms = 0.99 * 15 / 90;
  EXPECT_NEAR(of.positive_predictive_value.value, hits / (hits + alarms), 1e-15);
  // Delta method of ln(sensitivity) - ln(1 - specificity), written out.
  const double half = 1.959963984540054 * std::sqrt(0.2 / 8 + (75.0 / 90) / 15);
  const double centre = std::log(hits / alarms);
  EXPECT_NEAR(of.positive_predictive_value.low, 1 / (1 + std::exp(half - centre)), 1e-12);
  EXPECT_NEAR(of.positive_predictive_value.high, 1 / (1 + std::exp(-half - centre)), 1e-12);
  EXPECT_GT(of.negative_predictive_value.low, 0.99);
}

TEST(RatesAt, AnEmptyCellKeepsAnInterval) {
  const Rates none = rates_at(two_by_two().units(), 5, {.prevalence = 0.01});
  EXPECT_TRUE(std::isnan(none.positive_predictive_value.value));  // nothing is flagged
  EXPECT_GT(none.positive_predictive_value.high, none.positive_predictive_value.low);
  EXPECT_NEAR(none.negative_predictive_value.value, 0.99, 1e-15);
}

TEST(RatesAt, OverRangeScoresAndUnknownOutcomesAreBounds) {
  const Numbers low{1, -infinity, -1, -1, 1, 1, -1}, high{1, 3, -1, 2, 1, 1, -1};
  const Events event{1, 1, 0, 0, ScoredUnits::unknown, 0, ScoredUnits::unknown};
  const Rates of = rates_at({.low = low, .high = high, .event = event}, 0);
  EXPECT_EQ(of.counts.unknown_flagged_low, 1);
  EXPECT_DOUBLE_EQ(of.sensitivity.value, 0.75);
  EXPECT_DOUBLE_EQ(of.sensitivity.worst, 1.0 / 3);  // the unflagged unknown one failed
  EXPECT_DOUBLE_EQ(of.sensitivity.best, 3.0 / 3);
  EXPECT_DOUBLE_EQ(of.specificity.value, 0.5);
  EXPECT_DOUBLE_EQ(of.specificity.worst, 1.0 / 4);
  EXPECT_DOUBLE_EQ(of.specificity.best, 3.0 / 4);
  EXPECT_DOUBLE_EQ(of.positive_predictive_value.worst, 1.0 / 4);
  EXPECT_DOUBLE_EQ(of.positive_predictive_value.best, 3.0 / 4);
  EXPECT_LE(of.sensitivity.low, of.sensitivity.worst);
  EXPECT_GE(of.sensitivity.high, of.sensitivity.best);
}

// Every way in which the unknown can fall out lies within the bounds, and the bounds are reached.
TEST(RatesAt, BoundsAreThoseOfAllWaysToFallOut) {
  const Numbers low{1, -2, -1, -1, 1, -1}, high{1, 3, -1, 2, 1, 2};
  const Events event{1, 1, 0, 0, ScoredUnits::unknown, ScoredUnits::unknown};
  const Rates bounds = rates_at({.low = low, .high = high, .event = event}, 0);
  double least = 1, most = 0, least_negative = 1, most_negative = 0;
  for (unsigned way = 0; way < 32; ++way) {
    Numbers score{1, (way & 1U) != 0 ? 1.0 : -1.0, -1, (way & 2U) != 0 ? 1.0 : -1.0, 1, (way & 4U) != 0 ? 1.0 : -1.0};
    Events fate{1, 1, 0, 0, static_cast<std::uint8_t>((way >> 3U) & 1U), static_cast<std::uint8_t>((way >> 4U) & 1U)};
    const Rates of = rates_at({.low = score, .high = score, .event = fate}, 0);
    least = std::min(least, of.sensitivity.value);
    most = std::max(most, of.sensitivity.value);
    least_negative = std::min(least_negative, of.negative_predictive_value.value);
    most_negative = std::max(most_negative, of.negative_predictive_value.value);
  }
  EXPECT_DOUBLE_EQ(bounds.sensitivity.worst, least);
  EXPECT_DOUBLE_EQ(bounds.sensitivity.best, most);
  EXPECT_DOUBLE_EQ(bounds.negative_predictive_value.worst, least_negative);
  EXPECT_DOUBLE_EQ(bounds.negative_predictive_value.best, most_negative);
}

TEST(RatesAt, ClustersThatHangTogetherWidenAndPairsOfCopiesHalveTheUnits) {
  MadeUnits all = two_by_two();
  const MadeUnits doubled = repeated(all, std::vector<std::size_t>(all.score.size(), 2));
  const Rates once = rates_at(all.units(), 0), twice = rates_at(doubled.units(true), 0);
  EXPECT_EQ(once.sensitivity.value, twice.sensitivity.value);
  EXPECT_LT(twice.sensitivity.low, once.sensitivity.low);  // Student's factor and n - 1 on top of the same units
  EXPECT_GT(twice.sensitivity.low, rates_at(all.units(), 0, {.level = 0.995}).sensitivity.low);
}

TEST(RatesAt, WeightsCount) {
  MadeUnits all = two_by_two();
  Numbers weight(all.score.size(), 1);
  for (std::size_t i = 0; i < 8; ++i) weight[i] = 3;
  ScoredUnits units = all.units();
  units.weight = weight;
  EXPECT_NEAR(rates_at(units, 0).sensitivity.value, 24.0 / 26, 1e-15);
  EXPECT_THROW((void)rates_at(units, 0, {.interval = ShareInterval::exact}), InvalidParameter);
}

/// Strata in which every unit of like score stands for as many: their own scatter counts in full, what parts them is
/// known from all that they stand for.
TEST(RatesAt, CountedWeightsKnowMoreThanKnownOnes) {
  MadeUnits all = two_by_two();
  Numbers weight;
  std::vector<long> stratum, alike(all.score.size(), 7);
  for (const double score : all.score) {
    weight.push_back(score > 0 ? 4 : 1);
    stratum.push_back(score > 0 ? 1 : 0);
  }
  ScoredUnits known = all.units();
  known.weight = weight;
  ScoredUnits counted = known, equal = all.units();
  counted.stratum = stratum;
  const Share a = rates_at(known, 0).specificity, b = rates_at(counted, 0).specificity;
  EXPECT_EQ(a.value, b.value);
  EXPECT_LT(b.high - b.low, a.high - a.low);
  // Where all weights are 1 nothing was counted.
  const Numbers ones(all.score.size(), 1);
  equal.weight = ones;
  const Share plain = rates_at(equal, 0).specificity;
  equal.stratum = alike;
  EXPECT_NEAR(rates_at(equal, 0).specificity.low, plain.low, 1e-12);
  equal.weight = {};
  EXPECT_THROW((void)rates_at(equal, 0), InvalidParameter);
  counted.stratum = std::span<const long>(alike).first(2);
  EXPECT_THROW((void)rates_at(counted, 0), InvalidParameter);
}

TEST(RatesAt, RefusesWhatMakesNoSense) {
  const MadeUnits all = two_by_two();
  EXPECT_THROW((void)rates_at(all.units(), nan), InvalidParameter);
  EXPECT_THROW((void)rates_at(all.units(), 0, {.level = 0}), InvalidParameter);
  EXPECT_THROW((void)rates_at(all.units(), 0, {.prevalence = 1}), InvalidParameter);
  EXPECT_THROW((void)threshold_for(all.units(), Target::sensitivity, 1), InvalidParameter);
}

TEST(ThresholdFor, ReachesItsTargetAndNoMore) {
  const MadeUnits all = made_units(7, {.units = 400, .rounding = 0});
  for (const double target : {0.5, 0.8, 0.95}) {
    const TargetThreshold se = threshold_for(all.units(), Target::sensitivity, target);
    EXPECT_GE(rates_at(all.units(), se.threshold).sensitivity.value, target);
    EXPECT_LT(se.low, se.threshold);
    EXPECT_GT(se.high, se.threshold);
    const Rates at_low = rates_at(all.units(), se.low), at_high = rates_at(all.units(), se.high);
    EXPECT_LE(at_low.sensitivity.low, target);
    EXPECT_GE(at_high.sensitivity.high, target);
    const TargetThreshold sp = threshold_for(all.units(), Target::specificity, target);
    EXPECT_GE(rates_at(all.units(), sp.threshold).specificity.value, target);
    EXPECT_LT(sp.low, sp.threshold);
    EXPECT_GT(sp.high, sp.threshold);
  }
}

TEST(ThresholdFor, NoClassNoThreshold) {
  const Numbers score{1, 2};
  const Events event{0, 0};
  const TargetThreshold of = threshold_for({.low = score, .high = score, .event = event}, Target::sensitivity, 0.9);
  EXPECT_EQ(of.status, Status::too_few_points);
  EXPECT_TRUE(std::isnan(of.threshold));
}

}  // namespace
}  // namespace ohmward::thresholds
