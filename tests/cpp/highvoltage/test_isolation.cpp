#include <gtest/gtest.h>

#include "check_values.hpp"
#include "isolation_bound_law.hpp"

namespace ohmward::highvoltage {
namespace {

using uncertainty::Part;

TEST(IsolationBound, HoldsInEveryBin) {
  for (const bool normal : {false, true}) {
    testing::IsolationBoundLaw law({.normal = normal}, 7);
    auto table = law.run(12000, 60, 20000);
    for (testing::Bin& bin : table.by_circuit) {
      EXPECT_GE(bin.coverage(), 0.95) << "below " << bin.below << (normal ? " normal" : " rectangular");
      EXPECT_LE(bin.refusals(), 0.02) << "below " << bin.below;
      EXPECT_GE(bin.median_of_exact(), 0.97) << "below " << bin.below;
    }
    for (testing::Bin& bin : table.by_statement) EXPECT_GE(bin.coverage(), 0.95) << "stated below " << bin.below;
  }
}

VoltmeterReadings readings(double pack, double negative, double positive, double loaded, double resistor) {
  constexpr double u = 0.05;
  return {.pack = {pack, u},
          .negative = {negative, u},
          .positive = {positive, u},
          .loaded = {loaded, u},
          .resistor_ohm = resistor,
          .resistor_relative_standard_uncertainty = 0.005};
}

class IsolationByVoltmeter : public ::testing::TestWithParam<testing::CheckValue> {};

TEST_P(IsolationByVoltmeter, AsComputed) {
  const auto& row = GetParam();
  VoltmeterReadings r = readings(row.number("pack_volt"), row.number("negative_volt"), row.number("positive_volt"),
                                 row.number("loaded_volt"), row.number("resistor_ohm"));
  r.meter_ohm = row.number("meter_ohm");
  r.meters = row.text("meters") == "fixed" ? Meters::fixed : Meters::moved;
  const VoltmeterIsolation result = isolation_by_voltmeter(r);
  EXPECT_EQ(static_cast<int>(result.weak.status), static_cast<int>(row.number("status"))) << row.id();
  row.expect(result.weak.value);
  if (result.weak.status == Status::sound) {
    EXPECT_EQ(text(result.weak_pole), row.text("weak_pole")) << row.id();
    row.expect(result.strong_ohm, "strong_ohm");
    row.expect(result.by_pole_voltages_ohm, "by_pole_voltages_ohm");
    EXPECT_LT(result.lower_bound_ohm, result.weak.value);
  }
}
INSTANTIATE_TEST_SUITE_P(Table, IsolationByVoltmeter,
                         ::testing::ValuesIn(testing::check_values("isolation_by_voltmeter")),
                         [](const auto& case_) { return case_.param.id(); });

TEST(Isolation, PolesMayBeSwappedAndSignsDoNotMatter) {
  const VoltmeterIsolation a = isolation_by_voltmeter(readings(400, 266.6667, 133.3333, 61.53846, 200e3));
  const VoltmeterIsolation b = isolation_by_voltmeter(readings(-400, 133.3333, -266.6667, -61.53846, 200e3));
  EXPECT_EQ(a.weak.value, b.weak.value);
  EXPECT_EQ(a.weak_pole, Pole::plus);
  EXPECT_EQ(b.weak_pole, Pole::minus);
}

TEST(Isolation, AResistorAtTheOtherPoleIsAContradiction) {
  VoltmeterReadings r = readings(400, 266.6667, 133.3333, 61.53846, 200e3);
  r.loaded_pole = Pole::minus;
  EXPECT_EQ(isolation_by_voltmeter(r).weak.status, Status::sound);
  r.loaded_pole = Pole::plus;
  const VoltmeterIsolation swapped = isolation_by_voltmeter(r);
  EXPECT_EQ(swapped.weak.status, Status::contradiction);
  EXPECT_TRUE(swapped.has(IsolationRemark::wrong_pole_loaded));
  EXPECT_TRUE(std::isnan(swapped.weak.value) && std::isnan(swapped.lower_bound_ohm));
  r = readings(400, 200.01, 199.99, 80, 200e3);  // sides alike: either pole will do
  for (const Pole pole : {Pole::plus, Pole::minus}) {
    r.loaded_pole = pole;
    EXPECT_EQ(isolation_by_voltmeter(r).weak.status, Status::sound);
  }
}

TEST(Isolation, PolesThatDoNotAddUpAreAContradiction) {
  const VoltmeterIsolation far = isolation_by_voltmeter(readings(400, 200, 133, 61.5, 200e3));
  EXPECT_EQ(far.weak.status, Status::contradiction);
  EXPECT_TRUE(far.has(IsolationRemark::poles_do_not_add_up));
  EXPECT_TRUE(std::isnan(far.weak.value) && std::isnan(far.lower_bound_ohm));
}

TEST(Isolation, InsideTheNoiseOnlyABoundOrNothing) {
  VoltmeterReadings small_loaded = readings(400, 20, 20, 0.08, 200e3);
  small_loaded.meter_ohm = 10e6;
  const VoltmeterIsolation bound = isolation_by_voltmeter(small_loaded);
  EXPECT_EQ(bound.weak.status, Status::bound_only);
  EXPECT_EQ(bound.weak.censoring, Censoring::above);
  EXPECT_EQ(bound.weak.value, bound.lower_bound_ohm);
  small_loaded.loaded.volt = 0;
  EXPECT_EQ(isolation_by_voltmeter(small_loaded).weak.status, Status::bound_only);
  EXPECT_GT(isolation_by_voltmeter(small_loaded).weak.value, bound.weak.value);

  const VoltmeterIsolation no_drop = isolation_by_voltmeter(readings(400, 200, 200, 199.95, 200e3));
  EXPECT_EQ(no_drop.weak.status, Status::inside_noise);
  EXPECT_TRUE(no_drop.has(IsolationRemark::drop_inside_noise));
  EXPECT_TRUE(std::isnan(no_drop.lower_bound_ohm));
  EXPECT_EQ(isolation_by_voltmeter(readings(400, 200, 200, 230, 200e3)).weak.status, Status::contradiction);
}

TEST(Isolation, MissingAndSenselessInputGivesNoValue) {
  EXPECT_EQ(isolation_by_voltmeter(readings(400, 266, 134, 61, nan)).weak.status, Status::missing_input);
  EXPECT_EQ(isolation_by_voltmeter(readings(nan, 266, 134, 61, 200e3)).weak.status, Status::missing_input);
  EXPECT_EQ(isolation_by_voltmeter(readings(infinity, 266, 134, 61, 200e3)).weak.status, Status::unknown_bound);
  EXPECT_EQ(isolation_by_voltmeter(readings(400, 266, 134, 61, 0)).weak.status, Status::out_of_domain);
  VoltmeterReadings fixed = readings(400, 266, 134, 61, 200e3);
  fixed.meters = Meters::fixed;
  EXPECT_EQ(isolation_by_voltmeter(fixed).weak.status, Status::missing_input);
  VoltmeterReadings unknown_u = readings(400, 266.6667, 133.3333, 61.53846, 200e3);
  unknown_u.loaded.standard_uncertainty_volt = nan;
  EXPECT_TRUE(std::isnan(isolation_by_voltmeter(unknown_u).weak.standard_uncertainty()));
  EXPECT_TRUE(std::isnan(isolation_by_voltmeter(unknown_u).lower_bound_ohm));
}

TEST(Isolation, ResistorSizeIsRemarkedAgainstTheRequirement) {
  VoltmeterReadings r = readings(400, 266.6667, 133.3333, 61.53846, 200e3);
  r.required_ohm_per_volt = 500;
  EXPECT_FALSE(isolation_by_voltmeter(r).has(IsolationRemark::resistor_size));
  r.required_ohm_per_volt = 100;
  EXPECT_TRUE(isolation_by_voltmeter(r).has(IsolationRemark::resistor_size));
}

/// Second route: the relative uncertainty found by moving the resistor is least at the stated one.
TEST(Isolation, BestResistorGivesTheLeastUncertainty) {
  const double weak = 3e6;
  const double strong = 8e6;
  const auto relative = [&](double resistor) {
    const double g = 1 / 10e6;
    const double free = 400 * (1 / weak) / (1 / weak + 1 / strong + g);
    const double other = 400 * (1 / strong) / (1 / weak + 1 / strong + g);
    const double loaded = 400 * (1 / weak) / (1 / weak + 1 / strong + g + 1 / resistor);
    VoltmeterReadings r = readings(400, free, other, loaded, resistor);
    r.meter_ohm = 10e6;
    return isolation_by_voltmeter(r).weak.parts[Part::reading];
  };
  const double best = best_resistor_ohm({.weak_ohm = weak, .strong_ohm = strong, .meter_ohm = 10e6}).value;
  EXPECT_LT(relative(best), relative(best * 1.05));
  EXPECT_LT(relative(best), relative(best / 1.05));
}

uncertainty::Quantity insulation(double ohm, double u = 0.02, Censoring censoring = Censoring::exact) {
  uncertainty::Quantity q{.value = ohm, .scale = Scale::log, .censoring = censoring, .status = Status::sound};
  q.parts.set(Part::reading, u);
  return q;
}

TEST(Isolation, ByTesterTellsTheWeakPoleOrThatTheyAreJoined) {
  const TesterIsolation apart =
      isolation_by_tester({.plus = insulation(1.2e6), .minus = insulation(3e6), .display_step_ohm = 1e4});
  EXPECT_EQ(apart.weak_pole, Pole::plus);
  EXPECT_EQ(apart.weak.value, 1.2e6);
  EXPECT_EQ(apart.ohm_per_volt.status, Status::not_applicable);  // a part has no ohm per volt
  const TesterIsolation joined = isolation_by_tester({.plus = insulation(1.2e6),
                                                      .minus = insulation(1.2e6),
                                                      .working_volt = 650,
                                                      .whole = true,
                                                      .test_voltage_volt = 500,
                                                      .required_test_voltage_volt = 650});
  EXPECT_TRUE(joined.poles_joined && joined.findings.has(Finding::poles_joined));
  EXPECT_EQ(joined.weak_pole, Pole::unknown);
  EXPECT_TRUE(joined.findings.has(Finding::test_voltage_too_low));
  EXPECT_NEAR(joined.ohm_per_volt.value, 1846.15, 0.01);
  const TesterIsolation over = isolation_by_tester(
      {.plus = insulation(4e9, 0.02, Censoring::above), .minus = insulation(4e9, 0.02, Censoring::above)});
  EXPECT_FALSE(over.poles_joined);  // the same ceiling is no proof of a joint
  EXPECT_EQ(isolation_by_tester({.plus = insulation(1e6)}).weak.status, Status::missing_input);
  EXPECT_EQ(isolation_by_tester({.plus = insulation(1e6), .minus = insulation(1e6), .whole = true}).ohm_per_volt.status,
            Status::missing_input);
}

}  // namespace
}  // namespace ohmward::highvoltage
