#include <gtest/gtest.h>

#include <cmath>
#include <vector>

#include "ohmward/core/floating_point.hpp"
#include "ohmward/numerics/normal.hpp"
#include "ohmward/statistics/degrees_of_freedom.hpp"
#include "ohmward/statistics/distributions.hpp"

namespace ohmward::statistics {
namespace {

using Numbers = std::vector<double>;

// JCGM 100:2008 G.3, example and table.
TEST(DegreesOfFreedom, OfATypeBUncertainty) {
  EXPECT_DOUBLE_EQ(type_b_degrees_of_freedom(0.25), 8);
  EXPECT_DOUBLE_EQ(type_b_degrees_of_freedom(0.10), 50);
  EXPECT_DOUBLE_EQ(type_b_degrees_of_freedom(0.50), 2);
  EXPECT_EQ(type_b_degrees_of_freedom(0), infinity);
  EXPECT_TRUE(std::isnan(type_b_degrees_of_freedom(-0.1)));
}

TEST(DegreesOfFreedom, OneContributionKeepsItsOwn) {
  EXPECT_DOUBLE_EQ(welch_satterthwaite(Numbers{3e-200}, Numbers{7}), 7);
  EXPECT_EQ(welch_satterthwaite(Numbers{1, 2}, Numbers{infinity, infinity}), infinity);
  EXPECT_TRUE(std::isnan(welch_satterthwaite(Numbers{1, 2}, Numbers{1})));
}

TEST(DegreesOfFreedom, WithoutCorrelationTheTwoFormsAgree) {
  const Numbers u{1, -2, 0.5};
  const Numbers dof{4, 9, 30};
  const Numbers identity{1, 0, 0, 0, 1, 0, 0, 0, 1};
  EXPECT_NEAR(welch_satterthwaite(u, dof), welch_satterthwaite_correlated(u, identity, dof), 1e-12);
}

// The variance of u² over many repeats of the two estimates gives the degrees of freedom 2 (u²)²/Var(u²). Quantiles
// of χ² on a regular grid stand for the repeats: no random numbers.
TEST(DegreesOfFreedom, CorrelatedFormAgreesWithSimulation) {
  const double rho = 0.6;
  const Numbers u{2, 1.5};
  const Numbers dof{60, 90};
  const double u2 = u[0] * u[0] + u[1] * u[1] + 2 * rho * u[0] * u[1];
  double sum = 0;
  double squares = 0;
  const int steps = 400;
  for (int i = 0; i < steps; ++i)
    for (int j = 0; j < steps; ++j) {
      const double s0 = u[0] * std::sqrt(chi_squared_quantile((i + 0.5) / steps, dof[0]) / dof[0]);
      const double s1 = u[1] * std::sqrt(chi_squared_quantile((j + 0.5) / steps, dof[1]) / dof[1]);
      const double estimate = s0 * s0 + s1 * s1 + 2 * rho * s0 * s1;
      sum += estimate;
      squares += estimate * estimate;
    }
  const double n = steps * steps;
  const double variance = squares / n - sum / n * (sum / n);
  const double simulated = 2 * u2 * u2 / variance;
  EXPECT_NEAR(welch_satterthwaite_correlated(u, Numbers{1, rho, rho, 1}, dof), simulated, 0.02 * simulated);
}

TEST(DegreesOfFreedom, RoundingBeforeCutting) {
  EXPECT_EQ(whole_degrees_of_freedom(18.998742), 19);
  EXPECT_EQ(whole_degrees_of_freedom(18.94), 18);
  EXPECT_EQ(whole_degrees_of_freedom(16.741149), 16);
  EXPECT_EQ(whole_degrees_of_freedom(infinity), infinity);
}

// scipy.stats, 12 digits.
TEST(Distributions, AgainstAnotherLibrary) {
  EXPECT_NEAR(student_t_cdf(2, 3.5), 0.936930738712, 5e-12);
  EXPECT_NEAR(std::sqrt(chi_squared_quantile(0.95, 2)), 2.447746830681, 5e-12);
  EXPECT_NEAR(gamma_quantile(0.3, 2.5), 1.499954066380, 5e-12);
  EXPECT_EQ(student_t_quantile(1, 4), infinity);
  EXPECT_TRUE(std::isnan(student_t_quantile(0.5, 0)));
  EXPECT_EQ(student_t_cdf(1, infinity), numerics::normal_probability(1));
}

}  // namespace
}  // namespace ohmward::statistics
