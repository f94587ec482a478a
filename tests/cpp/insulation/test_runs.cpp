#include <gtest/gtest.h>

#include <algorithm>
#include <cmath>
#include <vector>

#include "ohmward/insulation/absorption_fit.hpp"
#include "ohmward/insulation/discharge.hpp"
#include "ohmward/insulation/patterns.hpp"
#include "ohmward/insulation/settling.hpp"
#include "ohmward/insulation/steps.hpp"

namespace ohmward::insulation {
namespace {

using uncertainty::Part;
using uncertainty::Quantity;

std::vector<Sample> samples(double (*ohm)(double)) {
  std::vector<Sample> result;
  for (double t = 10; t <= 600; t += 10) result.push_back({.time_second = t, .resistance_ohm = ohm(t)});
  return result;
}

Quantity known(double value, Censoring censoring = Censoring::exact) {
  Quantity q{.value = value, .scale = Scale::log, .censoring = censoring, .status = Status::sound};
  q.parts.set(Part::reading, 0.02);
  return q;
}

bool has(const std::vector<PatternFound>& found, Pattern pattern) {
  return std::any_of(found.begin(), found.end(), [pattern](const PatternFound& f) { return f.pattern == pattern; });
}

TEST(AbsorptionFit, RecoversAnExactModel) {
  const TimedRun run(samples([](double t) { return 1e9 / (2 + 3 * std::pow(t / 60, -0.8) + 20 * std::exp(-t / 15)); }),
                     {});
  const AbsorptionFits fits = fit_absorption(run);
  EXPECT_EQ(fits.chosen, AbsorptionModel::absorption_and_charging);
  const double expected[fit_parameters] = {2e-9, 3e-9, 0.8, 20e-9, 15};
  for (int i = 0; i < fit_parameters; ++i) EXPECT_NEAR(fits.best().value[i] / expected[i], 1, 1e-4) << i;
  EXPECT_NEAR(fits.best().conductance(60), 1 / run.at(60).value, 1e-14);
}

TEST(AbsorptionFit, ABatchGoesOnPastBadRuns) {
  std::vector<Sample> bad = samples([](double) { return 1e9; });
  for (Sample& s : bad) s.resistance_ohm = nan;
  const std::vector<TimedRun> runs{TimedRun(bad, {}),
                                   TimedRun(samples([](double t) { return 1e9 * std::pow(t, 0.5); }), {})};
  const std::vector<AbsorptionFits> fits = fit_absorption(runs, 2);
  EXPECT_EQ(fits[0].status, Status::too_few_points);
  EXPECT_EQ(fits[1].status, Status::sound);
}

TEST(Settling, KnowsTheSourceAndTheCapacitance) {
  const std::vector<Sample> flat = samples([](double) { return 1e9; });
  const TimedRun run(flat, {.test_voltage_volt = 1000, .source_ampere = 1e-3, .relative_standard_uncertainty = 0.002});
  const SettlingState charging = settling(run, {.capacitance = {.high_farad = 1e-3}});
  EXPECT_EQ(charging.state, Settling::charging);
  EXPECT_EQ(charging.may_stop_second, 1000);
  EXPECT_EQ(settling(run, {.capacitance = {.high_farad = 10e-9}}).state, Settling::settled);
  std::vector<Sample> over = flat;
  over.back().censoring = Censoring::above;
  const SettlingState end = settling(TimedRun(over, {}));
  EXPECT_EQ(end.state, Settling::nothing_more_to_learn);
  EXPECT_EQ(end.status, Status::bound_only);
  EXPECT_EQ(settling(TimedRun({}, {})).status, Status::too_few_points);
}

TEST(Discharge, DielectricDischargeOfTheWorkedFigure) {
  const std::vector<DischargeSample> current{{30, 2e-7}, {60, 1e-7}, {90, 7e-8}};
  const DischargeResult d =
      discharge(current, {.test_voltage_volt = 500, .charge_second = 1800, .capacitance_farad = 0.1e-6});
  EXPECT_NEAR(d.dielectric_discharge, 2.0, 1e-12);
  EXPECT_EQ(d.band.word, "raised");
  EXPECT_EQ(d.status, Status::sound);
  EXPECT_EQ(discharge({{{10, 1e-7}, {20, nan}}}, {.test_voltage_volt = 500}).status, Status::missing_input);
  EXPECT_EQ(discharge({{{20, 1e-7}, {10, 1e-7}}}, {.test_voltage_volt = 500}).status, Status::out_of_domain);
  EXPECT_EQ(discharge({{{10, 1e-7}, {20, 9e-8}}},
                      {.test_voltage_volt = 500, .charge_second = 1800, .capacitance_farad = 1e-7})
                .status,
            Status::outside_curve);
}

TEST(Steps, AFallByAQuarterIsToldOnlyBeyondTheUncertainty) {
  const std::vector<VoltageStep> clear{{250, 900e6, 0.03}, {500, 700e6, 0.03}, {1000, 500e6, 0.03}};
  EXPECT_TRUE(steps(clear).falls);
  EXPECT_TRUE(steps(clear).bends);
  const std::vector<VoltageStep> vague{{250, 900e6, 0.15}, {500, 700e6, 0.15}, {1000, 600e6, 0.15}};
  EXPECT_FALSE(steps(vague).falls);
  const std::vector<VoltageStep> offset{
      {250, 250 / 260e-9, 0.001}, {500, 500 / 510e-9, 0.001}, {1000, 1000 / 1010e-9, 0.001}};
  const StepResult line = steps(offset);
  EXPECT_NEAR(line.offset_ampere, 10e-9, 1e-15);
  EXPECT_NEAR(line.conductance_siemens, 1e-9, 1e-18);
  EXPECT_FALSE(line.bends);
  EXPECT_EQ(steps(std::vector<VoltageStep>{{500, 1e9, 0.03}, {500, 1e9, 0.03}}).status, Status::too_few_points);
}

TEST(Patterns, AnIndexNearOneCountsOnlyWhereThePartCouldHaveShownMore) {
  PatternEvidence e{.index = known(1.02)};
  EXPECT_TRUE(consistent_with(e).empty());
  e.attainable = {.value = 1.03, .status = Status::sound};
  EXPECT_FALSE(has(consistent_with(e), Pattern::moisture));
  e.attainable = {.value = infinity, .status = Status::sound};
  EXPECT_TRUE(has(consistent_with(e), Pattern::moisture));
}

TEST(Patterns, EachNeedsItsEvidence) {
  EXPECT_TRUE(consistent_with({}).empty());
  EXPECT_TRUE(has(consistent_with({.guarded_over_plain = known(3)}), Pattern::surface));
  EXPECT_TRUE(has(consistent_with({.dried_over_before = known(5)}), Pattern::moisture));
  EXPECT_TRUE(has(consistent_with({.resistance = known(1e6)}), Pattern::monitor_left_on));
  EXPECT_FALSE(has(consistent_with({.resistance = known(1e6), .alone = true}), Pattern::monitor_left_on));
  EXPECT_TRUE(
      has(consistent_with({.resistance = known(4e9, Censoring::above), .contact_shown = false}), Pattern::contact));
  EXPECT_FALSE(has(consistent_with({.resistance = known(4e9, Censoring::above)}), Pattern::contact));
  EXPECT_TRUE(has(consistent_with({.index = known(0.8)}), Pattern::leftover_charge));
  EXPECT_TRUE(has(consistent_with({.index = known(1.4), .attainable = {.value = 1.02, .status = Status::sound}}),
                  Pattern::cooling));
}

}  // namespace
}  // namespace ohmward::insulation
