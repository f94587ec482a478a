#include <gtest/gtest.h>

#include <cmath>
#include <functional>
#include <map>
#include <vector>

#include "check_values.hpp"
#include "ohmward/core/errors.hpp"
#include "ohmward/uncertainty/input.hpp"

namespace ohmward::uncertainty {
namespace {

using testing::CheckValue;

Input made(const std::string& shape, double a, double b, double c) {
  if (shape == "rectangular") return rectangular({.centre = a, .half_width = b});
  if (shape == "triangular") return triangular({.centre = a, .half_width = b});
  if (shape == "arcsine") return arcsine({.centre = a, .half_width = b});
  if (shape == "asymmetric") return asymmetric({.estimate = a, .below = b, .above = c});
  if (shape == "trapezoidal") return trapezoidal({.centre = a, .half_width = b, .top_fraction = c});
  if (shape == "curvilinear_trapezoidal")
    return curvilinear_trapezoidal({.centre = a, .half_width = b, .limit_half_width = c});
  if (shape == "student_t_with_standard_uncertainty")
    return student_t_with_standard_uncertainty({.mean = a, .standard_uncertainty = b, .degrees_of_freedom = c});
  throw std::invalid_argument(shape);
}

class InputUncertainty : public ::testing::TestWithParam<CheckValue> {};
INSTANTIATE_TEST_SUITE_P(CheckValues, InputUncertainty,
                         ::testing::ValuesIn(testing::check_values("input_uncertainty")));

TEST_P(InputUncertainty, OfEachShape) {
  const CheckValue& row = GetParam();
  row.expect(
      made(row.text("shape"), row.number("first"), row.number("second"), row.number("third")).standard_uncertainty);
}

class StatedUncertainty : public ::testing::TestWithParam<CheckValue> {};
INSTANTIATE_TEST_SUITE_P(CheckValues, StatedUncertainty,
                         ::testing::ValuesIn(testing::check_values("stated_uncertainty")));

TEST_P(StatedUncertainty, FromAnExpandedOne) {
  const CheckValue& row = GetParam();
  row.expect(standard_uncertainty_from({.expanded = row.number("expanded"),
                                        .coverage_factor = row.number("coverage_factor"),
                                        .level = row.number("level"),
                                        .degrees_of_freedom = row.number("degrees_of_freedom")}));
}

// JCGM 100:2008 F.2.2.1: 0.29 of a display step.
TEST(Inputs, DisplayStep) { EXPECT_NEAR(standard_uncertainty_of_display(1), 0.29, 2e-3); }

TEST(Inputs, OfAsymmetricShapes) {
  EXPECT_DOUBLE_EQ(gamma(8).standard_uncertainty, 3);
  EXPECT_DOUBLE_EQ(exponential(2).standard_uncertainty, 2);
  EXPECT_DOUBLE_EQ(lognormal({.median = 4, .standard_uncertainty_of_ln = 0.5}).standard_uncertainty, 2);
  EXPECT_DOUBLE_EQ(sample(std::vector<double>{1, 3}).standard_uncertainty, 1);
  const Input scaled =
      student_t_with_standard_uncertainty({.mean = 0, .standard_uncertainty = 1, .degrees_of_freedom = 4});
  EXPECT_DOUBLE_EQ(scaled.parameters[1], std::sqrt(0.5));
}

TEST(Inputs, SenselessParametersAreRefusedByName) {
  const std::vector<std::function<void()>> senseless{
      [] { (void)normal({.mean = nan, .standard_uncertainty = 1}); },
      [] { (void)normal({.mean = 0, .standard_uncertainty = 0}); },
      [] { (void)normal({.mean = 0, .standard_uncertainty = -1}); },
      [] { (void)normal({.mean = 0, .standard_uncertainty = 1, .degrees_of_freedom = 0.5}); },
      [] { (void)student_t({.location = 0, .scale = 1, .degrees_of_freedom = 0}); },
      [] {
        (void)student_t_with_standard_uncertainty({.mean = 0, .standard_uncertainty = 1, .degrees_of_freedom = 2});
      },
      [] { (void)rectangular({.centre = 0, .half_width = infinity}); },
      [] { (void)asymmetric({.estimate = 0, .below = 0, .above = 0}); },
      [] { (void)trapezoidal({.centre = 0, .half_width = 1, .top_fraction = 1.5}); },
      [] { (void)curvilinear_trapezoidal({.centre = 0, .half_width = 1, .limit_half_width = 2}); },
      [] { (void)lognormal({.median = 0, .standard_uncertainty_of_ln = 1}); },
      [] { (void)exponential(-1); },
      [] { (void)gamma(-1); },
      [] { (void)sample(std::vector<double>{2, 2}); },
      [] { (void)sample(std::vector<double>{2, nan}); },
      [] { (void)standard_uncertainty_from({.expanded = 1}); },
      [] { (void)standard_uncertainty_from({.expanded = 1, .coverage_factor = 2, .level = 0.95}); },
      [] { (void)standard_uncertainty_from({.expanded = 1, .level = 1}); },
      [] { (void)standard_uncertainty_of_display(0); },
  };
  for (std::size_t i = 0; i < senseless.size(); ++i) EXPECT_THROW(senseless[i](), InvalidParameter) << i;
}

}  // namespace
}  // namespace ohmward::uncertainty
