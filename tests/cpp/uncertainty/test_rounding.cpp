#include <gtest/gtest.h>

#include "check_values.hpp"
#include "ohmward/core/errors.hpp"
#include "ohmward/uncertainty/rounding.hpp"

namespace ohmward::uncertainty {
namespace {

using testing::CheckValue;

class RoundedValue : public ::testing::TestWithParam<CheckValue> {};
INSTANTIATE_TEST_SUITE_P(CheckValues, RoundedValue, ::testing::ValuesIn(testing::check_values("rounding")));

TEST_P(RoundedValue, ForPeople) {
  const CheckValue& row = GetParam();
  const Rounded result =
      rounded(row.number("value"), row.number("uncertainty"), static_cast<int>(row.number("digits")));
  row.expect(result.value);
  row.expect(result.uncertainty, "expected_uncertainty");
}

TEST(Rounding, AsText) {
  EXPECT_EQ(text(rounded(10.05762, 27e-3)), "10.058 ± 0.027");
  EXPECT_EQ(text(rounded(2.3456e9, 0.41e9, 1)), "(2.3 ± 0.5)e9");
  EXPECT_EQ(text(rounded(123456, 1234)), "123500 ± 1300");
  EXPECT_EQ(text(rounded(-1.5e-6, 2.6e-8)), "(-1.500 ± 0.026)e-6");
}

TEST(Rounding, NeverDownByMoreThanAFewPerCentAndNeverUpByMoreThanOneDigit) {
  for (double u = 1e-5; u < 1e5; u *= 1.0173) {
    const Rounded result = rounded(0, u);
    EXPECT_GE(result.uncertainty, u * (1 - 0.0051)) << u;
    EXPECT_LE(result.uncertainty, u * 1.1) << u;
  }
}

TEST(Rounding, RefusesWhatCanNotBeRounded) {
  for (const double u : {0.0, -1.0, std::numeric_limits<double>::quiet_NaN()})
    EXPECT_THROW((void)rounded(1, u), InvalidParameter);
  EXPECT_THROW((void)rounded(1, 1, 3), InvalidParameter);
}

}  // namespace
}  // namespace ohmward::uncertainty
