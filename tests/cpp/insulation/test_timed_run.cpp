#include <gtest/gtest.h>

#include <cmath>
#include <vector>

#include "check_values.hpp"
#include "ohmward/core/errors.hpp"
#include "ohmward/insulation/timed_run.hpp"

namespace ohmward::insulation {
namespace {

using testing::CheckValue;
using uncertainty::Part;
using uncertainty::Quantity;

/// I = conduction + absorption * t^-exponent, t in minutes, at 1000 V and microampere.
struct Model {
  double conduction, absorption, exponent;
  [[nodiscard]] double ohm(double second) const {
    return 1e9 / (conduction + absorption * std::pow(second / 60, -exponent));
  }
};

std::vector<Sample> every(double step, double until, const Model& model) {
  std::vector<Sample> samples;
  for (double t = step; t <= until; t += step) samples.push_back({.time_second = t, .resistance_ohm = model.ohm(t)});
  return samples;
}

class ModelRatios : public ::testing::TestWithParam<CheckValue> {};
INSTANTIATE_TEST_SUITE_P(CheckValues, ModelRatios,
                         ::testing::ValuesIn(testing::check_values("insulation_model_ratios")));

TEST_P(ModelRatios, OfARun) {
  const CheckValue& row = GetParam();
  const Model model{row.number("conduction"), row.number("absorption"), row.number("exponent")};
  const TimedRun run(every(5, 600, model), {.relative_standard_uncertainty = 0.01});
  row.expect(run.ratio({.late_second = row.number("late_second"), .early_second = row.number("early_second")}).value);
}

const Model wound{1, 4, 0.7};

TEST(TimedRun, InterpolatesInTheLogarithmsAndNeverExtrapolates) {
  const std::vector<Sample> power{{.time_second = 30, .resistance_ohm = 1e9},
                                  {.time_second = 120, .resistance_ohm = 4e9}};
  const TimedRun run(power, {.relative_standard_uncertainty = 0.02, .common_relative_standard_uncertainty = 0.03});
  const Quantity middle = run.at(60);
  EXPECT_NEAR(middle.value, 2e9, 1e-5);
  EXPECT_EQ(middle.status, Status::few_points);
  EXPECT_NEAR(middle.parts[Part::reading], 0.02 * std::sqrt(0.5), 1e-15);
  EXPECT_EQ(middle.parts[Part::gain], 0.03);
  EXPECT_EQ(run.at(30).value, 1e9);
  EXPECT_EQ(run.at(30).status, Status::sound);
  EXPECT_EQ(run.at(29.9).status, Status::outside_curve);
  EXPECT_EQ(run.at(120.1).status, Status::outside_curve);
  EXPECT_EQ(run.ratio({.late_second = 600, .early_second = 60}).status, Status::outside_curve);
  EXPECT_EQ(run.ratio({.late_second = 60, .early_second = 60}).status, Status::out_of_domain);
}

TEST(TimedRun, OverRangeAtTheEndMakesABound) {
  std::vector<Sample> samples = every(10, 600, wound);
  for (Sample& sample : samples)
    if (sample.time_second > 300)
      sample = {.time_second = sample.time_second, .resistance_ohm = 0.4e9, .censoring = Censoring::above};
  const TimedRun run(samples, {.relative_standard_uncertainty = 0.01});
  const Quantity index = run.ratio({.late_second = 600, .early_second = 60});
  EXPECT_EQ(index.censoring, Censoring::above);
  EXPECT_EQ(index.status, Status::bound_only);
  EXPECT_NEAR(index.value, 2.0, 1e-12);
  EXPECT_EQ(run.marks().back(), bit(Mark::over_range));
}

TEST(TimedRun, MarksWhatItLeavesOut) {
  std::vector<Sample> samples = every(10, 200, wound);
  samples[3].resistance_ohm = nan;
  samples[5].resistance_ohm = -1;
  samples[8].time_second = 30;
  samples[12].resistance_ohm *= 1000;
  samples[16].resistance_ohm = 0.2e6;
  const TimedRun run(samples, {.test_voltage_volt = 1000, .source_ampere = 1e-3});
  EXPECT_EQ(run.marks()[3], bit(Mark::missing));
  EXPECT_EQ(run.marks()[5], bit(Mark::impossible));
  EXPECT_EQ(run.marks()[8], bit(Mark::time_not_rising));
  EXPECT_EQ(run.marks()[12], bit(Mark::slip));
  EXPECT_EQ(run.marks()[16], bit(Mark::sagging) | bit(Mark::slip));
  EXPECT_EQ(run.marks()[0], 0);
  EXPECT_EQ(run.usable().size(), samples.size() - 5);
  EXPECT_EQ(run.status(), Status::sound);
}

TEST(TimedRun, ALastingJumpAndTwoRunsInOneAreContradictions) {
  std::vector<Sample> jump = every(10, 200, wound);
  for (std::size_t i = 10; i < jump.size(); ++i) jump[i].resistance_ohm *= 1000;
  const TimedRun jumped(jump, {});
  EXPECT_EQ(jumped.status(), Status::contradiction);
  EXPECT_EQ(jumped.marks()[10] & bit(Mark::jump), bit(Mark::jump));
  EXPECT_EQ(jumped.ratio({.late_second = 200, .early_second = 60}).status, Status::contradiction);

  std::vector<Sample> twice = every(10, 200, wound);
  for (const Sample& again : every(10, 200, wound)) twice.push_back(again);
  EXPECT_EQ(TimedRun(twice, {}).status(), Status::contradiction);
  std::vector<Sample> interleaved;
  for (const Sample& sample : every(10, 200, wound)) {
    interleaved.push_back(sample);
    interleaved.push_back(sample);
  }
  EXPECT_EQ(TimedRun(interleaved, {}).status(), Status::contradiction);
}

TEST(TimedRun, SaysWhenNothingIsThere) {
  EXPECT_EQ(TimedRun({}, {}).status(), Status::too_few_points);
  EXPECT_EQ(TimedRun({}, {}).at(60).status, Status::too_few_points);
  const std::vector<Sample> bad{{}, {.time_second = 0, .resistance_ohm = 1}, {.time_second = 5, .resistance_ohm = 0}};
  EXPECT_EQ(TimedRun(bad, {}).status(), Status::too_few_points);
  EXPECT_THROW(TimedRun({}, {.test_voltage_volt = -1}), InvalidParameter);
  EXPECT_THROW(TimedRun({}, {.relative_standard_uncertainty = infinity}), InvalidParameter);
}

TEST(TimedRun, FirstKeepsTheEarlyReadings) {
  const TimedRun run(every(10, 600, wound), {});
  EXPECT_EQ(run.first(120).usable().size(), 12U);
  EXPECT_EQ(run.first(120).at(60).value, run.at(60).value);
}

}  // namespace
}  // namespace ohmward::insulation
