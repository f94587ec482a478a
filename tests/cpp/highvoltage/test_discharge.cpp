#include <gtest/gtest.h>

#include <cmath>
#include <random>
#include <vector>

#include "check_values.hpp"
#include "ohmward/formula/highvoltage.hpp"
#include "ohmward/highvoltage/discharge.hpp"

namespace ohmward::highvoltage {
namespace {

std::vector<DecayPoint> record(double initial, double tau, std::initializer_list<double> times, double u = 1.0) {
  std::vector<DecayPoint> points;
  for (const double t : times) points.push_back({t, initial * std::exp(-t / tau), u});
  return points;
}

TEST(Decay, TwoReadingsGiveTheCrossingOfTheFormula) {
  const Decay decay = fit_decay(record(600, 45, {0, 30}));
  EXPECT_EQ(decay.status, Status::few_points);
  EXPECT_NEAR(decay.time_constant_second, 45, 1e-9);
  // Second route: t = RC·ln(U0/U) with 150 kΩ and 300 µF.
  const double formula_second =
      formula::discharge_time_second(
          {.resistance_ohm = 150e3, .capacitance_farad = 300e-6, .initial_volt = 600, .final_volt = 60})
          .value;
  EXPECT_NEAR(decay.threshold_second, formula_second, 1e-9);
  EXPECT_LT(decay.threshold_interval.low, decay.threshold_second);
  EXPECT_GT(decay.threshold_interval.high, decay.threshold_second);
}

TEST(Decay, TimeTo60VInTimeConstants) {
  const double initial[] = {400, 650, 800};
  const double constants[] = {1.90, 2.38, 2.59};
  for (int i = 0; i < 3; ++i)
    EXPECT_NEAR(fit_decay(record(initial[i], 1, {0, 0.5})).threshold_second, constants[i], 0.005);
}

TEST(Decay, AStuckBleederShows) {
  const std::vector<DecayPoint> points{{0, 395.2, 1.5}, {60, 394.9, 1.5}, {120, 395.6, 1.5}, {300, 394.8, 1.5}};
  const Decay decay = fit_decay(points);
  EXPECT_TRUE(decay.has(DecayRemark::stuck));
  EXPECT_TRUE(std::isinf(decay.threshold_interval.high));
  EXPECT_GT(decay.threshold_interval.low, 300);
}

TEST(Decay, SecondSlopeIsTold) {
  std::vector<DecayPoint> points;
  for (double t = 0; t <= 100; t += 10) points.push_back({t, 600 * std::exp(-t / 10) + 90 * std::exp(-t / 400), 0.5});
  const Decay slows = fit_decay(points);
  EXPECT_TRUE(slows.has(DecayRemark::slows_down));
  EXPECT_GT(slows.threshold_second, 60);
  points.clear();
  for (double t = 0; t <= 100; t += 10)
    points.push_back({t, t <= 50 ? 600 * std::exp(-t / 100) : 600 * std::exp(-0.5 - (t - 50) / 20), 0.5});
  EXPECT_TRUE(fit_decay(points).has(DecayRemark::speeds_up));
  EXPECT_FALSE(fit_decay(record(600, 45, {0, 10, 20, 30, 40, 50})).has(DecayRemark::slows_down));
}

TEST(Decay, BadInput) {
  EXPECT_EQ(fit_decay(record(600, 45, {0})).status, Status::too_few_points);
  EXPECT_EQ(fit_decay(record(600, 45, {30, 0})).status, Status::contradiction);
  EXPECT_EQ(fit_decay(record(600, 45, {10, 10})).status, Status::contradiction);
  EXPECT_EQ(fit_decay(record(600, 45, {0, 10}, 0)).status, Status::missing_input);
  EXPECT_EQ(fit_decay(record(600, 45, {0, nan})).status, Status::missing_input);
  EXPECT_EQ(fit_decay(record(1, 45, {0, 10}, 2)).status, Status::inside_noise);
  const std::vector<DecayPoint> rising{{0, 100, 1}, {10, 200, 1}};
  EXPECT_EQ(fit_decay(rising).status, Status::no_solution);
  EXPECT_TRUE(fit_decay(rising).has(DecayRemark::stuck));
}

TEST(Decay, IntervalHoldsTheTruth) {
  std::mt19937_64 random(9);
  std::normal_distribution<> normal;
  std::uniform_real_distribution<> uniform;
  int inside = 0;
  constexpr int cases = 20000;
  for (int i = 0; i < cases; ++i) {
    const double tau = std::exp(std::log(2) + uniform(random) * 5);
    const double initial = 200 + 600 * uniform(random);
    const double gain = 1 + 0.005 * normal(random);
    std::vector<DecayPoint> points;
    const std::size_t size = 2 + random() % 5;
    for (std::size_t k = 0; k < size; ++k) {
      const double t = tau * (0.1 + 1.0 * static_cast<double>(k) / static_cast<double>(size));
      points.push_back({t, gain * initial * std::exp(-t / tau) + 1.0 * normal(random), 1.0});
    }
    const Decay decay = fit_decay(points, {.gain_relative_standard_uncertainty = 0.005});
    const double truth = tau * std::log(initial / 60);
    inside += truth >= decay.threshold_interval.low && truth <= decay.threshold_interval.high;
  }
  EXPECT_NEAR(inside / static_cast<double>(cases), 0.9545, 0.01);
}

TEST(Decay, ATesterDrainsAYCapacitor) {
  const TouchedCapacitor touched{
      .volt = 500, .capacitance_farad = 1e-6, .resistance_ohm = 10e6, .meter_ohm = 0.3e6, .second = 2};
  EXPECT_NEAR(volt_after_touch(touched).value, 500 * std::exp(-2 / (1e-6 / (1 / 10e6 + 1 / 0.3e6))), 1e-12);
  EXPECT_LT(volt_after_touch(touched).value, 1);
  EXPECT_EQ(volt_after_touch({.volt = 500}).status, Status::missing_input);
}

class VoltAfterTouch : public ::testing::TestWithParam<testing::CheckValue> {};
TEST_P(VoltAfterTouch, AsComputed) {
  const auto& row = GetParam();
  row.expect(volt_after_touch({.volt = row.number("volt"),
                               .capacitance_farad = row.number("capacitance_farad"),
                               .resistance_ohm = row.number("resistance_ohm"),
                               .meter_ohm = row.number("meter_ohm"),
                               .second = row.number("second")})
                 .value);
}
INSTANTIATE_TEST_SUITE_P(Table, VoltAfterTouch, ::testing::ValuesIn(testing::check_values("volt_after_touch")),
                         [](const auto& case_) { return case_.param.id(); });

}  // namespace
}  // namespace ohmward::highvoltage
