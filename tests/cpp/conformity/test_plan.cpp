#include <gtest/gtest.h>

#include <cmath>
#include <functional>
#include <map>
#include <string>
#include <vector>

#include "check_values.hpp"
#include "ohmward/conformity/plan.hpp"
#include "ohmward/conformity/risk.hpp"
#include "ohmward/core/errors.hpp"

namespace ohmward::conformity {
namespace {

using uncertainty::Part;
using uncertainty::Quantity;

/// ±(fraction of reading + counts of a step) as a rectangle; on the log scale relative to the reading.
ReadingToQuantity sheet(double fraction, double counts, Scale scale = Scale::linear) {
  return [=](double reading) {
    Quantity quantity{.value = reading, .scale = scale, .status = Status::sound};
    const double u = (fraction * std::abs(reading) + counts) / std::sqrt(3.0);
    quantity.parts.set(Part::reading, scale == Scale::log ? u / reading : u);
    return quantity;
  };
}

Rule with_guard(double factor) { return guarded({.multiple = 1, .coverage_factor = factor}); }

/// Conformity of a reading of relative standard uncertainty u with a lower limit.
double conformity_of(double reading, double u, double lower, Scale scale) {
  Quantity quantity{.value = reading, .scale = scale, .status = Status::sound};
  quantity.parts.set(Part::reading, scale == Scale::log ? u : u * reading);
  return probability_of_conformity(quantity, {.lower = lower});
}

double least_pass(double u, double lower, Scale scale) {
  return reading_to_pass({.lower = lower, .rule = with_guard(2)}, sheet(u * std::sqrt(3.0), 0, scale)).at_least;
}

class ConformityFigure : public ::testing::TestWithParam<testing::CheckValue> {};
INSTANTIATE_TEST_SUITE_P(CheckValues, ConformityFigure,
                         ::testing::ValuesIn(testing::check_values("conformity_figure")));

TEST_P(ConformityFigure, OfEachKind) {
  const testing::CheckValue& row = GetParam();
  const double first = row.number("first");
  const double second = row.number("second");
  const double third = row.number("third");
  const std::map<std::string, std::function<double()>> figures{
      {"factor_for_risk", [&] { return rule_for_risk(first).guard_factor(); }},
      {"capability", [&] { return capability_index({.lower = -first, .upper = first}, second); }},
      {"worst_case_lower", [&] { return worst_case_readings({.lower = first}, second).lower; }},
      {"worst_case_upper", [&] { return worst_case_readings({.upper = first}, second).upper; }},
      {"conformity_linear", [&] { return conformity_of(first, second, third, Scale::linear); }},
      {"conformity_log", [&] { return conformity_of(first, second, third, Scale::log); }},
      {"least_pass_linear", [&] { return least_pass(first, second, Scale::linear); }},
      {"least_pass_log", [&] { return least_pass(first, second, Scale::log); }}};
  row.expect(figures.at(row.text("figure"))());
}

TEST(Plan, WhatTheMeterMustShow) {
  const double k = 2 / std::sqrt(3.0);
  const Limit upper{.upper = 0.1, .rule = with_guard(2)};
  // r + k (0.02 r + 0.002) = 0.1
  EXPECT_NEAR(reading_to_pass(upper, sheet(0.02, 0.002)).at_most, (0.1 - k * 0.002) / (1 + k * 0.02), 1e-14);
  const Limit lower{.lower = 1e6, .rule = with_guard(2)};
  const ReadingToPass log = reading_to_pass(lower, sheet(0.1, 0, Scale::log));
  EXPECT_NEAR(log.at_least / (1e6 * std::exp(k * 0.1)), 1, 1e-12);
  EXPECT_TRUE(std::isnan(log.at_most));
  const ReadingToPass both = reading_to_pass({.lower = 10, .upper = 16, .rule = with_guard(2)}, sheet(0, 0.5));
  EXPECT_NEAR(both.at_least, 10 + 0.5 * k, 1e-11);
  EXPECT_NEAR(both.at_most, 16 - 0.5 * k, 1e-11);
}

TEST(Plan, TheReadingFoundPassesAndTheNextOneDoesNot) {
  const Limit limit{.upper = 0.1, .rule = with_guard(2)};
  const ReadingToQuantity meter = sheet(0.03, 0.003);
  const double most = reading_to_pass(limit, meter).at_most;
  EXPECT_EQ(judge(meter(most), limit).verdict, Verdict::pass);
  EXPECT_NE(judge(meter(most * (1 + 1e-11)), limit).verdict, Verdict::pass);
}

TEST(Plan, AMeterMayBeTooPoor) {
  EXPECT_FALSE(
      reading_to_pass({.upper = 0.1, .rule = with_guard(2)}, sheet(0.02, 0.2), {.low = 0, .high = 1}).possible);
  EXPECT_FALSE(reading_to_pass({.lower = 1, .upper = 2, .rule = with_guard(2)}, sheet(0.0, 1)).possible);
}

TEST(Plan, TheMetersRangeIsAnEnd) {
  const ReadingToPass of =
      reading_to_pass({.lower = 1, .rule = with_guard(2)}, sheet(0.01, 0, Scale::log), {.low = 5, .high = 50});
  EXPECT_EQ(of.at_least, 5);
}

TEST(Plan, HowGoodAMeter) {
  const Limit limit{.upper = 0.1, .rule = with_guard(2)};
  EXPECT_NEAR(standard_uncertainty_to_pass(0.09, limit), 0.005, 1e-15);
  EXPECT_EQ(standard_uncertainty_to_pass(0.11, limit), 0);
  EXPECT_NEAR(standard_uncertainty_to_fail(0.11, limit), 0.005, 1e-15);
  EXPECT_EQ(standard_uncertainty_to_fail(0.1, limit), 0);
  EXPECT_NEAR(standard_uncertainty_to_pass(std::exp(0.6), {.lower = 1, .rule = with_guard(2)}, Scale::log), 0.3, 1e-15);
  EXPECT_EQ(standard_uncertainty_to_pass(0.09, {.upper = 0.1, .rule = simple()}), infinity);
}

TEST(Plan, HowManyRepeats) {
  const Limit limit{.upper = 0.1, .rule = with_guard(2)};  // at 0.09 a mean must have u ≤ 0.005
  EXPECT_EQ(repeats_to_pass(0.09, {.repeat = 0.01, .common = 0}, limit).count, 4);
  EXPECT_EQ(repeats_to_pass(0.09, {.repeat = 0.01, .common = 0.003}, limit).count, 7);  // 1e-4 / 1.6e-5 = 6.25
  EXPECT_EQ(repeats_to_pass(0.09, {.repeat = 0.001, .common = 0}, limit).count, 1);
  EXPECT_EQ(repeats_to_pass(0.09, {.repeat = 0.01, .common = 0.006}, limit).outcome,
            RepeatsOutcome::common_part_too_large);
  EXPECT_EQ(repeats_to_pass(0.11, {.repeat = 0.01, .common = 0}, limit).outcome, RepeatsOutcome::reading_on_wrong_side);
  EXPECT_THROW((void)repeats_to_pass(0.09, {.repeat = -1, .common = 0}, limit), InvalidParameter);
}

// IEC 61557: with an operating uncertainty of 30 % a lower limit of 1 needs 1.4286, an upper limit of 0.1 allows
// 0.0769.
TEST(Plan, WorstCaseOfAnOperatingUncertainty) {
  EXPECT_NEAR(worst_case_readings({.lower = 1}, 0.3).lower, 1.4286, 5e-5);
  EXPECT_NEAR(worst_case_readings({.upper = 0.1}, 0.3).upper, 0.0769, 5e-5);
  EXPECT_NEAR(operating_uncertainty(-0.05, std::vector<double>{0.03, 0.04}), 0.05 + 1.15 * 0.05, 1e-15);
  EXPECT_THROW((void)worst_case_readings({.lower = 1}, 1), InvalidParameter);
}

}  // namespace
}  // namespace ohmward::conformity
