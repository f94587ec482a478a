#include <gtest/gtest.h>

#include <cmath>
#include <map>

#include "check_values.hpp"
#include "ohmward/conformity/risk.hpp"
#include "ohmward/core/errors.hpp"
#include "ohmward/numerics/normal.hpp"
#include "ohmward/statistics/distributions.hpp"

namespace ohmward::conformity {
namespace {

using testing::CheckValue;
using uncertainty::Part;
using uncertainty::Quantity;

Quantity reading(double value, double u, Scale scale = Scale::linear, double dof = infinity) {
  Quantity quantity{.value = value, .scale = scale, .status = Status::sound, .degrees_of_freedom = dof};
  quantity.parts.set(Part::reading, u);
  return quantity;
}

Rule with_guard(double factor) { return factor > 0 ? guarded({.multiple = 1, .coverage_factor = factor}) : simple(); }

class GlobalRisk : public ::testing::TestWithParam<CheckValue> {};
INSTANTIATE_TEST_SUITE_P(CheckValues, GlobalRisk, ::testing::ValuesIn(testing::check_values("global_risk")));

TEST_P(GlobalRisk, OfNormalPriors) {
  const CheckValue& row = GetParam();
  const Limit limit{
      .lower = row.number("lower"), .upper = row.number("upper"), .rule = with_guard(row.number("guard_factor"))};
  const GlobalRisks of = global_risks(
      normal_prior({.location = row.number("prior_mean"), .scale = row.number("prior_standard_deviation")}),
      {.standard_uncertainty = row.number("standard_uncertainty")}, limit);
  const std::map<std::string, double> figures{
      {"conforming", of.conforming}, {"consumer_joint", of.consumer_joint}, {"producer_joint", of.producer_joint}};
  row.expect(figures.at(row.text("quantity")));
}

class ConformityOf : public ::testing::TestWithParam<CheckValue> {};
INSTANTIATE_TEST_SUITE_P(CheckValues, ConformityOf, ::testing::ValuesIn(testing::check_values("judge_linear")));

TEST_P(ConformityOf, ProbabilityOfConformity) {
  const CheckValue& row = GetParam();
  row.expect(probability_of_conformity(reading(row.number("value"), row.number("standard_uncertainty")),
                                       {.lower = row.number("lower"), .upper = row.number("upper")}));
}

TEST(SpecificRisks, OfTheStatementMade) {
  const Limit limit{.upper = 0.1, .rule = with_guard(2)};
  const SpecificRisk pass = specific_risk(reading(0.0895, 0.005), limit);
  EXPECT_TRUE(pass.accepted);
  EXPECT_NEAR(pass.risk, 1 - 0.98214, 5e-6);
  const SpecificRisk rejected = specific_risk(reading(0.0905, 0.005), limit);
  EXPECT_FALSE(rejected.accepted);
  EXPECT_NEAR(rejected.risk, 0.97128, 5e-6);
  EXPECT_TRUE(std::isnan(specific_risk(reading(0.0905, 0), limit).risk));
}

// Reading 1.6, relative u 0.3, lower limit 1.
TEST(SpecificRisks, TheScaleMatters) {
  EXPECT_NEAR(probability_of_conformity(reading(1.6, 0.3, Scale::log), {.lower = 1}), 0.941, 5e-4);
  EXPECT_NEAR(probability_of_conformity(reading(1.6, 0.48), {.lower = 1}), 0.894, 5e-4);
}

TEST(SpecificRisks, FewDegreesOfFreedomGiveHeavierTails) {
  EXPECT_NEAR(probability_of_conformity(reading(2, 1, Scale::linear, 3.5), {.lower = 0}),
              statistics::student_t_cdf(2, 3.5), 1e-15);
  EXPECT_LT(probability_of_conformity(reading(2, 1, Scale::linear, 3.5), {.lower = 0}),
            probability_of_conformity(reading(2, 1), {.lower = 0}));
}

TEST(SpecificRisks, FarInsideKeepsItsDigits) {
  EXPECT_NEAR(probability_of_conformity(reading(20, 1), {.lower = 0, .upper = 10}) / numerics::normal_probability(-10),
              1, 1e-9);
  EXPECT_NEAR(probability_of_conformity(reading(-10, 1), {.lower = 0, .upper = 10}) / numerics::normal_probability(-10),
              1, 1e-9);
}

TEST(GlobalRisks, JointAndConditionalHangTogether) {
  const GlobalRisks of = global_risks(normal_prior({.location = 1500, .scale = 0.12}), {.standard_uncertainty = 0.04},
                                      {.lower = 1499.8, .upper = 1500.2, .rule = with_guard(0.5)});
  EXPECT_NEAR(of.consumer_conditional, of.consumer_joint / of.accepted, 1e-12);
  EXPECT_NEAR(of.producer_conditional, of.producer_joint / (1 - of.accepted), 1e-9);
  EXPECT_GT(of.consumer_conditional, of.consumer_joint);
  EXPECT_NEAR(of.accepted, of.conforming - of.producer_joint + of.consumer_joint, 1e-9);
}

// A lognormal prior on the log scale is a normal prior of ln: both must give the same risks.
TEST(GlobalRisks, OnTheLogScale) {
  const Limit limit{.lower = 1, .rule = with_guard(2)};
  const GlobalRisks log = global_risks(lognormal_prior({.location = 3, .scale = 0.8}),
                                       {.standard_uncertainty = 0.3, .scale = Scale::log}, limit);
  const GlobalRisks of_ln = global_risks(normal_prior({.location = std::log(3.0), .scale = 0.8}),
                                         {.standard_uncertainty = 0.3}, {.lower = 0, .rule = with_guard(2)});
  EXPECT_NEAR(log.conforming, of_ln.conforming, 1e-9);
  EXPECT_NEAR(log.consumer_joint, of_ln.consumer_joint, 1e-9);
  EXPECT_NEAR(log.producer_joint, of_ln.producer_joint, 1e-9);
}

// Rectangular prior 0 … 2, limit 1, no guard band, u small: each risk is u/√(2π) / 2 by the integral of the normal
// tail.
TEST(GlobalRisks, OfARectangularPrior) {
  const double u = 0.01;
  const GlobalRisks of = global_risks(rectangular_prior({.location = 1, .scale = 1}), {.standard_uncertainty = u},
                                      {.upper = 1, .rule = simple()});
  EXPECT_NEAR(of.consumer_joint, u / std::sqrt(2 * 3.14159265358979323846) / 2, 1e-9);
  EXPECT_NEAR(of.producer_joint, of.consumer_joint, 1e-9);
}

TEST(GlobalRisks, TheGuardBandForAWantedRisk) {
  const Prior prior = normal_prior({.location = 1500, .scale = 0.12});
  const Meter meter{.standard_uncertainty = 0.04};
  Limit limit{.lower = 1499.8, .upper = 1500.2};
  limit.rule = rule_for_consumer_risk(prior, meter, limit, 0.005);
  EXPECT_NEAR(global_risks(prior, meter, limit).consumer_joint, 0.005, 1e-9);
  EXPECT_EQ(rule_for_consumer_risk(prior, meter, limit, 0.2).kind, Rule::Kind::simple);
}

// Normal prior and normal meter: the posterior is known in closed form.
TEST(WithPrior, NormalAndNormal) {
  const Posterior of =
      with_prior(normal_prior({.location = 10, .scale = 2}), {.standard_uncertainty = 1}, 13, {.upper = 12});
  EXPECT_NEAR(of.mean, (10 / 4.0 + 13) / 1.25, 1e-9);
  EXPECT_NEAR(of.standard_deviation, std::sqrt(0.8), 1e-9);
  EXPECT_NEAR(of.probability_of_conformity, numerics::normal_probability((12 - 12.4) / std::sqrt(0.8)), 1e-9);
}

TEST(OperatingCharacteristic, IsHalfOnTheAcceptanceLimit) {
  const Limit limit{.upper = 0.1, .rule = with_guard(2)};
  EXPECT_NEAR(probability_of_acceptance(0.09, {.standard_uncertainty = 0.005}, limit), 0.5, 1e-12);
  EXPECT_NEAR(probability_of_acceptance(0.1, {.standard_uncertainty = 0.005}, limit), numerics::normal_probability(-2),
              1e-12);
  EXPECT_EQ(
      probability_of_acceptance(0.5, {.standard_uncertainty = 1}, {.lower = 0, .upper = 1, .rule = with_guard(2)}), 0);
}

TEST(GlobalRisks, BadInputIsNamed) {
  const Prior prior = normal_prior({.location = 0, .scale = 1});
  EXPECT_THROW((void)global_risks(prior, {.standard_uncertainty = 0}, {.upper = 1}), InvalidParameter);
  EXPECT_THROW((void)global_risks(prior, {.standard_uncertainty = 1}, {}), InvalidParameter);
  EXPECT_THROW((void)global_risks(prior, {.standard_uncertainty = 1}, {.lower = 2, .upper = 1}), InvalidParameter);
  EXPECT_THROW((void)normal_prior({.location = 0, .scale = 0}), InvalidParameter);
  Prior empty = prior;
  empty.density = [](double) { return 0.0; };
  EXPECT_THROW((void)global_risks(empty, {.standard_uncertainty = 1}, {.upper = 1}), InvalidParameter);
}

}  // namespace
}  // namespace ohmward::conformity
