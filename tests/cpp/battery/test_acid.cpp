#include "check_values.hpp"
#include "ohmward/battery/acid.hpp"

namespace ohmward::battery {
namespace {

using testing::CheckValue;

class Acid : public ::testing::TestWithParam<CheckValue> {};

TEST_P(Acid, CheckValue) {
  const CheckValue& row = GetParam();
  const double input = row.number("input");
  const std::string& quantity = row.text("quantity");
  if (quantity == "cell_emf_volt")
    row.expect(acid::cell_emf_volt(input).value);
  else if (quantity == "molality")
    row.expect(acid::molality(input).value);
  else if (quantity == "specific_gravity")
    row.expect(acid::specific_gravity(input).value);
  else if (quantity == "freezing_celsius")
    row.expect(acid::freezing_celsius(input).value);
  else if (quantity == "cell_rule_volt")
    row.expect(acid::cell_rule_volt(input));
  else if (quantity == "self_discharge_per_day")
    row.expect(acid::self_discharge_per_day(input).value);
  else if (quantity == "specific_gravity_at_rest")
    row.expect(acid::specific_gravity_at_rest(input).value);
  else
    FAIL() << quantity;
}

INSTANTIATE_TEST_SUITE_P(Table, Acid, ::testing::ValuesIn(testing::check_values("acid")));

TEST(AcidPhysics, GravityAtRestInvertsTheElectromotiveForce) {
  for (double gravity = 1.06; gravity < 1.32; gravity += 0.013) {
    const double volt = acid::cell_emf_volt(acid::molality(gravity).value).value;
    EXPECT_NEAR(acid::specific_gravity_at_rest(volt).value, gravity, 1e-10);
  }
}

TEST(AcidPhysics, SenselessInputHasAStatus) {
  EXPECT_EQ(acid::cell_emf_volt(0).status, Status::out_of_domain);
  EXPECT_EQ(acid::cell_emf_volt(12).status, Status::outside_fitted_range);
  EXPECT_EQ(acid::molality(nan).status, Status::missing_input);
  EXPECT_EQ(acid::freezing_celsius(1.3).status, Status::outside_table);
  EXPECT_EQ(acid::specific_gravity_at_rest(1.5).status, Status::outside_table);
  EXPECT_EQ(acid::self_discharge_per_day(50).status, Status::outside_fitted_range);
}

TEST(AcidPhysics, HydrometerCorrectionOfTheManuals) {
  EXPECT_NEAR(acid::corrected_specific_gravity({.specific_gravity = 1.250, .celsius = (20 - 32) / 1.8}), 1.226, 1e-12);
}

TEST(AcidPhysics, TemperatureTablesDisagreeAsTold) {
  EXPECT_NEAR(6 * acid::temperature_disagreement_cell_volt(0), 0.026, 1e-12);
  EXPECT_NEAR(6 * acid::temperature_disagreement_cell_volt(-18), 0.081, 1e-12);
  EXPECT_EQ(acid::temperature_disagreement_cell_volt(25), 0);
  EXPECT_NEAR(acid::temperature_disagreement_cell_volt(35), acid::temperature_disagreement_cell_volt(15), 1e-12);
}

}  // namespace
}  // namespace ohmward::battery
