#include <gtest/gtest.h>

#include <string>

#include "ohmward/core/errors.hpp"
#include "ohmward/temperature/law.hpp"

namespace ohmward::temperature {
namespace {

template <class Parameters>
void expect_refused(const Parameters& parameters, const std::string& field) {
  const Checked<Law> made = make(parameters);
  EXPECT_EQ(made.status, Status::out_of_domain);
  EXPECT_EQ(made.value.kind, LawKind::none);
  try {
    (void)law(parameters);
    ADD_FAILURE() << field << " was accepted";
  } catch (const InvalidParameter& error) {
    EXPECT_NE(std::string(error.what()).find(field), std::string::npos) << error.what();
  }
}

TEST(Law, SenselessParametersAreRefusedByName) {
  for (const double constant : {0.0, -10.0, nan, infinity}) {
    expect_refused(Halving{.step_kelvin = constant}, "step_kelvin");
    expect_refused(Arrhenius{.activation_energy_electronvolt = constant}, "activation_energy_electronvolt");
    expect_refused(Conductor{.tau_kelvin = constant}, "tau_kelvin");
  }
  expect_refused(Halving{.step_kelvin = 10, .step_standard_uncertainty_kelvin = -1},
                 "step_standard_uncertainty_kelvin");
  expect_refused(Halving{.step_kelvin = 10, .fitted = {.low_celsius = 40, .high_celsius = 40}}, "fitted_high_celsius");
  expect_refused(Halving{.step_kelvin = 10, .fitted = {.low_celsius = nan}}, "fitted_high_celsius");
  expect_refused(Thermosetting{.relative_standard_uncertainty = infinity}, "relative_standard_uncertainty");
  expect_refused(FactorTable{.points = {{20, 1}}}, "points");
  expect_refused(FactorTable{.points = {{20, 1}, {20, 2}}}, "celsius");
  expect_refused(FactorTable{.points = {{20, 1}, {30, 0}}}, "factor");
  expect_refused(FactorTable{.points = {{-300, 1}, {30, 2}}}, "celsius");
}

TEST(Law, KeepsWhatItWasGiven) {
  const Law halving =
      law(Halving{.step_kelvin = 8, .step_standard_uncertainty_kelvin = 0.4, .fitted = {.low_celsius = 5}});
  EXPECT_EQ(halving.kind, LawKind::halving);
  EXPECT_EQ(halving.constant, 8);
  EXPECT_DOUBLE_EQ(halving.relative_standard_uncertainty, 0.05);
  EXPECT_EQ(halving.fitted_low_celsius, 5);
  EXPECT_EQ(halving.fitted_high_celsius, infinity);
  EXPECT_TRUE(law(Halving{.step_kelvin = 8}).relative_standard_uncertainty !=
              law(Halving{.step_kelvin = 8}).relative_standard_uncertainty);
  EXPECT_EQ(oil_immersed().table.size(), 16U);
  EXPECT_EQ(oil_immersed().fitted_high_celsius, 75);
  EXPECT_EQ(solid().table.size(), 19U);
  EXPECT_EQ(make(Thermosetting{}).status, Status::sound);
  EXPECT_EQ(law(Thermosetting{}).fitted_low_celsius, 10);
}

}  // namespace
}  // namespace ohmward::temperature
