#include <array>
#include <cmath>
#include <random>

#include "battery/log_quadratic.hpp"
#include "battery/normal_tail.hpp"
#include "gtest/gtest.h"
#include "ohmward/battery/battery.hpp"
#include "ohmward/core/errors.hpp"

namespace ohmward::battery {
namespace {

/// Simpson's rule in long double on 20 000 steps: the second route to every integral.
template <class F>
double simpson(F&& density, double width) {
  const int steps = 20000;
  const long double h = static_cast<long double>(width) / steps;
  long double sum = 0;
  for (int i = 0; i <= steps; ++i) sum += (i == 0 || i == steps ? 1 : i % 2 == 1 ? 4 : 2) * density(i * h);
  return static_cast<double>(sum * h / 3);
}

TEST(LogQuadratic, IntegralAndMomentsAgreeWithSimpson) {
  std::mt19937_64 random(7);
  std::uniform_real_distribution<double> unit(0, 1);
  for (int i = 0; i < 400; ++i) {
    const double width = 0.002 + unit(random), size = std::pow(10, -3 + 5 * unit(random));
    const double curvature = -std::pow(10, -6 + 9 * unit(random)) / width / width;
    const LogQuadratic q{-1.5, (unit(random) - 0.5) * 2 * size / width,
                         i % 7 == 0 ? 0.0 : std::max(curvature, -900 / width / width)};
    const double peak = q.log_density(q.mode(width));
    const LogQuadratic scaled{q.constant - peak, q.linear, q.quadratic};
    const auto density = [&](long double t) {
      return std::exp(static_cast<long double>(scaled.constant) + (scaled.linear + scaled.quadratic * t) * t);
    };
    const double mass = simpson(density, width);
    const double first = simpson([&](long double t) { return t * density(t); }, width);
    const double second = simpson([&](long double t) { return t * t * density(t); }, width);
    EXPECT_NEAR(scaled.integral(width), mass, 3e-10 * mass) << q.linear * width << ' ' << q.quadratic * width * width;
    const LogQuadratic::Moments moments = scaled.moments(width);
    EXPECT_NEAR(moments.first, first, 1e-9 * first);
    EXPECT_NEAR(moments.second, second, 1e-9 * second);
  }
}

TEST(LogQuadratic, FarTailKeepsItsRelativeDigits) {
  const LogQuadratic q{-60, -400, -900};  // the peak lies at t < 0, eight units away
  const double mass = simpson([&](long double t) { return std::exp(-60 + (-400 - 900 * t) * t); }, 0.3);
  EXPECT_NEAR(q.integral(0.3), mass, 1e-11 * mass);
}

TEST(NormalTail, AgreesWithTheComplementaryErrorFunction) {
  double worst_tail = 0, worst_density = 0;
  for (int i = 0; i <= 200'000; ++i) {
    const double z = i * 1e-4;
    const long double tail = std::erfc(static_cast<long double>(z) / std::sqrt(2.0L)) / 2;
    const long double density = std::exp(-static_cast<long double>(z) * z / 2) / std::sqrt(2 * std::acos(-1.0L));
    const NormalAt at = normal_at(i % 2 == 0 ? z : -z);
    EXPECT_EQ(at.tail, normal_tail(z));
    worst_tail = std::max(worst_tail, static_cast<double>(std::abs(at.tail / tail - 1)));
    worst_density = std::max(worst_density, static_cast<double>(std::abs(at.density / density - 1)));
  }
  EXPECT_LT(worst_tail, 4e-12);
  EXPECT_LT(worst_density, 1e-9);
  EXPECT_TRUE(std::isnan(normal_tail(nan)));
}

RestingReading reading(double volt, double u) {
  return {.voltage_volt = volt,
          .standard_uncertainty_volt = u,
          .celsius = 25,
          .celsius_standard_uncertainty_kelvin = 0,
          .rest_hour = 1e9};
}

TEST(ChargePosterior, HandArithmeticOnTheFloodedTable) {
  const std::array charge{0.0, 0.25, 0.5, 0.75, 1.0};
  const std::array volt{11.89, 12.06, 12.24, 12.45, 12.65};
  const Battery battery = with_curve(OpenCircuitCurve({.charge = charge, .cell_volt = volt}), "lfp", 1);
  BatteryType bare = battery.candidates().front().type;
  bare.rest.hysteresis_volt = 0;
  bare.rest.highest_volt = 20;
  const RestState state = Battery({{.type = bare, .cells = 1}}).at_rest(reading(12.45, 0.02));
  const ChargeInterval interval = state.charge.interval(0.95);
  EXPECT_NEAR(state.charge.modes().front().charge, 0.750, 1e-12);
  EXPECT_NEAR(state.charge.median(), 0.75075, 5e-6);  // the segment above is flatter: 0.5122 of the mass, z = 0.0299
  EXPECT_NEAR(state.charge.standard_uncertainty(), 0.0244, 5e-5);
  EXPECT_NEAR(interval.low, 0.704, 5e-4);
  EXPECT_NEAR(interval.high, 0.799, 5e-4);
}

TEST(ChargePosterior, QuantileInvertsCumulativeOnEveryType) {
  std::mt19937_64 random(3);
  std::uniform_real_distribution<double> unit(0, 1);
  std::vector<Battery> batteries;
  for (const std::string_view name : {"flooded", "enhanced_flooded", "agm", "gel"})
    batteries.push_back(lead_acid(name));
  for (const std::string_view name : {"nmc", "nca", "lfp"}) batteries.push_back(lithium(name, 4));
  batteries.push_back(unknown_12v());
  for (const Battery& battery : batteries)
    for (int i = 0; i < 200; ++i) {
      const Candidate& candidate = battery.candidates().front();
      const double volt = candidate.cells * candidate.type.curves.front()->volt(unit(random));
      const RestState state = battery.at_rest(reading(volt, std::pow(10, -3.3 + 2 * unit(random))));
      ASSERT_FALSE(state.charge.empty());
      for (const double level : {0.001, 0.025, 0.3, 0.5, 0.9, 0.975, 0.9999})
        EXPECT_NEAR(state.charge.cumulative(state.charge.quantile(level)), level,
                    1e-6 * std::min(level, 1 - level) + 1e-10)  // the integrals carry ten digits

            << candidate.type.name << ' ' << volt;
      EXPECT_NEAR(state.charge.cumulative(1), 1, 1e-12);
    }
}

TEST(ChargePosterior, PriorAndReadingOfOneWidthMeetInTheMiddle) {
  const std::array charge{0.0, 1.0}, volt{3.0, 4.0};
  const Battery battery = with_curve(OpenCircuitCurve({.charge = charge, .cell_volt = volt}), "nmc", 1);
  RestingReading seen = reading(3.6, 0.02);
  const RestState state = battery.at_rest(seen, ChargePrior::normal({.mean = 0.56, .standard_uncertainty = 0.02}));
  EXPECT_NEAR(state.charge.median(), 0.58, 1e-6);
  EXPECT_NEAR(state.charge.standard_uncertainty(), 0.02 / std::sqrt(2.0), 1e-6);
  EXPECT_EQ(battery.at_rest(seen, ChargePrior::normal({.mean = 0.2, .standard_uncertainty = 0.02})).status,
            Status::contradiction);
}

TEST(ChargePosterior, EarlierReadingNarrows) {
  const Battery battery = lithium("lfp", 4);
  const RestState earlier = battery.at_rest(reading(12.5, 0.01));
  const ChargePrior prior = Battery::prior_from(earlier, {.change = 0.4, .standard_uncertainty = 0.02});
  const RestState alone = battery.at_rest(reading(13.15, 0.01)), joined = battery.at_rest(reading(13.15, 0.01), prior);
  const ChargeInterval wide = alone.charge.interval(0.95), narrow = joined.charge.interval(0.95);
  EXPECT_LT(narrow.high - narrow.low, 0.7 * (wide.high - wide.low));
  EXPECT_NEAR(joined.charge.median(), earlier.charge.median() + 0.4, 0.05);
}

TEST(ChargePosterior, FallingCurveShowsAllItsCharges) {
  const std::array charge{0.0, 0.3, 0.6, 1.0}, volt{3.0, 3.6, 3.2, 4.0};
  const Battery battery = with_curve(OpenCircuitCurve({.charge = charge, .cell_volt = volt}), "nmc", 1);
  const auto modes = battery.at_rest(reading(3.4, 0.002)).charge.modes();
  ASSERT_EQ(modes.size(), 3U);
  EXPECT_NEAR(modes[0].charge, 0.2, 1e-6);
  EXPECT_NEAR(modes[1].charge, 0.45, 1e-6);
  EXPECT_NEAR(modes[2].charge, 0.7, 1e-6);
  // A stretch counts by its width: 1/|slope| = 0.5, 0.75, 0.5.
  EXPECT_NEAR(modes[0].probability, 2.0 / 7, 1e-4);
  EXPECT_NEAR(modes[1].probability, 3.0 / 7, 1e-4);
}

TEST(ChargePrior, SenselessPartsThrow) {
  EXPECT_THROW((void)ChargePrior::normal({.mean = 1.2, .standard_uncertainty = 0.1}), InvalidParameter);
  EXPECT_THROW((void)ChargePrior::normal({.mean = 0.2, .standard_uncertainty = 0}), InvalidParameter);
  const std::array charge{0.0, 1.0}, density{1.0, 0.0};
  EXPECT_THROW((void)ChargePrior::density(charge, density), InvalidParameter);
}

}  // namespace
}  // namespace ohmward::battery
