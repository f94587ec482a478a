#include <gtest/gtest.h>

#include <cmath>
#include <vector>

#include "ohmward/core/errors.hpp"
#include "ohmward/statistics/robust_slope.hpp"

namespace ohmward::statistics {
namespace {

using Numbers = std::vector<double>;

std::vector<Observation> exact(const Numbers& y) {
  std::vector<Observation> out;
  for (const double value : y) out.push_back({.y = value});
  return out;
}

TEST(RobustSlope, AWildPointDoesNotMoveIt) {
  const Numbers x{0, 1, 2, 3, 4, 5, 6};
  const RobustSlope of = robust_slope(x, exact({1, 3, 5, 700, 9, 11, 13}));
  EXPECT_EQ(of.slope, 2);
  EXPECT_LE(of.low, 2);
  EXPECT_GE(of.high, 2);
  EXPECT_EQ(of.intercept, 9 - 2 * 3);
}

// scipy's theilslopes on points with two equal x: the ranks use the variance with ties.
TEST(RobustSlope, EndsAtTheRanksOfKendall) {
  const Numbers x{0, 1, 2, 3, 4, 5, 5, 7};
  const RobustSlope of = robust_slope(x, exact({0.1, 1.4, 1.7, 3.2, 4.4, 4.6, 5.3, 6.1}));
  EXPECT_EQ(of.status, Status::sound);
  EXPECT_NEAR(of.slope, 0.9, 1e-12);
  EXPECT_NEAR(of.low, 0.725, 1e-12);
  EXPECT_NEAR(of.high, 1.075, 1e-12);
}

TEST(RobustSlope, TooFewPointsForTheLevelAreSaid) {
  const Numbers x{0, 1, 2, 3};
  const RobustSlope of = robust_slope(x, exact({0, 1, 2.5, 3}));
  EXPECT_EQ(of.status, Status::few_points);
  EXPECT_EQ(of.low, 0.5);
  EXPECT_EQ(of.high, 1.5);
  EXPECT_EQ(robust_slope(x, exact({0, 1, 2.5, 3}), 0.8).status, Status::sound);
  EXPECT_EQ(robust_slope(Numbers{1, 1}, exact({0, 1})).status, Status::too_few_points);
}

TEST(RobustSlope, RefusesUnequalLengthsAndLevels) {
  EXPECT_THROW((void)robust_slope(Numbers{1, 2}, exact({1})), InvalidParameter);
  EXPECT_THROW((void)robust_slope(Numbers{1, 2}, exact({1, 2}), 0), InvalidParameter);
}

}  // namespace
}  // namespace ohmward::statistics
