#include <gtest/gtest.h>

#include <cmath>
#include <limits>
#include <string>

#include "check_values.hpp"
#include "ohmward/temperature/to_reference.hpp"

namespace ohmward::temperature {
namespace {

using testing::CheckValue;
using uncertainty::Part;
using uncertainty::Quantity;

Law law_of(const CheckValue& row) {
  const std::string& name = row.text("law");
  const double constant = row.number("constant");
  if (name == "halving") return law(Halving{.step_kelvin = constant});
  if (name == "arrhenius") return law(Arrhenius{.activation_energy_electronvolt = constant});
  if (name == "conductor") return law(Conductor{.tau_kelvin = constant});
  if (name == "thermosetting") return law(Thermosetting{});
  if (name == "oil") return oil_immersed();
  if (name == "solid") return solid();
  return {};
}

Quantity resistance(double ohm, double relative_u = 0.05) {
  Quantity quantity{.value = ohm, .scale = Scale::log, .status = Status::sound};
  quantity.parts.set(Part::reading, relative_u);
  return quantity;
}

class ToReference : public ::testing::TestWithParam<CheckValue> {};
INSTANTIATE_TEST_SUITE_P(CheckValues, ToReference,
                         ::testing::ValuesIn(testing::check_values("temperature_to_reference")));

TEST_P(ToReference, Value) {
  const CheckValue& row = GetParam();
  const Law used = law_of(row);
  const Quantity corrected = to_reference(
      resistance(row.number("ohm")),
      {.law = used, .part_celsius = row.number("part_celsius"), .reference_celsius = row.number("reference_celsius")});
  row.expect(corrected.value);
  EXPECT_EQ(static_cast<double>(corrected.status), row.number("expected_status")) << row.id();
}

// The parts are the derivatives: central differences of ln R by temperature and by the constant are the second route.
TEST(ToReferenceParts, AreTheDerivatives) {
  const double t = 63, reference = 40, step = 1e-4;
  const auto ln = [&](const Law& used, double celsius) {
    return std::log(factor_to_reference({.law = used, .part_celsius = celsius, .reference_celsius = reference}).value);
  };
  const auto expect = [&](const Law& used, double by_relative_constant) {
    const Quantity corrected = to_reference(
        resistance(1e6),
        {.law = used, .part_celsius = t, .standard_uncertainty_kelvin = 1.5, .reference_celsius = reference});
    EXPECT_NEAR(corrected.parts[Part::temperature],
                1.5 * std::abs(ln(used, t + step) - ln(used, t - step)) / (2 * step), 1e-8);
    EXPECT_NEAR(corrected.parts[Part::law], 0.07 * std::abs(by_relative_constant), 1e-7);
    EXPECT_EQ(corrected.parts[Part::reading], 0.05);
  };
  const auto halving = [](double k) {
    return law(Halving{.step_kelvin = k, .step_standard_uncertainty_kelvin = 0.07 * 10});
  };
  expect(halving(10), (ln(halving(10 + step), t) - ln(halving(10 - step), t)) / (2 * step) * 10);
  const auto arrhenius = [](double ev) {
    return law(Arrhenius{.activation_energy_electronvolt = ev,
                         .activation_energy_standard_uncertainty_electronvolt = 0.07 * 0.8});
  };
  expect(arrhenius(0.8), (ln(arrhenius(0.8 + step), t) - ln(arrhenius(0.8 - step), t)) / (2 * step) * 0.8);
  const auto conductor = [](double k) {
    return law(Conductor{.tau_kelvin = k, .tau_standard_uncertainty_kelvin = 0.07 * 234.5});
  };
  expect(conductor(234.5), (ln(conductor(234.5 + 0.01), t) - ln(conductor(234.5 - 0.01), t)) / 0.02 * 234.5);
  const Law table = law(FactorTable{.points = {{0, 0.25}, {40, 2}, {80, 30}}, .relative_standard_uncertainty = 0.07});
  expect(table, ln(table, t));
  const Law thermosetting = law(Thermosetting{.relative_standard_uncertainty = 0.07});
  expect(thermosetting, ln(thermosetting, t));
}

TEST(ToReferenceParts, DefaultsAreTwoKelvinAndATenthOfTheConstant) {
  const Law used = law(Halving{.step_kelvin = 10});
  const Quantity corrected = to_reference(resistance(1e6), {.law = used, .part_celsius = 20, .reference_celsius = 40});
  EXPECT_NEAR(corrected.parts[Part::temperature], 2 * std::log(2.0) / 10, 1e-15);
  EXPECT_NEAR(corrected.parts[Part::law], std::log(4.0) / 10, 1e-15);
  const Quantity other = to_reference(
      resistance(1e6), {.law = used,
                        .part_celsius = 20,
                        .reference_celsius = 40,
                        .defaults = {.standard_uncertainty_kelvin = 4, .relative_standard_uncertainty = 0.2}});
  EXPECT_DOUBLE_EQ(other.parts[Part::temperature], 2 * corrected.parts[Part::temperature]);
  EXPECT_DOUBLE_EQ(other.parts[Part::law], 2 * corrected.parts[Part::law]);
}

TEST(ToReference, OnTheLinearScaleThePartsKeepTheirUnit) {
  Quantity winding{.value = 0.2, .scale = Scale::linear, .status = Status::sound};
  winding.parts.set(Part::reading, 0.001);
  const Law used = copper();
  const Quantity corrected = to_reference(
      winding, {.law = used, .part_celsius = 75, .standard_uncertainty_kelvin = 2, .reference_celsius = 20});
  EXPECT_NEAR(corrected.value, 0.2 * 254.5 / 309.5, 1e-15);
  EXPECT_NEAR(corrected.parts[Part::reading], 0.001 * 254.5 / 309.5, 1e-17);
  EXPECT_NEAR(corrected.parts[Part::temperature], corrected.value * 2 / 309.5, 1e-15);
}

TEST(ToReference, ABoundIsCorrectedLikeAValueAndAnOverloadStays) {
  const Law used = law(Halving{.step_kelvin = 10});
  const Conditions conditions{.law = used, .part_celsius = 20, .reference_celsius = 40};
  Quantity bound = resistance(4e9);
  bound.censoring = Censoring::above;
  const Quantity corrected = to_reference(bound, conditions);
  EXPECT_EQ(corrected.value, 1e9);
  EXPECT_EQ(corrected.censoring, Censoring::above);
  const Quantity overload{.scale = Scale::log, .censoring = Censoring::overload, .status = Status::unknown_bound};
  const Quantity still = to_reference(overload, conditions);
  EXPECT_EQ(still.censoring, Censoring::overload);
  EXPECT_EQ(still.status, Status::unknown_bound);
}

TEST(ToReference, SaysWhenItExtrapolatesAndWhenThereIsNothing) {
  const Law used = law(Halving{.step_kelvin = 10, .fitted = {.low_celsius = 15, .high_celsius = 45}});
  const auto status = [&](double part, double reference) {
    return to_reference(resistance(1e6), {.law = used, .part_celsius = part, .reference_celsius = reference}).status;
  };
  EXPECT_EQ(status(15, 45), Status::sound);
  EXPECT_EQ(status(14.9, 40), Status::outside_fitted_range);
  EXPECT_EQ(status(20, 45.1), Status::outside_fitted_range);
  Quantity doubtful = resistance(1e6);
  doubtful.status = Status::at_reduced_voltage;
  EXPECT_EQ(to_reference(doubtful, {.law = used, .part_celsius = 10, .reference_celsius = 40}).status,
            Status::at_reduced_voltage);
  Quantity gone = resistance(nan);
  EXPECT_EQ(to_reference(gone, {.law = used, .part_celsius = 20, .reference_celsius = 40}).status,
            Status::missing_input);
  EXPECT_EQ(to_reference(resistance(1e6),
                         {.law = used, .part_celsius = 20, .standard_uncertainty_kelvin = -1, .reference_celsius = 40})
                .status,
            Status::out_of_domain);
}

}  // namespace
}  // namespace ohmward::temperature
