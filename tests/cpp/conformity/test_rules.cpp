#include <gtest/gtest.h>

#include <cmath>

#include "check_values.hpp"
#include "ohmward/conformity/rules.hpp"
#include "ohmward/core/errors.hpp"

namespace ohmward::conformity {
namespace {

using testing::CheckValue;

class NamedRule : public ::testing::TestWithParam<CheckValue> {};
INSTANTIATE_TEST_SUITE_P(CheckValues, NamedRule, ::testing::ValuesIn(testing::check_values("acceptance")));

TEST_P(NamedRule, AcceptanceLimitAndRisk) {
  const CheckValue& row = GetParam();
  const Rule rule = rule_named(row.text("rule"));
  const Scale scale = row.number("scale") > 0 ? Scale::log : Scale::linear;
  row.expect(acceptance_of({.lower = 1, .rule = rule}, row.number("standard_uncertainty"), scale).lower);
  row.expect(greatest_specific_risk(rule), "expected_risk");
}

// z factors of JCGM 106:2012 table 1.
TEST(Rules, ForAWantedRisk) {
  EXPECT_NEAR(rule_for_risk(0.20).guard_factor(), 0.841621, 5e-7);
  EXPECT_NEAR(rule_for_risk(0.10).guard_factor(), 1.281552, 5e-7);
  EXPECT_NEAR(rule_for_risk(0.05).guard_factor(), 1.644854, 5e-7);
  EXPECT_NEAR(rule_for_risk(0.01).guard_factor(), 2.326348, 5e-7);
  EXPECT_NEAR(rule_for_risk(0.001).guard_factor(), 3.090232, 5e-7);
  EXPECT_NEAR(rule_for_risk(0.05, 9).guard_factor(), 1.833113, 5e-7);
  EXPECT_EQ(rule_for_risk(0.5).kind, Rule::Kind::simple);
  for (const double risk : {0.0, 0.6, nan}) EXPECT_THROW((void)rule_for_risk(risk), InvalidParameter);
  EXPECT_THROW((void)rule_named("generous"), InvalidParameter);
}

TEST(Rules, LimitsAboutANominalValue) {
  const Limit relative = limit_about({.nominal = -200, .below = 0.1, .above = 0.05, .relative = true});
  EXPECT_DOUBLE_EQ(relative.lower, -220);
  EXPECT_DOUBLE_EQ(relative.upper, -190);
  const Limit one_sided = limit_about({.nominal = 12, .above = 3});
  EXPECT_TRUE(std::isnan(one_sided.lower));
  EXPECT_DOUBLE_EQ(one_sided.upper, 15);
  EXPECT_THROW((void)limit_about({.nominal = 12}), InvalidParameter);
  EXPECT_THROW((void)limit_about({.nominal = 12, .below = -1}), InvalidParameter);
  EXPECT_THROW((void)limit_about({.nominal = 12, .below = 0, .above = 0}), InvalidParameter);
}

TEST(Rules, AGuardBandMayLeaveNothing) {
  EXPECT_FALSE(acceptance_of({.lower = 0, .upper = 1}, 0.3).is_possible());
  EXPECT_TRUE(acceptance_of({.lower = 0, .upper = 1}, 0.25).is_possible());
  EXPECT_TRUE(acceptance_of({.lower = 0}, 100).is_possible());
}

}  // namespace
}  // namespace ohmward::conformity
