#include <gtest/gtest.h>

#include <cmath>

#include "../check_values.hpp"
#include "ohmward/core/errors.hpp"
#include "ohmward/statistics/proportion.hpp"

namespace ohmward::statistics {
namespace {

Count count_of(const testing::CheckValue& v) {
  return {.events = static_cast<std::int64_t>(v.number("events")),
          .trials = static_cast<std::int64_t>(v.number("trials"))};
}

class ProportionValues : public ::testing::TestWithParam<testing::CheckValue> {};

TEST_P(ProportionValues, Interval) {
  const auto& v = GetParam();
  const double level = v.number("level");
  const Proportion of =
      v.text("interval") == "wilson" ? wilson(count_of(v), level) : clopper_pearson(count_of(v), level);
  v.expect(of.low, "expected_low");
  v.expect(of.high, "expected_high");
}

INSTANTIATE_TEST_SUITE_P(CheckValues, ProportionValues, ::testing::ValuesIn(testing::check_values("proportion")));

// With no event of n the high end solves (1 - p)^n = tail.
TEST(Proportion, EndsAtNoEventAndAtNothingElse) {
  for (const std::int64_t n : {1, 2, 7, 100, 100000}) {
    const double tail = std::pow(0.025, 1.0 / static_cast<double>(n));
    const Proportion none = clopper_pearson({.events = 0, .trials = n});
    EXPECT_EQ(none.low, 0);
    EXPECT_NEAR(none.high, 1 - tail, 1e-14);
    const Proportion all = clopper_pearson({.events = n, .trials = n});
    EXPECT_EQ(all.high, 1);
    EXPECT_NEAR(all.low, tail, 1e-14);
    EXPECT_EQ(wilson({.events = 0, .trials = n}).low, 0);
    EXPECT_EQ(wilson({.events = n, .trials = n}).high, 1);
  }
}

TEST(Proportion, OfNoTrialHasNoValue) {
  EXPECT_EQ(clopper_pearson({.events = 0, .trials = 0}).status, Status::too_few_points);
  EXPECT_TRUE(std::isnan(wilson({.events = 0, .trials = 0}).high));
}

TEST(Proportion, RefusesWhatIsNoCount) {
  EXPECT_THROW((void)clopper_pearson({.events = -1, .trials = 3}), InvalidParameter);
  EXPECT_THROW((void)wilson({.events = 4, .trials = 3}), InvalidParameter);
  EXPECT_THROW((void)wilson({.events = 0, .trials = -3}), InvalidParameter);
  for (const double level : {0.0, 1.0, -0.5, nan})
    EXPECT_THROW((void)clopper_pearson({.events = 1, .trials = 3}, level), InvalidParameter);
}

}  // namespace
}  // namespace ohmward::statistics
