#include <gtest/gtest.h>

#include <cmath>
#include <vector>

#include "ohmward/core/errors.hpp"
#include "ohmward/statistics/type_a.hpp"

namespace ohmward::statistics {
namespace {

using Numbers = std::vector<double>;

TEST(MeanOf, MissingReadingsAreLeftOutAndCounted) {
  const MeanOfReadings of = mean_of(Numbers{1, nan, 3});
  EXPECT_EQ(of.mean, 2);
  EXPECT_EQ(of.readings, 2U);
  EXPECT_EQ(of.missing, 1U);
  EXPECT_DOUBLE_EQ(of.standard_uncertainty, 1);
  EXPECT_EQ(mean_of(Numbers{}).status, Status::too_few_points);
  EXPECT_TRUE(std::isnan(mean_of(Numbers{5}).standard_uncertainty));
}

TEST(MeanOf, ADisplayThatNeverMovesStillTellsNoLessThanItsStep) {
  const MeanOfReadings of = mean_of(Numbers{5, 5, 5, 5}, 0.1);
  EXPECT_NEAR(of.standard_uncertainty, 0.0288675135, 1e-10);
  EXPECT_EQ(of.degrees_of_freedom, infinity);
  EXPECT_EQ(mean_of(Numbers{5, 6}, 0.1).standard_uncertainty, 0.5);
}

// Ten times each of two values in long runs: about two independent readings, not twenty.
TEST(MeanOf, AutocorrelatedReadingsCountLess) {
  Numbers slow;
  Numbers fast;
  for (int i = 0; i < 200; ++i) {
    slow.push_back(std::sin(i * 0.05));
    fast.push_back(i % 2 == 0 ? 1 : -1);
  }
  EXPECT_GT(mean_of_autocorrelated(slow).standard_uncertainty, 3 * mean_of(slow).standard_uncertainty);
  EXPECT_LT(mean_of_autocorrelated(slow).degrees_of_freedom, 20);
  EXPECT_GE(mean_of_autocorrelated(fast).standard_uncertainty, mean_of(fast).standard_uncertainty);
}

TEST(Pooled, WeighsByDegreesOfFreedom) {
  const Pooled of = pooled(Numbers{1, 2}, Numbers{9, 3});
  EXPECT_DOUBLE_EQ(of.standard_deviation, std::sqrt((9 * 1 + 3 * 4) / 12.0));
  EXPECT_EQ(of.degrees_of_freedom, 12);
}

// Mean squares of an analysis of variance by statsmodels 0.14: within 0.0169444, F 37.393443.
TEST(VarianceComponents, UnequalGroupsAgainstAnotherLibrary) {
  const Numbers readings{1.0, 1.2, 0.9, 2.1, 2.0, 1.5, 1.4, 1.6, 1.7};
  const std::vector<long> groups{7, 7, 7, -1, -1, 3, 3, 3, 3};
  const VarianceComponents of = variance_components(readings, groups);
  EXPECT_NEAR(of.within * of.within, 0.0169444, 1e-6);
  EXPECT_NEAR(of.f_ratio, 37.393443, 1e-6);
}

TEST(VarianceComponents, WithoutAGroupEffectAllReadingsAreOneSample) {
  const VarianceComponents of = variance_components(Numbers{1, 2, 3, 1, 2, 3}, std::vector<long>{0, 0, 0, 1, 1, 1});
  EXPECT_EQ(of.between, 0);
  EXPECT_EQ(of.degrees_of_freedom, 5);
  EXPECT_NEAR(of.standard_uncertainty, std::sqrt(4.0 / 5 / 6), 1e-15);
}

TEST(VarianceComponents, TheDisplayFloorHolds) {
  const VarianceComponents of = variance_components(Numbers{5, 5, 5, 5}, std::vector<long>{0, 0, 1, 1}, 0.1);
  EXPECT_GE(of.standard_uncertainty, 0.1 / std::sqrt(12.0));
  EXPECT_THROW((void)variance_components(Numbers{1, 2}, std::vector<long>{1}), InvalidParameter);
}

TEST(JointMeans, RefusesWhatIsNoSet) {
  EXPECT_THROW((void)joint_means(Numbers{1, 2, 3}, 2), InvalidParameter);
  EXPECT_THROW((void)joint_means(Numbers{1, nan}, 2), InvalidParameter);
  EXPECT_THROW((void)joint_means(Numbers{1}, 1), InvalidParameter);
}

}  // namespace
}  // namespace ohmward::statistics
