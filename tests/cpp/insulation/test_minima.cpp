#include <gtest/gtest.h>

#include <string>

#include "check_values.hpp"
#include "ohmward/insulation/minima.hpp"

namespace ohmward::insulation {
namespace {

using testing::CheckValue;

class Minima : public ::testing::TestWithParam<CheckValue> {};
INSTANTIATE_TEST_SUITE_P(CheckValues, Minima, ::testing::ValuesIn(testing::check_values("insulation_minima")));

TEST_P(Minima, Lookup) {
  const CheckValue& row = GetParam();
  const double rated = row.number("rated_volt");
  const std::string& table = row.text("table");
  TestFigure figure = table == "machine"     ? machine_test_voltage(rated)
                      : table == "apparatus" ? apparatus_test(rated)
                                             : installation_test(rated);
  if (table == "machine") figure.minimum_ohm = machine_minimum_ohm({.rated_volt = rated}).value;
  row.expect(figure.minimum_ohm);
  row.expect(figure.test_low_volt, "expected_test_low_volt");
  row.expect(figure.test_high_volt, "expected_test_high_volt");
}

TEST(Minima, WindingsByEdition) {
  EXPECT_EQ(machine_minimum_ohm({.winding = Winding::form_wound}).value, 100e6);
  EXPECT_EQ(machine_minimum_ohm({.winding = Winding::random_wound}).value, 5e6);
  EXPECT_EQ(machine_minimum_ohm({.winding = Winding::dc_armature, .edition = Edition::ieee_43_2000}).value, 100e6);
  EXPECT_EQ(machine_minimum_ohm({.winding = Winding::dc_armature}).value, 5e6);
  EXPECT_EQ(machine_minimum_ohm({}).status, Status::missing_input);
  EXPECT_EQ(machine_minimum_ohm({.rated_volt = -1}).status, Status::out_of_domain);
  EXPECT_EQ(minimum_polarisation_index({.celsius = 105}).value, 1.5);
  EXPECT_EQ(minimum_polarisation_index({.celsius = 220}).value, 2.0);
  EXPECT_EQ(minimum_polarisation_index({.celsius = 100}).status, Status::outside_table);
  EXPECT_EQ(minimum_polarisation_index({.celsius = 155}).source, "ieee-43");
}

TEST(Band, IsHalfOpen) {
  EXPECT_EQ(band(Index::polarisation, 1.999).word, "low");
  EXPECT_EQ(band(Index::polarisation, 2).word, "usual");
  EXPECT_EQ(band(Index::polarisation, 2).to, 4);
  EXPECT_EQ(band(Index::polarisation, 400).to, infinity);
  EXPECT_EQ(band(Index::polarisation, 0.4).word, "below one");
  EXPECT_EQ(band(Index::absorption_60_30, 1.3).word, "usual");
  EXPECT_EQ(band(Index::dielectric_discharge, 7).from, 7);
  EXPECT_EQ(band(Index::polarisation, nan).status, Status::missing_input);
  EXPECT_EQ(band(Index::polarisation, -1).status, Status::out_of_domain);
}

}  // namespace
}  // namespace ohmward::insulation
