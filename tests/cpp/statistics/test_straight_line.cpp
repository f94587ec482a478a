#include <gtest/gtest.h>

#include <cmath>
#include <vector>

#include "ohmward/core/floating_point.hpp"
#include "ohmward/statistics/straight_line.hpp"

namespace ohmward::statistics {
namespace {

TEST(StraightLine, ThreePointsByHand) {
  const std::vector<double> x{0, 1, 2};
  const std::vector<double> y{0, 1, 3};
  const StraightLine line = straight_line(x, y);
  EXPECT_NEAR(line.slope, 1.5, 1e-15);
  EXPECT_NEAR(line.intercept, -1.0 / 6, 1e-15);
  EXPECT_NEAR(line.standard_deviation, std::sqrt(1.0 / 6), 1e-15);
  EXPECT_EQ(line.degrees_of_freedom, 1);
}

TEST(StraightLine, TheOriginMovesTheInterceptAndNotTheLine) {
  const std::vector<double> x{1, 2, 4, 7, 8};
  const std::vector<double> y{3, 1, 4, 1, 5};
  const StraightLine first = straight_line(x, y, 0);
  const StraightLine second = straight_line(x, y, 5);
  for (const double at : {-3.0, 0.0, 5.5, 40.0}) {
    EXPECT_NEAR(first.at(at).value, second.at(at).value, 1e-12);
    EXPECT_NEAR(first.at(at).standard_uncertainty, second.at(at).standard_uncertainty, 1e-12);
  }
  EXPECT_NEAR(second.intercept, second.at(5).value, 1e-15);
}

TEST(StraightLine, MissingPairsAreLeftOutAndTooFewGiveNoValue) {
  const std::vector<double> x{0, 1, nan, 2};
  const std::vector<double> y{0, 1, 9, 3};
  EXPECT_NEAR(straight_line(x, y).slope, 1.5, 1e-15);
  const std::vector<double> same{1, 1, 1, 1};
  EXPECT_EQ(straight_line(same, y).status, Status::too_few_points);
  EXPECT_TRUE(std::isnan(straight_line(same, y).slope));
}

}  // namespace
}  // namespace ohmward::statistics
