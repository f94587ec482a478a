#include <gtest/gtest.h>

#include <cmath>

#include "check_values.hpp"
#include "ohmward/core/errors.hpp"
#include "ohmward/instruments/sheet.hpp"

namespace ohmward::instruments {
namespace {

using testing::CheckValue;
using uncertainty::Part;

QuantityKind kind_named(const std::string& name) {
  for (const QuantityKindFacts& entry : quantity_kinds)
    if (entry.name == name) return entry
  .kind;
  throw std::out_of_range(name);
}

class Sheet : public ::testing::TestWithParam<CheckValue> {};
INSTANTIATE_TEST_SUITE_P(CheckValues, Sheet, ::testing::ValuesIn(testing::check_values("sheet")));

TEST_P(Sheet, StandardUncertainty) {
  const CheckValue& row = GetParam();
  const QuantityKind kind = kind_named(row.text("quantity"));
  Instrument meter{.id = "m"};
  meter.statement = {static_cast<Statement::Kind>(static_cast<int>(row.number("statement"))),
                     row.number("statement_value")};
  meter.ranges = {{.quantity = kind,
                   .high = row.number("range_high"),
                   .display_step = row.number("display_step"),
                   .reading_percent = row.number("reading_percent"),
                   .counts = row.number("counts"),
                   .range_percent = row.number("range_percent")}};
  const Measured measured = quantity(meter, {.quantity = kind, .value = row.number("value")});
  row.expect(measured.quantity.standard_uncertainty());
  EXPECT_TRUE(measured.findings.empty());
}

Instrument insulation_meter() {
  Instrument meter{.id = "meter-02", .kind = "insulation tester", .source_ampere = 1e-3};
  meter.ranges = {
      {.test_voltage_volt = 500,
       .low = 0.1e6,
       .high = 1e9,
       .display_step = 1e5,
       .reading_percent = 2,
       .counts = 2,
       .gain_share = 0.5},
      {.test_voltage_volt = 500, .low = 1e9, .high = 4e9, .display_step = 1e6, .reading_percent = 5, .counts = 3},
      {.test_voltage_volt = 1000, .low = 0.1e6, .high = 20e9, .display_step = 1e7, .reading_percent = 20, .counts = 3}};
  return meter;
}

TEST(Sheet, GainAndRestJoinToTheWholeBound) {
  const Measured measured = quantity(insulation_meter(), {.value = 100e6, .test_voltage_volt = 500});
  const double whole = (0.02 + 2 * 1e5 / 100e6) / std::sqrt(3.0);
  EXPECT_NEAR(measured.quantity.standard_uncertainty(), whole, 1e-15);
  EXPECT_NEAR(measured.quantity.parts[Part::gain], 0.5 * 0.02 / std::sqrt(3.0), 1e-15);
}

TEST(Sheet, CountsDoNotBlowUpBelowTheLimit) {
  const Reading low{.value = 1e5, .test_voltage_volt = 500, .decision_value = 1e6};
  EXPECT_NEAR(quantity(insulation_meter(), low).quantity.standard_uncertainty(), (0.02 + 0.2) / std::sqrt(3.0), 1e-15);
}

TEST(Sheet, OverRangeBecomesABoundOnlyWithMeterAndTestVoltage) {
  Reading over{.censoring = Censoring::overload, .test_voltage_volt = 500};
  const Measured bound = quantity(insulation_meter(), over);
  EXPECT_EQ(bound.quantity.censoring, Censoring::above);
  EXPECT_EQ(bound.quantity.value, 4e9);
  EXPECT_EQ(bound.quantity.status, Status::bound_only);
  over.test_voltage_volt = 1000;
  EXPECT_EQ(quantity(insulation_meter(), over).quantity.value, 20e9);
  over.test_voltage_volt = nan;
  EXPECT_TRUE(quantity(insulation_meter(), over).findings.has(Finding::ceiling_unknown));
  EXPECT_EQ(quantity(insulation_meter(), over).quantity.status, Status::unknown_bound);
  EXPECT_EQ(quantity(over).quantity.status, Status::unknown_bound);
}

TEST(Sheet, SourceCurrentLimitsTheTestVoltage) {
  EXPECT_TRUE(quantity(insulation_meter(), {.value = 0.49e6, .test_voltage_volt = 500})
                  .findings.has(Finding::at_reduced_voltage));
  EXPECT_FALSE(quantity(insulation_meter(), {.value = 0.51e6, .test_voltage_volt = 500})
                   .findings.has(Finding::at_reduced_voltage));
}

TEST(Sheet, ZeroOnTheLogScaleIsBelowOneStep) {
  const Measured zero = quantity(insulation_meter(), {.value = 0, .test_voltage_volt = 500});
  EXPECT_EQ(zero.quantity.censoring, Censoring::below);
  EXPECT_EQ(zero.quantity.value, 1e5);
  EXPECT_EQ(quantity(insulation_meter(), {.value = -1e6, .test_voltage_volt = 500}).quantity.status,
            Status::out_of_domain);
}

TEST(Sheet, ATwoPoleTesterThatShowsZeroGivesABound) {
  Instrument tester{.id = "meter-07", .reads_zero_below = 6};
  tester.ranges = {
      {.quantity = QuantityKind::dc_voltage, .high = 1000, .display_step = 1, .reading_percent = 3, .counts = 5}};
  const Measured measured = quantity(tester, {.quantity = QuantityKind::dc_voltage, .value = 0});
  EXPECT_EQ(measured.quantity.censoring, Censoring::below);
  EXPECT_EQ(measured.quantity.value, 6);
}

TEST(Sheet, AmbientOutsideTheReferenceRangeWidens) {
  Instrument meter{.id = "m", .temperature_coefficient = 0.1};
  meter.ranges = {
      {.quantity = QuantityKind::dc_voltage, .high = 60, .display_step = 0.01, .reading_percent = 0.5, .counts = 2}};
  const Reading warm{.quantity = QuantityKind::dc_voltage, .value = 12.6, .ambient_celsius = 20};
  Reading cold = warm;
  cold.ambient_celsius = 8;
  const double u = quantity(meter, warm).quantity.standard_uncertainty();
  EXPECT_NEAR(quantity(meter, cold).quantity.standard_uncertainty(), 2 * u, 1e-15);
  EXPECT_TRUE(quantity(meter, cold).findings.has(Finding::ambient_outside_reference));
}

TEST(Sheet, WithoutASheetTheClassBoundHolds) {
  const Measured insulation = quantity(Reading{.value = 5e6});
  EXPECT_NEAR(insulation.quantity.standard_uncertainty(), 0.3 / std::sqrt(3.0), 1e-15);
  EXPECT_TRUE(insulation.findings.has(Finding::instrument_missing));
  const Measured bonding =
      quantity(Reading{.quantity = QuantityKind::bonding_resistance, .value = 0, .decision_value = 0.1});
  EXPECT_NEAR(bonding.quantity.standard_uncertainty(), 0.03 / std::sqrt(3.0), 1e-15);
  EXPECT_TRUE(std::isnan(
      quantity(Reading{.quantity = QuantityKind::resting_voltage, .value = 12.6}).quantity.standard_uncertainty()));
}

TEST(Sheet, CertificateCorrectsAndAddsItsUncertainty) {
  Instrument meter = insulation_meter();
  meter.correction = 0.025;
  meter.certificate = {{.value = 1e6, .correction = 0.01, .expanded_uncertainty = 0.02, .coverage_factor = 2},
                       {.value = 1e8, .correction = 0.03, .expanded_uncertainty = 0.04, .coverage_factor = 2}};
  const Measured measured = quantity(meter, {.value = 1e7, .test_voltage_volt = 500});
  EXPECT_NEAR(measured.quantity.value, 1e7 * 1.025 * 1.02, 1e-6);
  EXPECT_NEAR(measured.quantity.parts[Part::certificate], 0.015, 1e-15);
}

TEST(Instruments, TheEntryOfTheDayIsTaken) {
  Instrument old{.id = "m", .valid = {.from_day = 0, .until_day = 100}};
  Instrument recalibrated{.id = "m", .valid = {.from_day = 101, .until_day = 200}};
  const Instruments meters({old, recalibrated});
  EXPECT_EQ(meters.find("m", 50), 0);
  EXPECT_EQ(meters.find("m", 150), 1);
  EXPECT_EQ(meters.find("m", 240), 1);
  EXPECT_EQ(meters.find("other", 50), Instruments::none);
  EXPECT_THROW(Instruments({old, old}), InvalidParameter);
}

TEST(Instruments, SenselessSheetsAreRefusedByName) {
  Instrument meter = insulation_meter();
  meter.ranges[1].gain_share = 1.5;
  try {
    validate(meter);
    FAIL();
  } catch (const InvalidParameter& error) {
    EXPECT_STREQ(error.what(), "instrument meter-02.range[1].gain_share is 1.5, expected 0 … 1");
  }
}

}  // namespace
}  // namespace ohmward::instruments
