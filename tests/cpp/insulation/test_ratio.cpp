#include <gtest/gtest.h>

#include <cmath>

#include "ohmward/insulation/ratio.hpp"

namespace ohmward::insulation {
namespace {

using uncertainty::Part;
using uncertainty::Quantity;

Quantity reading(double ohm, Censoring censoring = Censoring::exact, double u = 0.02, double gain = 0.03) {
  Quantity quantity{.value = ohm, .scale = Scale::log, .censoring = censoring, .status = Status::sound};
  quantity.parts.set(Part::reading, u);
  quantity.parts.set(Part::gain, gain);
  return quantity;
}

TEST(Ratio, TheCommonGainCancelsAndNothingElse) {
  const Quantity late = reading(4e9), early = reading(2e9);
  const Quantity same = ratio({.late = late, .early = early});
  EXPECT_EQ(same.value, 2);
  EXPECT_EQ(same.scale, Scale::log);
  EXPECT_EQ(same.parts[Part::gain], 0);
  EXPECT_DOUBLE_EQ(same.standard_uncertainty(), 0.02 * std::sqrt(2.0));
  const Quantity other_range = ratio({.late = late, .early = early, .same_range = false});
  EXPECT_DOUBLE_EQ(other_range.standard_uncertainty(), std::sqrt(2 * (0.02 * 0.02 + 0.03 * 0.03)));
}

TEST(Ratio, ACensoredEndMakesABound) {
  const auto with = [](Censoring late, Censoring early) {
    const Quantity a = reading(4e9, late), b = reading(2e9, early);
    return ratio({.late = a, .early = b});
  };
  using enum Censoring;
  for (const auto& [late, early] : {std::pair{above, exact}, {exact, below}, {above, below}}) {
    EXPECT_EQ(with(late, early).censoring, above);
    EXPECT_EQ(with(late, early).status, Status::bound_only);
    EXPECT_EQ(with(late, early).value, 2);
  }
  for (const auto& [late, early] : {std::pair{below, exact}, {exact, above}, {below, above}})
    EXPECT_EQ(with(late, early).censoring, below);
  for (const auto& [late, early] : {std::pair{above, above}, {below, below}, {overload, exact}, {exact, overload}}) {
    EXPECT_EQ(with(late, early).status, Status::unknown_bound);
    EXPECT_TRUE(std::isnan(with(late, early).value));
  }
}

TEST(Ratio, NoValueIsHandedOn) {
  Quantity late = reading(4e9);
  const Quantity missing = reading(nan), zero = reading(0);
  EXPECT_EQ(ratio({.late = late, .early = missing}).status, Status::missing_input);
  EXPECT_EQ(ratio({.late = late, .early = zero}).status, Status::out_of_domain);
  late.status = Status::at_reduced_voltage;
  const Quantity early = reading(2e9);
  EXPECT_EQ(ratio({.late = late, .early = early}).status, Status::at_reduced_voltage);
}

TEST(IndexCriterion, BothReadingsMustAgree) {
  const auto criterion = [](const Quantity& as_read, const Quantity& corrected) {
    return index_criterion({.as_read = as_read, .at_40_celsius = corrected});
  };
  EXPECT_EQ(criterion(reading(6e9), reading(5.1e9)), IndexCriterion::does_not_apply);
  EXPECT_EQ(criterion(reading(6e9), reading(1e9)), IndexCriterion::undetermined);
  EXPECT_EQ(criterion(reading(5e9), reading(1e9)), IndexCriterion::applies);
  EXPECT_EQ(criterion(reading(4e9, Censoring::above), reading(1e9, Censoring::above)), IndexCriterion::undetermined);
  EXPECT_EQ(criterion(reading(20e9, Censoring::above), reading(6e9, Censoring::above)), IndexCriterion::does_not_apply);
  EXPECT_EQ(criterion(reading(nan), reading(1e9)), IndexCriterion::undetermined);
}

}  // namespace
}  // namespace ohmward::insulation
