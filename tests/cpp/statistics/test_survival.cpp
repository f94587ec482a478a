#include <gtest/gtest.h>

#include <cmath>
#include <sstream>
#include <string>
#include <vector>

#include "../check_values.hpp"
#include "ohmward/core/errors.hpp"
#include "ohmward/statistics/survival.hpp"

namespace ohmward::statistics {
namespace {

/// "6 6+ 7": a + was still whole.
std::vector<Lifetime> lifetimes_of(const std::string& text) {
  std::vector<Lifetime> out;
  std::istringstream words(text);
  for (std::string word; words >> word;) out.push_back({.until = std::stod(word), .failed = word.back() != '+'});
  return out;
}

class SurvivalValues : public ::testing::TestWithParam<testing::CheckValue> {};

TEST_P(SurvivalValues, KaplanMeier) {
  const auto& v = GetParam();
  const SurvivalStep step = kaplan_meier(lifetimes_of(v.text("lifetimes"))).at(v.number("time"));
  v.expect(step.survival);
  v.expect(step.standard_uncertainty, "expected_standard_uncertainty");
}

INSTANTIATE_TEST_SUITE_P(CheckValues, SurvivalValues, ::testing::ValuesIn(testing::check_values("survival")));

class LogRankValues : public ::testing::TestWithParam<testing::CheckValue> {};

TEST_P(LogRankValues, TwoGroups) {
  const auto& v = GetParam();
  std::vector<Lifetime> all = lifetimes_of(v.text("first"));
  std::vector<long> groups(all.size(), 1);
  for (const Lifetime& each : lifetimes_of(v.text("second"))) {
    all.push_back(each);
    groups.push_back(2);
  }
  const LogRank test = log_rank(all, groups);
  v.expect(test.chi_squared);
  v.expect(test.groups[0].expected, "expected_first");
  v.expect(test.groups[1].expected, "expected_second");
  EXPECT_EQ(test.degrees_of_freedom, 1);
  EXPECT_EQ(test.status, Status::sound);
}

INSTANTIATE_TEST_SUITE_P(CheckValues, LogRankValues, ::testing::ValuesIn(testing::check_values("log_rank")));

// By hand: entries at 0, 0, 2, 2; failures at 1, 3, 3; one leaves whole at 3.
TEST(KaplanMeier, LateEntriesAndTiesByHand) {
  const std::vector<Lifetime> of{{.entry = 0, .until = 1, .failed = true},
                                 {.entry = 0, .until = 3, .failed = true},
                                 {.entry = 2, .until = 3, .failed = true},
                                 {.entry = 2, .until = 3, .failed = false}};
  const SurvivalCurve curve = kaplan_meier(of);
  ASSERT_EQ(curve.steps.size(), 2U);
  EXPECT_EQ(curve.steps[0].at_risk, 2U);
  EXPECT_EQ(curve.steps[1].at_risk, 3U);
  EXPECT_DOUBLE_EQ(curve.steps[1].survival, 0.5 * (1.0 / 3));
  const double variance = 1.0 / 2 + 2.0 / 3;
  EXPECT_DOUBLE_EQ(curve.steps[1].standard_uncertainty, curve.steps[1].survival * std::sqrt(variance));
  EXPECT_EQ(curve.status, Status::few_points);
  EXPECT_EQ(curve.at(2.9).survival, 0.5);
  EXPECT_EQ(curve.at(0.5).survival, 1);
  EXPECT_TRUE(std::isnan(curve.at(3.1).survival));
  EXPECT_TRUE(std::isnan(curve.at(nan).survival));
}

TEST(KaplanMeier, ATimeOfEntryIsNotYetAtRisk) {
  const std::vector<Lifetime> of{{.entry = 0, .until = 2, .failed = true}, {.entry = 2, .until = 4, .failed = true}};
  EXPECT_EQ(kaplan_meier(of).steps[0].at_risk, 1U);
}

// None of n failed: the low end solves p^n = tail, and says the less the fewer are left.
TEST(KaplanMeier, WithoutAFailureTheLowEndIsExact) {
  std::vector<Lifetime> of(20, {.until = 5});
  of[0].until = 2;
  of.push_back({
    .entry
    = 1, .until = 9
  });
  const SurvivalCurve curve = kaplan_meier(of);
  EXPECT_EQ(curve.status, Status::too_few_points);
  EXPECT_NEAR(curve.at(2).low, std::pow(0.025, 1.0 / 20), 1e-14);
  EXPECT_NEAR(curve.at(3).low, std::pow(0.025, 1.0 / 19), 1e-14);
  EXPECT_EQ(curve.at(3).survival, 1);
  EXPECT_TRUE(std::isnan(curve.at(3).standard_uncertainty));
  EXPECT_TRUE(std::isnan(curve.at(6).low));
}

TEST(Survival, RefusesSenselessLifetimes) {
  EXPECT_THROW((void)kaplan_meier(std::vector<Lifetime>{}), InvalidParameter);
  EXPECT_THROW((void)kaplan_meier(std::vector<Lifetime>{{.until = nan}}), InvalidParameter);
  EXPECT_THROW((void)kaplan_meier(std::vector<Lifetime>{{.entry = 2, .until = 2}}), InvalidParameter);
  EXPECT_THROW((void)kaplan_meier(std::vector<Lifetime>{{.until = 2}}, 1), InvalidParameter);
  EXPECT_THROW((void)log_rank(std::vector<Lifetime>{{.until = 2}}, std::vector<long>{}), InvalidParameter);
}

}  // namespace
}  // namespace ohmward::statistics
