#include <gtest/gtest.h>

#include <algorithm>
#include <array>
#include <cmath>
#include <cstring>
#include <functional>
#include <map>
#include <string>
#include <vector>

#include "check_values.hpp"
#include "ohmward/core/errors.hpp"
#include "ohmward/uncertainty/monte_carlo.hpp"
#include "ohmward/uncertainty/sampler.hpp"

namespace ohmward::uncertainty {
namespace {

using testing::CheckValue;
using Figures = std::map<std::string, double>;

Figures figures(const MonteCarlo& of) {
  const OutputOfDraws& y = of.outputs[0];
  return {{"mean", y.mean},
          {"standard_uncertainty", y.standard_uncertainty},
          {"symmetric_low", y.symmetric.low},
          {"symmetric_high", y.symmetric.high},
          {"shortest_low", y.shortest.low},
          {"shortest_high", y.shortest.high}};
}

Budget four(const std::function<Input()>& make) {
  Budget budget;
  for (const char* name : {"x1", "x2", "x3", "x4"}) budget.add(name, make());
  return budget;
}
const BatchModel sum_of_four = over_draws([](const auto& x) { return x[0] + x[1] + x[2] + x[3]; });

Budget mass_budget() {
  Budget budget;
  budget.add("m_Rc", normal({.mean = 100'000.000, .standard_uncertainty = 0.050}));
  budget.add("dm_Rc", normal({.mean = 1.234, .standard_uncertainty = 0.020}));
  budget.add("rho_a", rectangular({.centre = 1.20, .half_width = 0.10}));
  budget.add("rho_W", rectangular({.centre = 8000, .half_width = 1000}));
  budget.add("rho_R", rectangular({.centre = 8000, .half_width = 50}));
  return budget;
}
const auto mass_model = [](const auto& x) {
  return (x[0] + x[1]) * (1.0 + (x[2] - 1.2) * (1.0 / x[3] - 1.0 / x[4])) - 100'000.0;
};

Budget gauge_budget() {
  Budget budget;
  budget.add("Ls", student_t({.location = 50'000'623, .scale = 25, .degrees_of_freedom = 18}));
  budget.add("D", student_t({.location = 215, .scale = 6, .degrees_of_freedom = 24}));
  budget.add("d1", student_t({.location = 0, .scale = 4, .degrees_of_freedom = 5}));
  budget.add("d2", student_t({.location = 0, .scale = 7, .degrees_of_freedom = 8}));
  budget.add("alpha_s", rectangular({.centre = 11.5e-6, .half_width = 2e-6}));
  budget.add("theta_0", normal({.mean = -0.1, .standard_uncertainty = 0.2}));
  budget.add("Delta", arcsine({.centre = 0, .half_width = 0.5}));
  budget.add("d_alpha", curvilinear_trapezoidal({.centre = 0, .half_width = 1e-6, .limit_half_width = 0.1e-6}));
  budget.add("d_theta", curvilinear_trapezoidal({.centre = 0, .half_width = 0.05, .limit_half_width = 0.025}));
  return budget;
}
const BatchModel gauge_model = over_draws(
    [](const auto& x) { return x[0] + x[1] + x[2] + x[3] - x[0] * (x[7] * (x[5] + x[6]) + x[4] * x[8]) - 5e7; });

Figures first_order_mass() {
  const Output y = propagate_model(mass_budget(), mass_model).outputs[0];
  const Expanded of = expanded(y, 1.959963984540054, 0.95);
  return {{"mean", y.value},
          {"standard_uncertainty", y.standard_uncertainty},
          {"symmetric_low", of.interval.low},
          {"symmetric_high", of.interval.high}};
}

class MonteCarloExample : public ::testing::TestWithParam<CheckValue> {};
INSTANTIATE_TEST_SUITE_P(CheckValues, MonteCarloExample, ::testing::ValuesIn(testing::check_values("monte_carlo")));

TEST_P(MonteCarloExample, ToThePrintedDigit) {
  static const std::map<std::string, Figures> examples{
      {"four_normal", figures(monte_carlo(four([] { return normal({.mean = 0, .standard_uncertainty = 1}); }),
                                          sum_of_four, 1, {.draws = 2'000'000}))},
      {"four_rectangular",
       figures(monte_carlo(four([] { return rectangular({.centre = 0, .half_width = std::sqrt(3.0)}); }), sum_of_four,
                           1, {.draws = 2'000'000}))},
      {"mass_first_order", first_order_mass()},
      {"mass", figures(monte_carlo(mass_budget(), over_draws(mass_model), 1, {.draws = 2'000'000}))},
      {"gauge", figures(monte_carlo(gauge_budget(), gauge_model, 1, {.draws = 2'000'000, .level = 0.99}))}};
  GetParam().expect(examples.at(GetParam().text("example")).at(GetParam().text("quantity")));
}

// JCGM 101:2008 9.3.2.5: first order is not validated, the difference being larger than the tolerance 0.005.
TEST(Validate, FirstOrderOfTheMassExampleDoesNotHold) {
  const Output y = propagate_model(mass_budget(), mass_model).outputs[0];
  const Expanded of = expanded(y, 1.96, 0.95);
  const MonteCarlo draws = monte_carlo(mass_budget(), over_draws(mass_model), 1, FixedDraws{});
  const Validation verdict = validate(of, y.standard_uncertainty, draws.outputs[0].shortest, 1);
  EXPECT_DOUBLE_EQ(verdict.tolerance, 0.005);
  EXPECT_FALSE(verdict.validated);
  EXPECT_GT(verdict.difference_low, 0.04);
}

TEST(Validate, FirstOrderOfALinearNormalModelHolds) {
  const Budget budget = four([] { return normal({.mean = 0, .standard_uncertainty = 1}); });
  const Output y = propagate_model(budget, [](const auto& x) { return x[0] + x[1] + x[2] + x[3]; }).outputs[0];
  const MonteCarlo draws = monte_carlo(budget, sum_of_four, 1, AdaptiveDraws{});
  EXPECT_TRUE(validate(expanded(y, 1.96, 0.95), y.standard_uncertainty, draws.outputs[0].symmetric, 2).validated);
}

TEST(Tolerance, OfSoManyDigits) {  // JCGM 101:2008 7.9.2 examples
  EXPECT_DOUBLE_EQ(numerical_tolerance(0.00035, 2), 0.5e-5);
  EXPECT_DOUBLE_EQ(numerical_tolerance(2.0, 2), 0.05);
  EXPECT_DOUBLE_EQ(numerical_tolerance(0.0539, 1), 0.005);
  EXPECT_DOUBLE_EQ(numerical_tolerance(0.0997, 2), 0.005);
  EXPECT_THROW((void)numerical_tolerance(0, 2), InvalidParameter);
}

template <class Plan>
void expect_equal_bits(const Plan& plan) {
  Plan one = plan;
  one.threads = 1;
  const MonteCarlo first = monte_carlo(mass_budget(), over_draws(mass_model), 1, one);
  for (const int threads : {2, 7}) {
    Plan several = plan;
    several.threads = threads;
    const MonteCarlo other = monte_carlo(mass_budget(), over_draws(mass_model), 1, several);
    EXPECT_EQ(std::memcmp(first.outputs.data(), other.outputs.data(), sizeof(OutputOfDraws)), 0) << threads;
    EXPECT_EQ(first.draws, other.draws);
  }
}

TEST(MonteCarloRuns, EqualBitsForAnyNumberOfThreads) {
  expect_equal_bits(FixedDraws{.draws = 300'001});
  expect_equal_bits(AdaptiveDraws{.digits = 1});
}

TEST(MonteCarloRuns, SeedsDifferAndRepeat) {
  const auto mean = [](std::uint64_t seed) {
    return monte_carlo(mass_budget(), over_draws(mass_model), 1, FixedDraws{.draws = 10'000, .seed = seed})
        .outputs[0]
        .mean;
  };
  EXPECT_EQ(mean(7), mean(7));
  EXPECT_NE(mean(7), mean(8));
}

// The adaptive procedure stops when the figures are stable, and its tolerance holds against the exact answer.
TEST(MonteCarloRuns, AdaptiveStopsWithinItsTolerance) {
  const Budget budget = four([] { return rectangular({.centre = 0, .half_width = std::sqrt(3.0)}); });
  const MonteCarlo of = monte_carlo(budget, sum_of_four, 1, AdaptiveDraws{.digits = 2});
  EXPECT_EQ(of.status, Status::sound);
  EXPECT_LT(of.draws, 2'000'000U);
  EXPECT_NEAR(of.outputs[0].symmetric.high, 3.87940674, 0.05);
  const MonteCarlo cut = monte_carlo(budget, sum_of_four, 1, AdaptiveDraws{.digits = 3, .most_draws = 50'000});
  EXPECT_EQ(cut.status, Status::not_converged);
  EXPECT_LE(cut.draws, 50'000U);
}

// Beyond the draws that are kept a histogram must give the same figures.
TEST(MonteCarloRuns, ManyDrawsNeedNoMoreMemory) {
  const Budget budget = four([] { return normal({.mean = 0, .standard_uncertainty = 1}); });
  const MonteCarlo of = monte_carlo(budget, sum_of_four, 1, FixedDraws{.draws = kept_draws + 1'000'003});
  EXPECT_EQ(of.draws, kept_draws + 1'000'003);
  EXPECT_NEAR(of.outputs[0].symmetric.low, -3.919928, 5e-3);
  EXPECT_NEAR(of.outputs[0].symmetric.high, 3.919928, 5e-3);
  EXPECT_NEAR(of.outputs[0].shortest.high - of.outputs[0].shortest.low, 2 * 3.919928, 8e-3);
}

TEST(Intervals, AgainstASortOfAllValues) {
  for (const std::size_t n : {64UL, 101UL, 5000UL, 40'000UL})
    for (const double level : {0.5, 0.9, 0.95, 0.99}) {
      std::vector<double> values;
      for (std::size_t i = 0; i < n; ++i) {
        const double r = std::fmod(static_cast<double>(i + 1) * 0.6180339887498949, 1.0);
        values.push_back(-std::log(r) + (i % 7 == 0 ? 1e3 * r * r * r : 0));
      }
      std::vector<double> sorted = values;
      std::sort(sorted.begin(), sorted.end());
      const auto q = static_cast<std::size_t>(std::floor(level * static_cast<double>(n) + 0.5));
      const std::size_t r = std::max<std::size_t>(1, (n - q + 1) / 2);
      const Interval symmetric = symmetric_interval(values, level);
      EXPECT_EQ(symmetric.low, sorted[r - 1]) << n << " " << level;
      EXPECT_EQ(symmetric.high, sorted[r + q - 1]) << n << " " << level;
      double least = infinity;
      for (std::size_t i = 0; i + q < n; ++i) least = std::min(least, sorted[i + q] - sorted[i]);
      const Interval shortest = shortest_interval(values, level);
      EXPECT_EQ(shortest.high - shortest.low, least) << n << " " << level;
    }
}

TEST(Intervals, EqualAndVeryCloseValues) {
  const std::vector<double> same(500, 3.0);
  EXPECT_EQ(symmetric_interval(same, 0.95).low, 3);
  EXPECT_EQ(shortest_interval(same, 0.95).high, 3);
  std::vector<double> close(1000);
  for (std::size_t i = 0; i < close.size(); ++i) close[i] = 1 + static_cast<double>(i % 3) * 0x1p-52;
  EXPECT_EQ(symmetric_interval(close, 0.9).high, 1 + 2 * 0x1p-52);
}

/// Every shape's draws have the mean and standard deviation that the shape stands for.
TEST(Draws, HaveTheMomentsOfTheirShape) {
  struct Case {
    Input input;
    double mean;
    double deviation;
  };
  std::vector<double> observed;
  for (int i = 0; i < 50; ++i) observed.push_back(i * i);
  const Input empirical = sample(observed);
  const std::vector<Case> cases{
      {normal({.mean = 3, .standard_uncertainty = 0.5}), 3, 0.5},
      {student_t({.location = 3, .scale = 0.5, .degrees_of_freedom = 9}), 3, 0.5 * std::sqrt(9.0 / 7)},
      {student_t_with_standard_uncertainty({.mean = 3, .standard_uncertainty = 0.5, .degrees_of_freedom = 9}), 3, 0.5},
      {rectangular({.centre = -1, .half_width = 2}), -1, 2 / std::sqrt(3.0)},
      {asymmetric({.estimate = 0, .below = 1, .above = 3}), 1, 4 / std::sqrt(12.0)},
      {triangular({.centre = -1, .half_width = 2}), -1, 2 / std::sqrt(6.0)},
      {trapezoidal({.centre = 1, .half_width = 2, .top_fraction = 0.4}), 1, 2 * std::sqrt(1.16 / 6)},
      {curvilinear_trapezoidal({.centre = 1, .half_width = 2, .limit_half_width = 1}), 1, std::sqrt(4.0 / 3 + 1.0 / 9)},
      {arcsine({.centre = 1, .half_width = 2}), 1, std::sqrt(2.0)},
      {lognormal({.median = 1, .standard_uncertainty_of_ln = 0.3}), std::exp(0.045),
       std::exp(0.045) * std::sqrt(std::expm1(0.09))},
      {exponential(2), 2, 2},
      {gamma(3), 4, 2},
      {empirical, empirical.estimate, empirical.standard_uncertainty}};
  const BatchModel itself = over_draws([](const auto& x) { return x[0]; });
  for (const Case& each : cases) {
    Budget budget;
    budget.add("x", each.input);
    const OutputOfDraws of = monte_carlo(budget, itself, 1, FixedDraws{.draws = 400'000}).outputs[0];
    EXPECT_NEAR(of.mean, each.mean, 6 * each.deviation / std::sqrt(4e5)) << text(each.input.shape);
    EXPECT_NEAR(of.standard_uncertainty, each.deviation, 0.01 * each.deviation) << text(each.input.shape);
  }
}

// A t's quantile, not only its moments: 95 % of t(2.5) within ±3.5746548420036817 (scipy).
TEST(Draws, StudentTHasItsTails) {
  Budget budget;
  budget.add("x", student_t({.location = 0, .scale = 1, .degrees_of_freedom = 2.5}));
  const OutputOfDraws of =
      monte_carlo(budget, over_draws([](const auto& x) { return x[0]; }), 1, FixedDraws{.draws = 1'000'000}).outputs[0];
  EXPECT_NEAR(of.symmetric.high, 3.5746548420036817, 0.03);
}

const BatchModel two_outputs = [](std::span<const double> x, std::size_t n, std::span<double> y) {
  for (std::size_t i = 0; i < n; ++i) {
    y[i] = x[i] + x[2 * n + i];
    y[n + i] = x[n + i] + x[2 * n + i];
  }
};

// JCGM 102:2011 9.2: Y1 = X1 + X3, Y2 = X2 + X3, all N(0, 1): r = 0.5; k of the ellipse 2.45.
TEST(JointRegions, OfTwoOutputs) {
  Budget budget;
  for (const char* name : {"x1", "x2", "x3"}) budget.add(name, normal({.mean = 0, .standard_uncertainty = 1}));
  const MonteCarlo of = monte_carlo(budget, two_outputs, 2, FixedDraws{.draws = 500'000, .keep_values = true});
  EXPECT_NEAR(of.covariance[1] / std::sqrt(of.covariance[0] * of.covariance[3]), 0.5, 5e-3);
  const JointRegion region = joint_region(of);
  EXPECT_NEAR(region.ellipsoid_factor, coverage_factor_ellipsoid(0.95, 2), 0.01);
  EXPECT_GT(region.box_factor, 1.96);
  EXPECT_LT(region.box_factor, 2.2365);  // that of independent outputs
  EXPECT_THROW((void)joint_region(monte_carlo(budget, two_outputs, 2, FixedDraws{.draws = 1000})), InvalidParameter);
}

TEST(JointRegions, EllipsoidFactors) {  // JCGM 102:2011 table
  const std::array<double, 4> printed{1.96, 2.45, 2.80, 3.08};
  for (std::size_t m = 1; m <= 4; ++m) EXPECT_NEAR(coverage_factor_ellipsoid(0.95, m), printed[m - 1], 5e-3);
}

TEST(Draws, KeepTheirCorrelation) {
  Budget budget;
  budget.add("a", normal({.mean = 0, .standard_uncertainty = 2}));
  budget.add("other", rectangular({.centre = 0, .half_width = 1}));
  budget.add("b", normal({.mean = 0, .standard_uncertainty = 3}));
  budget.correlate("a", "b", -0.7);
  const BatchModel pair = [](std::span<const double> x, std::size_t n, std::span<double> y) {
    std::copy_n(x.begin(), n, y.begin());
    std::copy_n(x.begin() + static_cast<std::ptrdiff_t>(2 * n), n, y.begin() + static_cast<std::ptrdiff_t>(n));
  };
  const MonteCarlo of = monte_carlo(budget, pair, 2, FixedDraws{.draws = 400'000});
  EXPECT_NEAR(of.covariance[1] / std::sqrt(of.covariance[0] * of.covariance[3]), -0.7, 5e-3);
  EXPECT_NEAR(std::sqrt(of.covariance[3]), 3, 0.02);
  budget.correlate("a", "other", 0.1);
  EXPECT_THROW((void)Sampler(budget), InvalidParameter);
}

// Quantities observed together: u of each is s/√n · √(ν/(ν − 2)), ν = n − 1, and their correlation stays.
TEST(Draws, OfQuantitiesObservedTogether) {
  Budget budget;
  const std::vector<double> readings{1, 2, 3, 4, 5, 6, 7, 2, 1, 4, 3, 6, 5, 7};
  budget.add_observed_together(std::vector<std::string>{"p", "q"}, readings, 7);
  const BatchModel pair = [](std::span<const double> x, std::size_t n, std::span<double> y) {
    std::copy_n(x.begin(), 2 * n, y.begin());
  };
  const MonteCarlo of = monte_carlo(budget, pair, 2, FixedDraws{.draws = 400'000});
  const double s = budget.inputs()[0].standard_uncertainty;
  EXPECT_NEAR(std::sqrt(of.covariance[0]), s * std::sqrt(6.0 / 4), 0.02 * s);
  EXPECT_NEAR(of.covariance[1] / std::sqrt(of.covariance[0] * of.covariance[3]), budget.correlation()[1], 0.02);
}

TEST(MonteCarloRuns, LinearModelsEqualFirstOrder) {
  Budget budget;
  budget.add("a", normal({.mean = 1, .standard_uncertainty = 2}));
  budget.add("b", triangular({.centre = 5, .half_width = 3}));
  budget.add("c", arcsine({.centre = 0, .half_width = 1}));
  const auto model = [](const auto& x) { return x[0] * 2.0 - x[1] + x[2] * 3.0; };
  const Output first = propagate_model(budget, model).outputs[0];
  const OutputOfDraws draws = monte_carlo(budget, over_draws(model), 1, FixedDraws{.draws = 1'000'000}).outputs[0];
  EXPECT_NEAR(draws.mean, first.value, 5 * first.standard_uncertainty / 1e3);
  EXPECT_NEAR(draws.standard_uncertainty, first.standard_uncertainty, 0.004 * first.standard_uncertainty);
}

TEST(MonteCarloRuns, BadInputIsNamed) {
  const BatchModel fails = over_draws([](const auto& x) { return std::sqrt(x[0] - 100'000.1); });
  try {
    (void)monte_carlo(mass_budget(), fails, 1, FixedDraws{});
    FAIL();
  } catch (const InvalidParameter& error) {
    EXPECT_NE(std::string(error.what()).find("m_Rc = "), std::string::npos) << error.what();
  }
  EXPECT_THROW((void)monte_carlo(mass_budget(), over_draws(mass_model), 1, FixedDraws{.level = 1}), InvalidParameter);
  EXPECT_THROW((void)monte_carlo(mass_budget(), over_draws(mass_model), 1, FixedDraws{.draws = 10}), InvalidParameter);
  EXPECT_THROW((void)monte_carlo(mass_budget(), over_draws(mass_model), 0, FixedDraws{}), InvalidParameter);
  EXPECT_THROW((void)monte_carlo(Budget{}, over_draws(mass_model), 1, FixedDraws{}), InvalidParameter);
  EXPECT_THROW((void)monte_carlo(mass_budget(), over_draws(mass_model), 1, AdaptiveDraws{.digits = 0}),
               InvalidParameter);
}

}  // namespace
}  // namespace ohmward::uncertainty
