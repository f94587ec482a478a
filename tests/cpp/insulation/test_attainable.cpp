#include <gtest/gtest.h>

#include <cmath>

#include "check_values.hpp"
#include "ohmward/insulation/attainable.hpp"

namespace ohmward::insulation {
namespace {

using testing::CheckValue;
using uncertainty::Part;
using uncertainty::Quantity;

Quantity reading(double ohm, Censoring censoring = Censoring::exact, double u = 0) {
  Quantity quantity{.value = ohm, .scale = Scale::log, .censoring = censoring, .status = Status::sound};
  quantity.parts.set(Part::reading, u);
  return quantity;
}

class Attainable : public ::testing::TestWithParam<CheckValue> {};
INSTANTIATE_TEST_SUITE_P(CheckValues, Attainable, ::testing::ValuesIn(testing::check_values("insulation_attainable")));

TEST_P(Attainable, Ratio) {
  const CheckValue& row = GetParam();
  const Quantity early = reading(row.number("early_ohm"));
  const AttainableRatio ratio = attainable_ratio({.early = early,
                                                  .capacitance = {.high_farad = row.number("capacitance_farad")},
                                                  .loss_factor = row.number("loss_factor")});
  if (std::isinf(row.number("expected"))) {
    EXPECT_TRUE(std::isinf(ratio.value)) << row.id();
  } else {
    row.expect(ratio.value);
  }
}

TEST(Attainable, TakesTheGenerousEnds) {
  const Quantity exact = reading(1e9), uncertain = reading(1e9, Censoring::exact, 0.2);
  const CapacitanceRange range{.low_farad = 3e-9, .high_farad = 20e-9};
  const AttainableRatio by_range = attainable_ratio({.early = exact, .capacitance = range});
  const AttainableRatio by_high = attainable_ratio({.early = exact, .capacitance = {.high_farad = 20e-9}});
  EXPECT_EQ(by_range.value, by_high.value);
  EXPECT_GT(attainable_ratio({.early = uncertain, .capacitance = range}).value, by_range.value);
  EXPECT_TRUE(by_range.excludes(2));
  EXPECT_FALSE(by_range.excludes(1.01));
}

TEST(Attainable, OverRangeLimitsNothingAndMissingSaysNothing) {
  const Quantity over = reading(4e9, Censoring::above), unknown{.scale = Scale::log, .censoring = Censoring::overload};
  const CapacitanceRange range{.high_farad = 10e-9};
  EXPECT_EQ(attainable_ratio({.early = over, .capacitance = range}).value, infinity);
  EXPECT_EQ(attainable_ratio({.early = unknown, .capacitance = range}).value, infinity);
  const Quantity exact = reading(1e9);
  const AttainableRatio without = attainable_ratio({.early = exact});
  EXPECT_EQ(without.status, Status::missing_input);
  EXPECT_FALSE(without.excludes(100));
}

}  // namespace
}  // namespace ohmward::insulation
