#include <gtest/gtest.h>

#include <cmath>
#include <sstream>
#include <vector>

#include "../check_values.hpp"
#include "ohmward/core/errors.hpp"
#include "ohmward/statistics/two_way_components.hpp"

namespace ohmward::statistics {
namespace {

using Numbers = std::vector<double>;
using Labels = std::vector<long>;

class NestedValues : public ::testing::TestWithParam<testing::CheckValue> {};

TEST_P(NestedValues, Variances) {
  const auto& v = GetParam();
  const long repeats = std::lround(v.number("readings_in_inner"));
  const long inner_in_outer = std::lround(v.number("inner_in_outer"));
  Numbers readings;
  Labels outer;
  Labels inner;
  std::istringstream words(v.text("readings"));
  for (double reading = 0; words >> reading;) {
    const auto i = static_cast<long>(readings.size());
    readings.push_back(reading);
    inner.push_back(i / repeats % inner_in_outer);
    outer.push_back(i / repeats / inner_in_outer);
  }
  const TwoWayComponents of = nested_components(readings, outer, inner);
  v.expect(of.first.variance, "expected_first");
  v.expect(of.second.variance, "expected_second");
  v.expect(of.within.variance, "expected_within");
  EXPECT_EQ(of.status, Status::sound);
}

INSTANTIATE_TEST_SUITE_P(CheckValues, NestedValues, ::testing::ValuesIn(testing::check_values("nested_components")));

// Two by two, one reading each, by hand: mean squares 4, 1 and 0.25.
TEST(CrossedComponents, ByHand) {
  const TwoWayComponents of = crossed_components(Numbers{0, 1.5, 2.5, 3}, Labels{1, 1, 2, 2}, Labels{5, 6, 5, 6});
  EXPECT_NEAR(of.within.variance, 0.25, 1e-14);
  EXPECT_NEAR(of.first.variance, (4 - 0.25) / 2, 1e-14);
  EXPECT_NEAR(of.second.variance, (1 - 0.25) / 2, 1e-14);
  EXPECT_TRUE(std::isnan(of.interaction.variance));
  EXPECT_EQ(of.mean, 1.75);
}

TEST(NestedComponents, ANegativeEstimateStaysAndCountsAsNoScatter) {
  const TwoWayComponents of = nested_components(Numbers{0, 4, 1, 3, 0, 4, 1, 3}, Labels{0, 0, 0, 0, 1, 1, 1, 1},
                                                Labels{0, 0, 1, 1, 0, 0, 1, 1});
  EXPECT_LT(of.second.variance, 0);
  EXPECT_EQ(of.second.standard_deviation, 0);
  EXPECT_GT(of.within.variance, 0);
}

TEST(NestedComponents, ADesignThatHidesACauseHasNoAnswer) {
  const Numbers readings{1.0, 1.2, 0.9, 2.1, 2.0, 1.5};
  const Labels groups{7, 7, 7, -1, -1, 3};
  EXPECT_EQ(nested_components(readings, groups, Labels{0, 1, 2, 3, 4, 5}).status, Status::no_solution);
  EXPECT_EQ(nested_components(readings, groups, groups).status, Status::no_solution);
  EXPECT_EQ(nested_components(readings, Labels{0, 0, 0, 0, 0, 0}, groups).status, Status::no_solution);
}

TEST(Components, MissingReadingsAreLeftOut) {
  const TwoWayComponents whole = crossed_components(Numbers{0, 1.5, 2.5, 3}, Labels{1, 1, 2, 2}, Labels{5, 6, 5, 6});
  const TwoWayComponents holes =
      crossed_components(Numbers{0, 1.5, nan, 2.5, 3}, Labels{1, 1, 9, 2, 2}, Labels{5, 6, 9, 5, 6});
  EXPECT_EQ(whole.first.variance, holes.first.variance);
  EXPECT_THROW((void)nested_components(Numbers{1}, Labels{}, Labels{1}), InvalidParameter);
}

}  // namespace
}  // namespace ohmward::statistics
