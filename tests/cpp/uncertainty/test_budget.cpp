#include <gtest/gtest.h>

#include <array>
#include <cmath>
#include <map>
#include <numeric>
#include <string>
#include <vector>

#include "check_values.hpp"
#include "ohmward/core/errors.hpp"
#include "ohmward/statistics/straight_line.hpp"
#include "ohmward/statistics/type_a.hpp"
#include "ohmward/uncertainty/budget.hpp"
#include "ohmward/uncertainty/coverage.hpp"

namespace ohmward::uncertainty {
namespace {

using testing::CheckValue;
using Figures = std::map<std::string, double>;
using Numbers = std::vector<double>;

Figures type_a() {
  const Numbers celsius{96.90,  98.18,  98.25,  98.61,  99.03,  99.49,  99.56,  99.74,  99.89,  100.07,
                        100.33, 100.42, 100.68, 100.95, 101.11, 101.20, 101.57, 101.84, 102.36, 102.72};
  const statistics::MeanOfReadings of = statistics::mean_of(celsius);
  return {{"mean", of.mean},
          {"standard_deviation", of.standard_deviation},
          {"standard_uncertainty", of.standard_uncertainty},
          {"degrees_of_freedom", of.degrees_of_freedom}};
}

Figures voltmeter() {
  Budget budget;
  const double reading = 0.928571;
  budget.add("reading", normal({.mean = reading, .standard_uncertainty = 12e-6}));
  budget.add("sheet", rectangular({.centre = 0, .half_width = 14e-6 * reading + 2e-6 * 1}));
  const Propagation of = propagate_model(budget, [](const auto& x) { return x[0] + x[1]; });
  return {{"standard_uncertainty", of.outputs[0].standard_uncertainty}};
}

Figures ten_resistors() {
  Budget budget;
  const std::array<std::string, 10> names{"r0", "r1", "r2", "r3", "r4", "r5", "r6", "r7", "r8", "r9"};
  for (const std::string& name : names) budget.add(name, normal({.mean = 1000, .standard_uncertainty = 0.1}));
  for (std::size_t i = 0; i < names.size(); ++i)
    for (std::size_t j = 0; j < i; ++j) budget.correlate(names[i], names[j], 1);
  const Propagation of =
      propagate_model(budget, [](const auto& x) { return std::accumulate(x.begin() + 1, x.end(), x[0]); });
  return {{"standard_uncertainty", of.outputs[0].standard_uncertainty}};
}

Figures mass() { return {{"expanded", 0.35 * coverage_factor_t(0.95, 9)}}; }

Figures g41() {
  Budget budget;
  budget.add("x1", normal({.mean = 1, .standard_uncertainty = 0.25, .degrees_of_freedom = 9}));
  budget.add("x2", normal({.mean = 1, .standard_uncertainty = 0.57, .degrees_of_freedom = 4}));
  budget.add("x3", normal({.mean = 1, .standard_uncertainty = 0.82, .degrees_of_freedom = 14}));
  const Output y = propagate_model(budget, [](const auto& x) { return x[0] * x[1] * x[2]; }).outputs[0];
  return {{"standard_uncertainty", y.standard_uncertainty},
          {"degrees_of_freedom", y.degrees_of_freedom},
          {"expanded", y.standard_uncertainty * coverage_factor_t(0.95, y.degrees_of_freedom)}};
}

/// Standard uncertainties of the difference d: its mean and two corrections of the comparator.
struct Comparison {
  double mean;
  double random;
  double systematic;
};

/// Lengths in nanometres.
Figures end_gauge(const Comparison& d) {
  Budget budget;
  budget.add("standard", normal({.mean = 50'000'623, .standard_uncertainty = 25, .degrees_of_freedom = 18}));
  budget.add("d", normal({.mean = 215, .standard_uncertainty = d.mean, .degrees_of_freedom = 24}));
  budget.add("d1", normal({.mean = 0, .standard_uncertainty = d.random, .degrees_of_freedom = 5}));
  budget.add("d2", normal({.mean = 0, .standard_uncertainty = d.systematic, .degrees_of_freedom = 8}));
  budget.add("alpha", rectangular({.centre = 11.5e-6, .half_width = 2e-6}));
  budget.add("theta", normal({.mean = -0.1, .standard_uncertainty = 0.2}));
  budget.add("cycle", arcsine({.centre = 0, .half_width = 0.5}));
  budget.add("difference_alpha", rectangular({.centre = 0, .half_width = 1e-6, .degrees_of_freedom = 50}));
  budget.add("difference_theta", rectangular({.centre = 0, .half_width = 0.05, .degrees_of_freedom = 2}));
  const auto model = [](const auto& x) {
    return x[0] + x[1] + x[2] + x[3] - x[0] * (x[7] * (x[5] + x[6]) + x[4] * x[8]);
  };
  const Output first = propagate_model(budget, model).outputs[0];
  const Output second = propagate_model(budget, model, Order::second).outputs[0];
  const auto& c = first.contributions;
  return {{"standard_uncertainty", first.standard_uncertainty},
          {"contribution_d", std::sqrt(c[1] * c[1] + c[2] * c[2] + c[3] * c[3])},
          {"contribution_difference_alpha", std::abs(c[7])},
          {"contribution_difference_theta", std::abs(c[8])},
          {"degrees_of_freedom", first.degrees_of_freedom},
          {"expanded", first.standard_uncertainty * coverage_factor_t(0.99, first.degrees_of_freedom)},
          {"second_order", second.standard_uncertainty}};
}

Figures h1() {
  const double random = standard_uncertainty_from({.expanded = 10, .level = 0.95, .degrees_of_freedom = 5});
  return end_gauge({.mean = 13 / std::sqrt(5.0), .random = random, .systematic = 20.0 / 3});
}

Figures h1_rounded() { return end_gauge({.mean = 5.8, .random = 3.9, .systematic = 6.7}); }

const Numbers h2_observations{5.007,     4.994,     5.005,     4.990,     4.999,      // V
                              19.663e-3, 19.639e-3, 19.640e-3, 19.685e-3, 19.678e-3,  // A
                              1.0456,    1.0438,    1.0468,    1.0428,    1.0433};    // rad

const auto impedance = [](const auto& x) {
  using std::cos;
  using std::sin;
  const auto z = x[0] / x[1];
  return std::array{z * cos(x[2]), z * sin(x[2]), z};
};

Figures h2() {
  Budget budget;
  budget.add_observed_together(std::vector<std::string>{"V", "I", "phi"}, h2_observations, 5);
  const Propagation of = propagate_model(budget, impedance);
  return {{"R", of.outputs[0].value},
          {"X", of.outputs[1].value},
          {"Z", of.outputs[2].value},
          {"u_R", of.outputs[0].standard_uncertainty},
          {"u_X", of.outputs[1].standard_uncertainty},
          {"u_Z", of.outputs[2].standard_uncertainty},
          {"r_RX", of.correlation(0, 1)},
          {"r_RZ", of.correlation(0, 2)},
          {"r_XZ", of.correlation(1, 2)},
          {"r_VI", budget.correlation()[1]},
          {"r_Vphi", budget.correlation()[2]},
          {"r_Iphi", budget.correlation()[5]},
          {"degrees_of_freedom", of.outputs[0].degrees_of_freedom}};
}

Figures h3() {
  const Numbers celsius{21.521, 22.012, 22.512, 23.003, 23.507, 23.999, 24.513, 25.002, 25.503, 26.010, 26.511};
  const Numbers correction{-0.171, -0.169, -0.166, -0.159, -0.164, -0.165, -0.156, -0.157, -0.159, -0.161, -0.160};
  const statistics::StraightLine line = statistics::straight_line(celsius, correction, 20);
  return {{"intercept", line.intercept},
          {"u_intercept", line.intercept_standard_uncertainty},
          {"slope", line.slope},
          {"u_slope", line.slope_standard_uncertainty},
          {"correlation", line.correlation},
          {"standard_deviation", line.standard_deviation},
          {"degrees_of_freedom", line.degrees_of_freedom},
          {"at_30", line.at(30).value},
          {"u_at_30", line.at(30).standard_uncertainty}};
}

/// Day means and standard deviations; five readings a day that have exactly those.
Figures h5() {
  const Numbers means{10.000172, 10.000116, 10.000013, 10.000144, 10.000106,
                      10.000031, 10.000060, 10.000125, 10.000163, 10.000041};
  const Numbers s_microvolt{60, 77, 111, 101, 67, 93, 80, 73, 88, 86};
  Numbers readings;
  std::vector<long> days;
  for (std::size_t day = 0; day < means.size(); ++day)
    for (int i = -2; i <= 2; ++i) {
      readings.push_back(means[day] + i * s_microvolt[day] * 1e-6 / std::sqrt(2.5));
      days.push_back(static_cast<long>(day));
    }
  const statistics::VarianceComponents of = statistics::variance_components(readings, days);
  return {{"mean", of.mean},
          {"standard_deviation_of_means", statistics::mean_of(means).standard_deviation},
          {"standard_uncertainty", of.standard_uncertainty},
          {"within", of.within},
          {"between", of.between}};
}

Figures s3() {
  Budget budget;
  budget.add("standard", normal({.mean = 10'000.053, .standard_uncertainty = 2.5e-3}));
  budget.add("drift", rectangular({.centre = 0.020, .half_width = 10e-3}));
  budget.add("standard_temperature", rectangular({.centre = 0, .half_width = 2.75e-3}));
  budget.add("parasitic_ratio", triangular({.centre = 1, .half_width = 1e-6}));
  budget.add("ratio", normal({.mean = 1.0000105, .standard_uncertainty = 0.07e-6, .degrees_of_freedom = 4}));
  budget.add("own_temperature", rectangular({.centre = 0, .half_width = 5.5e-3}));
  const Output y =
      propagate_model(budget, [](const auto& x) { return (x[0] + x[1] + x[2]) * x[3] * x[4] - x[5]; }).outputs[0];
  return {
      {"value", y.value}, {"standard_uncertainty", y.standard_uncertainty}, {"expanded", 2 * y.standard_uncertainty}};
}

/// Two sums that share one input.
Figures sum_and_sum() {
  Budget budget;
  for (const char* name : {"x1", "x2", "x3"}) budget.add(name, normal({.mean = 0, .standard_uncertainty = 1}));
  const Propagation y = propagate_model(budget, [](const auto& x) { return std::array{x[0] + x[2], x[1] + x[2]}; });
  return {{"u_first", y.outputs[0].standard_uncertainty}, {"r", y.correlation(0, 1)}};
}

class BudgetExample : public ::testing::TestWithParam<CheckValue> {};
INSTANTIATE_TEST_SUITE_P(CheckValues, BudgetExample, ::testing::ValuesIn(testing::check_values("budget_example")));

TEST_P(BudgetExample, ToThePrintedDigit) {
  static const std::map<std::string, Figures> examples{{"type_a", type_a()},
                                                       {"voltmeter", voltmeter()},
                                                       {"ten_resistors", ten_resistors()},
                                                       {"mass", mass()},
                                                       {"g41", g41()},
                                                       {"h1", h1()},
                                                       {"h1_rounded", h1_rounded()},
                                                       {"sum_and_sum", sum_and_sum()},
                                                       {"h2", h2()},
                                                       {"h3", h3()},
                                                       {"h5", h5()},
                                                       {"s3", s3()}};
  GetParam().expect(examples.at(GetParam().text("example")).at(GetParam().text("quantity")));
}

Budget two(double r = 0) {
  Budget budget;
  budget.add("a", normal({.mean = 3, .standard_uncertainty = 0.1, .degrees_of_freedom = 5}));
  budget.add("b", rectangular({.centre = 2, .half_width = 0.4, .degrees_of_freedom = 12}));
  if (r != 0) budget.correlate("a", "b", r);
  return budget;
}

TEST(Budget, ScalingScales) {
  const auto model = [](const auto& x) { return x[0] * x[1]; };
  const auto scaled = [](const auto& x) { return x[0] * x[1] * 1e-7; };
  const Output one = propagate_model(two(0.4), model).outputs[0];
  const Output other = propagate_model(two(0.4), scaled).outputs[0];
  EXPECT_NEAR(other.standard_uncertainty, one.standard_uncertainty * 1e-7, 1e-20);
  EXPECT_NEAR(other.degrees_of_freedom, one.degrees_of_freedom, 1e-9);
  EXPECT_NEAR(other.shares[0], one.shares[0], 1e-12);
}

TEST(Budget, FullCorrelationAddsLinearly) {
  const Output y = propagate_model(two(1), [](const auto& x) { return x[0] * 2.0 + x[1]; }).outputs[0];
  EXPECT_NEAR(y.standard_uncertainty, 0.2 + 0.4 / std::sqrt(3.0), 1e-15);
}

TEST(Budget, SharesSumToOne) {
  for (const double r : {0.0, 0.7, -0.7})
    for (const Order order : {Order::first, Order::second}) {
      if (order == Order::second && r != 0) continue;
      const Output y = propagate_model(two(r), [](const auto& x) { return x[0] * x[0] / x[1]; }, order).outputs[0];
      const double second = y.second_order_variance / (y.standard_uncertainty * y.standard_uncertainty);
      EXPECT_NEAR(y.shares[0] + y.shares[1] + second, 1, 1e-12);
    }
}

// x² of a normal quantity of mean 0: exactly u(y)² = 2 u⁴, all of it second order.
TEST(Budget, SecondOrderIsExactForASquare) {
  Budget budget;
  budget.add("x", normal({.mean = 0, .standard_uncertainty = 0.3}));
  const Output y = propagate_model(budget, [](const auto& x) { return x[0] * x[0]; }, Order::second).outputs[0];
  EXPECT_NEAR(y.standard_uncertainty, std::sqrt(2.0) * 0.09, 1e-15);
}

// Slopes against those of exp(x) sin(y) / sqrt(x) at (1.3, 0.7), by sympy to 15 digits.
TEST(Derivatives, AreExact) {
  const auto model = [](const auto& x) {
    using std::exp;
    using std::sin;
    using std::sqrt;
    return exp(x[0]) * sin(x[1]) / sqrt(x[0]);
  };
  const Derivatives of = differentiate(model, Numbers{1.3, 0.7}, Order::second);
  const double e = std::exp(1.3);
  const double root = std::sqrt(1.3);
  EXPECT_NEAR(of.gradient[0], e * std::sin(0.7) * (1 / root - 0.5 / (1.3 * root)), 1e-14);
  EXPECT_NEAR(of.gradient[1], e * std::cos(0.7) / root, 1e-14);
  EXPECT_NEAR(of.mixed[1], e * std::cos(0.7) * (1 / root - 0.5 / (1.3 * root)), 1e-14);   // f_xy
  EXPECT_NEAR(of.third[1], -e * std::sin(0.7) * (1 / root - 0.5 / (1.3 * root)), 1e-14);  // f_xyy
  EXPECT_NEAR(of.third[3], -e * std::cos(0.7) / root, 1e-14);                             // f_yyy
}

TEST(Budget, BadInputIsNamed) {
  Budget budget = two();
  EXPECT_THROW(budget.add("a", exponential(1)), InvalidParameter);
  EXPECT_THROW(budget.correlate("a", "c", 0.5), InvalidParameter);
  EXPECT_THROW(budget.correlate("a", "a", 0.5), InvalidParameter);
  EXPECT_THROW(budget.correlate("a", "b", 1.5), InvalidParameter);
  budget.correlate("a", "b", 0.5);
  EXPECT_THROW(budget.correlate("b", "a", 0.5), InvalidParameter);
  try {
    (void)propagate_model(budget, [](const auto& x) { return x[0] / (x[1] - 2.0); });
    FAIL();
  } catch (const InvalidParameter& error) {
    EXPECT_NE(std::string(error.what()).find("model"), std::string::npos);
  }
  EXPECT_THROW((void)propagate(budget, {.inputs = 1, .values = {1}, .gradient = {1}}), InvalidParameter);
  EXPECT_THROW((void)propagate_model(budget, [](const auto& x) { return x[0]; }, Order::second), InvalidParameter);
}

TEST(Budget, AnImpossibleCorrelationNamesItsAmountAndAPair) {
  Budget budget = two(0.9);
  budget.add("c", normal({.mean = 0, .standard_uncertainty = 1}));
  budget.correlate("a", "c", 0.9);
  budget.correlate("b", "c", -0.95);
  try {
    budget.check();
    FAIL();
  } catch (const InvalidParameter& error) {
    EXPECT_NE(std::string(error.what()).find("-0.8"), std::string::npos) << error.what();
    EXPECT_NE(std::string(error.what()).find("'b', 'c'"), std::string::npos) << error.what();
  }
}

}  // namespace
}  // namespace ohmward::uncertainty
