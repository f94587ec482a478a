#include <gtest/gtest.h>

#include <array>
#include <cmath>
#include <functional>
#include <map>
#include <string>
#include <vector>

#include "check_values.hpp"
#include "ohmward/core/errors.hpp"
#include "ohmward/numerics/normal.hpp"
#include "ohmward/statistics/degrees_of_freedom.hpp"
#include "ohmward/statistics/distributions.hpp"
#include "ohmward/uncertainty/coverage.hpp"
#include "ohmward/uncertainty/monte_carlo.hpp"
#include "ohmward/uncertainty/rows.hpp"

namespace ohmward::uncertainty {
namespace {

using testing::CheckValue;
using Parts = std::vector<SymmetricPart>;

class CoverageFactor : public ::testing::TestWithParam<CheckValue> {};
INSTANTIATE_TEST_SUITE_P(CheckValues, CoverageFactor, ::testing::ValuesIn(testing::check_values("coverage_factor")));

TEST_P(CoverageFactor, OfEachKind) {
  const CheckValue& row = GetParam();
  const double level = row.number("level");
  const double second = row.number("second");
  const std::string& kind = row.text("kind");
  if (kind == "t") row.expect(coverage_factor_t(level, second));
  if (kind == "trapezoid") row.expect(coverage_factor_trapezoid(level, second));
  if (kind == "rectangle_and_normal") row.expect(coverage_factor_rectangle_and_normal(level, second));
}

/// u of the logarithm of a halving law's factor, `kelvin` above its reference.
double halving_ln_factor(double kelvin, double u_kelvin, double u_step) {
  const std::array one{1.0}, zero{0.0}, celsius{40 + kelvin}, of_celsius{u_kelvin}, step{10.0}, of_step{u_step};
  std::array<double, 1> value{}, u{};
  std::array<Status, 1> status{};
  propagate_rows(row_formula("halving_to_reference"),
                 std::array{RowInput{one, zero}, RowInput{celsius, of_celsius}, RowInput{step, of_step}},
                 std::array{40.0, -infinity, infinity}, {}, {value, u, {}, {}, status});
  return u[0] / value[0];
}

class UncertaintyFigure : public ::testing::TestWithParam<CheckValue> {};
INSTANTIATE_TEST_SUITE_P(CheckValues, UncertaintyFigure,
                         ::testing::ValuesIn(testing::check_values("uncertainty_figure")));

TEST_P(UncertaintyFigure, OfEachKind) {
  const CheckValue& row = GetParam();
  const double first = row.number("first");
  const double second = row.number("second");
  const std::map<std::string, std::function<double()>> figures{
      {"display_step", [&] { return standard_uncertainty_of_display(first); }},
      {"type_b_degrees_of_freedom", [&] { return statistics::type_b_degrees_of_freedom(first); }},
      {"numerical_tolerance", [&] { return numerical_tolerance(first, static_cast<int>(second)); }},
      {"ellipsoid", [&] { return coverage_factor_ellipsoid(first, static_cast<std::size_t>(second)); }},
      {"halving_ln_factor", [&] { return halving_ln_factor(first, second, row.number("third")); }}};
  row.expect(figures.at(row.text("figure"))());
}

SymmetricPart rectangle(double half_width) { return {.shape = Shape::rectangular, .scale = half_width}; }
SymmetricPart gaussian(double u) { return {.shape = Shape::normal, .scale = u}; }

TEST(CoverageOfSum, TheSeriesGivesTheClosedForms) {
  for (const double level : {0.6827, 0.95, 0.99}) {
    for (const double ratio : {0.1, 0.5, 2.0}) {
      const double u = std::sqrt(1 + ratio * ratio);
      EXPECT_NEAR(coverage_factor_of_sum(Parts{rectangle(std::sqrt(3.0)), gaussian(ratio)}, u, level),
                  coverage_factor_rectangle_and_normal(level, ratio), 1e-6);
    }
    const double beta = 0.4;
    EXPECT_NEAR(coverage_factor_of_sum(Parts{rectangle(0.7), rectangle(0.3)}, std::sqrt((1 + beta * beta) / 6), level),
                coverage_factor_trapezoid(level, beta), 1e-6);
    EXPECT_NEAR(coverage_factor_of_sum(Parts{gaussian(3), gaussian(4)}, 5, level),
                numerics::normal_quantile((1 + level) / 2), 1e-9);
  }
}

// JCGM 101:2008 9.2.3: four rectangles of standard deviation 1, exact 3.87940674.
TEST(CoverageOfSum, FourRectangles) {
  const Parts four(4, rectangle(std::sqrt(3.0)));
  EXPECT_NEAR(2 * coverage_factor_of_sum(four, 2, 0.95), 3.87940674, 2e-6);
}

// A t with a vanishing rectangle is a t; the characteristic function is checked over its three ways of computing.
TEST(CoverageOfSum, StudentT) {
  for (const double dof : {1.0, 2.0, 5.0, 18.0, 120.0, 299.0, 1000.0}) {
    const SymmetricPart t{.shape = Shape::student_t, .scale = 1, .second = dof};
    const double exact = statistics::student_t_quantile(0.975, dof);
    EXPECT_NEAR(coverage_factor_of_sum(Parts{t, rectangle(1e-4)}, 1, 0.95), exact, 1e-6 * exact) << dof;
  }
}

// Convolution on a grid by NumPy (2e6 points): curvilinear trapezoid (a 1, d 0.5) with a triangle of half-width 0.8,
// and arcsine (half-width 1) with a rectangle of half-width 0.5.
TEST(CoverageOfSum, OtherShapesAgainstAGrid) {
  const SymmetricPart curved{.shape = Shape::curvilinear_trapezoidal, .scale = 1, .second = 0.5};
  const SymmetricPart triangle{.shape = Shape::triangular, .scale = 0.8};
  const SymmetricPart wave{.shape = Shape::arcsine, .scale = 1};
  EXPECT_NEAR(coverage_factor_of_sum(Parts{curved, triangle}, 1, 0.95), 1.30428, 5e-5);
  EXPECT_NEAR(coverage_factor_of_sum(Parts{wave, rectangle(0.5)}, 1, 0.95), 1.31049, 5e-5);
}

TEST(CoverageOfSum, OnePartAlone) {
  EXPECT_NEAR(coverage_factor_of_sum(Parts{rectangle(2)}, 1, 0.95), 1.9, 1e-12);
  EXPECT_NEAR(coverage_factor_of_sum(Parts{{.shape = Shape::triangular, .scale = 1}}, 1, 0.75), 0.5, 1e-12);
  EXPECT_NEAR(coverage_factor_of_sum(Parts{{.shape = Shape::arcsine, .scale = 1}}, 1, 1.0 / 3), 0.5, 1e-12);
}

TEST(Coverage, BadInputIsNamed) {
  EXPECT_THROW((void)coverage_factor_t(0, 5), InvalidParameter);
  EXPECT_THROW((void)coverage_factor_t(1, 5), InvalidParameter);
  EXPECT_THROW((void)coverage_factor_t(0.95, 0.9), InvalidParameter);
  EXPECT_THROW((void)coverage_factor_trapezoid(0.95, 2), InvalidParameter);
  EXPECT_THROW((void)coverage_factor_rectangle_and_normal(0.95, -1), InvalidParameter);
  EXPECT_THROW((void)coverage_factor_of_sum(Parts{{.shape = Shape::lognormal, .scale = 1}}, 1, 0.95), InvalidParameter);
}

TEST(ExpandedUncertainty, OnBothScales) {
  const Output output{.value = 100, .standard_uncertainty = 30};
  const Expanded linear = expanded(output, 2, 0.9545);
  EXPECT_DOUBLE_EQ(linear.interval.low, 40);
  const Expanded log = expanded(output, 2, 0.9545, Scale::log);
  EXPECT_NEAR(log.interval.low, 100 * std::exp(-0.6), 1e-12);
  EXPECT_NEAR(log.interval.high, 100 * std::exp(0.6), 1e-12);
  EXPECT_THROW((void)expanded({.value = -1, .standard_uncertainty = 1}, 2, 0.95, Scale::log), InvalidParameter);
}

}  // namespace
}  // namespace ohmward::uncertainty
