#include <array>

#include "check_values.hpp"
#include "ohmward/battery/battery_type.hpp"
#include "ohmward/core/errors.hpp"
#include "ohmward/core/floating_point.hpp"

namespace ohmward::battery {
namespace {

using testing::CheckValue;

class FullCell : public ::testing::TestWithParam<CheckValue> {};

TEST_P(FullCell, CheckValue) {
  const CheckValue& row = GetParam();
  row.expect(shipped_curve(row.text("curve")).volt(row.number("charge")));
}

INSTANTIATE_TEST_SUITE_P(Table, FullCell, ::testing::ValuesIn(testing::check_values("full_cell_voltage")));
INSTANTIATE_TEST_SUITE_P(Simulation, FullCell, ::testing::ValuesIn(testing::check_values("full_cell_simulation")));

TEST(OpenCircuitCurve, SenselessPartsThrow) {
  const std::array rising{0.0, 0.5, 1.0}, repeated{0.0, 0.5, 0.5}, falling{0.0, 0.6, 0.5}, beyond{0.0, 0.5, 1.1};
  const std::array volts{3.0, 3.2, 3.4}, broken{3.0, nan, 3.4};
  EXPECT_THROW(OpenCircuitCurve({.charge = repeated, .cell_volt = volts}), InvalidParameter);
  EXPECT_THROW(OpenCircuitCurve({.charge = falling, .cell_volt = volts}), InvalidParameter);
  EXPECT_THROW(OpenCircuitCurve({.charge = beyond, .cell_volt = volts}), InvalidParameter);
  EXPECT_THROW(OpenCircuitCurve({.charge = rising, .cell_volt = broken}), InvalidParameter);
  EXPECT_THROW(OpenCircuitCurve({.charge = rising, .cell_volt = std::span(volts).first(2)}), InvalidParameter);
  EXPECT_THROW(OpenCircuitCurve({.charge = std::span(rising).first(1), .cell_volt = std::span(volts).first(1)}),
               InvalidParameter);
  EXPECT_THROW(OpenCircuitCurve({.charge = rising, .cell_volt = volts, .standard_uncertainty_volt = -1}),
               InvalidParameter);
  EXPECT_NO_THROW(OpenCircuitCurve({.charge = rising, .cell_volt = volts}));
}

TEST(OpenCircuitCurve, DropsOnlyWhatLiesOnTheLine) {
  const std::array charge{0.0, 0.25, 0.5, 0.75, 1.0};
  const std::array volts{3.0, 3.1, 3.2, 3.25, 3.3};
  const OpenCircuitCurve curve({.charge = charge, .cell_volt = volts});
  EXPECT_EQ(curve.charge().size(), 3U);
  for (double s = 0; s <= 1; s += 0.01) EXPECT_NEAR(curve.volt(s), s < 0.5 ? 3 + 0.4 * s : 3.1 + 0.2 * s, 1e-12);
  EXPECT_NEAR(curve.slope(0.3), 0.4, 1e-9);
  EXPECT_TRUE(std::isnan(curve.volt(1.01)));
}

TEST(OpenCircuitCurve, TypesStayWithinATenthOfAMillivoltOfTheirCurves) {
  for (const std::string_view name : shipped_type_names())
    for (const auto& curve : shipped_type(name).curves) {
      const OpenCircuitCurve published = shipped_curve(curve->name());
      for (int i = 0; i <= 1000; ++i)
        EXPECT_NEAR(curve->volt(i / 1000.0), published.volt(i / 1000.0), 1.01e-4) << curve->name();
    }
}

TEST(OpenCircuitCurve, TemperatureMovesTheVoltage) {
  const OpenCircuitCurve lead = shipped_curve("flooded");
  EXPECT_NEAR(6 * (lead.volt(0.5, 36.7) - lead.volt(0.5)), 0.012, 1e-12);
  EXPECT_NEAR(shipped_curve("lfp_prada_2013").volt(0.5, 35) - shipped_curve("lfp_prada_2013").volt(0.5, 25), 1.1e-3,
              1e-9);
}

TEST(BatteryType, UnknownNamesThrow) {
  EXPECT_THROW((void)shipped_type("nickel"), InvalidParameter);
  EXPECT_THROW((void)shipped_curve("nickel"), InvalidParameter);
}

}  // namespace
}  // namespace ohmward::battery
