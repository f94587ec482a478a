#include <gtest/gtest.h>

#include <cmath>

#include "check_values.hpp"
#include "ohmward/conformity/limit.hpp"
#include "ohmward/core/errors.hpp"

namespace ohmward::conformity {
namespace {

using testing::CheckValue;
using uncertainty::Part;
using uncertainty::Quantity;

Quantity reading(double value, double u, Scale scale = Scale::linear, Censoring censoring = Censoring::exact) {
  Quantity quantity{.value = value, .scale = scale, .censoring = censoring, .status = Status::sound};
  quantity.parts.set(Part::reading, u);
  return quantity;
}

Rule with_guard(double factor) { return factor > 0 ? guarded({.multiple = 1, .coverage_factor = factor}) : simple(); }

class JudgeLinear : public ::testing::TestWithParam<CheckValue> {};
INSTANTIATE_TEST_SUITE_P(CheckValues, JudgeLinear, ::testing::ValuesIn(testing::check_values("judge_linear")));

TEST_P(JudgeLinear, StatementAndProbability) {
  const CheckValue& row = GetParam();
  const Limit limit{
      .lower = row.number("lower"), .upper = row.number("upper"), .rule = with_guard(row.number("guard_factor"))};
  const Judgement judgement = judge(reading(row.number("value"), row.number("standard_uncertainty")), limit);
  row.expect(judgement.probability_of_conformity);
  EXPECT_EQ(static_cast<double>(judgement.verdict), row.number("expected_verdict")) << row.id();
}

// Reading of relative u 0.3 against a lower limit 1: least accepted reading at w = 2u.
TEST(Judge, LogScaleAcceptance) {
  const Judgement judgement = judge(reading(1.6, 0.3, Scale::log), {.lower = 1, .rule = with_guard(2)});
  EXPECT_NEAR(judgement.acceptance_lower, 1.8221188, 1e-7);  // exp(0.6)
  EXPECT_NEAR(judgement.probability_of_conformity, 0.941, 5e-4);
}

TEST(Judge, ATieBelongsToTheBetterSideUnlessStrict) {
  EXPECT_EQ(judge(reading(0.1, 0.005), {.upper = 0.1, .rule = simple()}).verdict, Verdict::pass);
  EXPECT_EQ(judge(reading(0.1, 0.005), {.upper = 0.1, .strict = true, .rule = simple()}).verdict, Verdict::fail);
  EXPECT_EQ(judge(reading(0.1, 0.005), {.upper = 0.1, .strict = true, .rule = with_guard(2)}).verdict,
            Verdict::conditional_fail);
}

TEST(Judge, WithoutUncertaintyNothingIsDecided) {
  for (const double u : {0.0, -1.0, nan, infinity}) {
    const Judgement judgement = judge(reading(5e9, u, Scale::log), {.lower = 1e6});
    EXPECT_EQ(judgement.verdict, Verdict::undetermined) << u;
    EXPECT_EQ(judgement.reason, Reason::uncertainty_unknown) << u;
  }
}

TEST(Judge, NoValueNeverPasses) {
  Quantity quantity = reading(nan, 0.1);
  EXPECT_EQ(judge(quantity, {.lower = 1}).verdict, Verdict::undetermined);
  quantity = reading(5, 0.1);
  quantity.status = Status::missing_input;
  EXPECT_EQ(judge(quantity, {.lower = 1}).verdict, Verdict::undetermined);
  EXPECT_EQ(judge(reading(5, 0.1), {}).reason, Reason::no_limit);
}

TEST(Judge, ABoundIsGuardedLikeAValue) {
  const auto verdict = [](double bound, Censoring censoring, Limit limit) {
    return judge(reading(bound, 0.1, Scale::log, censoring), limit).verdict;
  };
  const Limit lower{.lower = 1e6, .rule = with_guard(2)};
  EXPECT_EQ(verdict(4e9, Censoring::above, lower), Verdict::pass);
  EXPECT_EQ(verdict(1.1e6, Censoring::above, lower), Verdict::conditional_pass);
  EXPECT_EQ(verdict(0.9e6, Censoring::above, lower), Verdict::undetermined);
  EXPECT_EQ(verdict(0.1e6, Censoring::below, lower), Verdict::fail);
  EXPECT_EQ(verdict(2e6, Censoring::below, lower), Verdict::undetermined);
  const Limit upper{.upper = 1e6, .rule = with_guard(2)};
  EXPECT_EQ(verdict(4e6, Censoring::above, upper), Verdict::fail);
  EXPECT_EQ(verdict(0.1e6, Censoring::below, upper), Verdict::pass);
}

TEST(Judge, OverloadFailsAnUpperLimitAndNeverMeetsALowerOne) {
  const Quantity open = reading(nan, nan, Scale::linear, Censoring::overload);
  EXPECT_EQ(judge(open, {.upper = 0.1}).verdict, Verdict::fail);
  EXPECT_EQ(judge(open, {.lower = 1e6}).verdict, Verdict::undetermined);
  EXPECT_EQ(judge(open, {.lower = 1e6}).reason, Reason::unknown_ceiling);
}

TEST(Judge, PassingReadingsShrinkAsUncertaintyGrows) {
  for (const Scale scale : {Scale::linear, Scale::log})
    for (double value = 0.5; value < 4; value *= 1.01) {
      bool passed = true;
      for (double u = 0.001; u < 1; u *= 1.2) {
        const bool passes =
            judge(reading(value, u, scale), {.lower = 1, .rule = with_guard(2)}).verdict == Verdict::pass;
        EXPECT_FALSE(passes && !passed) << value << " " << u;
        passed = passes;
      }
    }
}

TEST(Guarded, RefusesSenselessBands) {
  EXPECT_THROW((void)guarded({.multiple = 0, .coverage_factor = 2}), InvalidParameter);
  EXPECT_THROW((void)guarded({.multiple = 1, .coverage_factor = nan}), InvalidParameter);
}

}  // namespace
}  // namespace ohmward::conformity
