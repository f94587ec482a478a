#include <gtest/gtest.h>

#include <array>
#include <cmath>
#include <cstring>
#include <vector>

#include "ohmward/highvoltage/bonding.hpp"
#include "ohmward/highvoltage/discharge.hpp"
#include "ohmward/instruments/sheet.hpp"
#include "ohmward/logging/accuracy_sheet.hpp"
#include "ohmward/statistics/type_a.hpp"
#include "streams.hpp"

namespace ohmward::logging {
namespace {

using testing::JointStream;
using testing::Random;
using testing::VoltageStream;

bool same(double one, double other) {
  return std::memcmp(&one, &other, sizeof one) == 0 || (one != one && other != other);
}

/// A log goes on from its record as if nothing had been; a bad byte is refused; a reset one is new.
template <class Log, class Config, class Push>
void keeps_the_laws(const Config& config, Push push) {
  Log whole(config), after;
  for (int i = 0; i < 40; ++i) push(whole, i);
  std::array<std::uint8_t, greatest_record> record{};
  const std::size_t size = whole.save(record.data(), record.size());
  ASSERT_EQ(size, Log::record_bytes());
  ASSERT_EQ(after.resume(record.data(), size, Resume::continued), Status::sound);
  for (int i = 40; i < 80; ++i) {
    push(whole, i);
    push(after, i);
  }
  EXPECT_EQ(testing::record_hash(whole), testing::record_hash(after));
  Log cut;
  EXPECT_EQ(cut.resume(record.data(), size, Resume::cut), Status::run_cut);
  EXPECT_TRUE(cut.cut());
  record[size / 2] ^= 1;
  EXPECT_EQ(after.resume(record.data(), size, Resume::continued), Status::record_damaged);
  EXPECT_FALSE(after.configured());
  EXPECT_EQ(whole.save(record.data(), size - 1), 0U);
  whole.reset();
  EXPECT_EQ(testing::record_hash(whole), testing::record_hash(Log(config)));
}

TEST(RestingVoltageLog, TellsMovingFromRest) {
  RestingVoltageLog moving{{.standard_uncertainty_volt = 0.002}}, rested{{.standard_uncertainty_volt = 0.002}};
  EXPECT_EQ(moving.state().status, Status::too_few_points);
  Random random(1);
  for (int t = 1; t <= 3600; t += 10) {
    const double noise = 0.002 * random.normal();
    EXPECT_EQ(moving.push({.time_second = 1.0 * t, .voltage_volt = 12.5 + 0.1 * std::log(t) + noise}), Status::sound);
    EXPECT_EQ(rested.push({.time_second = 1.0 * t, .voltage_volt = 12.7 - 0.3 * std::exp(-t / 100.0) + noise}),
              Status::sound);
  }
  const formula::RestingState m = moving.state(), r = rested.state();
  EXPECT_EQ(m.state, formula::Resting::moving);
  EXPECT_EQ(m.status, Status::drift_present);
  EXPECT_NEAR(m.change_volt, 0.1 * std::log(2), 0.003);
  EXPECT_NEAR(m.slope_volt_per_hour, 0.1 / (m.rest_second / 3600), 0.01);
  EXPECT_EQ(r.state, formula::Resting::at_rest);
  EXPECT_EQ(r.status, Status::sound);
  EXPECT_NEAR(r.voltage_volt, 12.7, 5 * r.standard_uncertainty_volt);
}

TEST(RestingVoltageLog, KeepsTheLaws) {
  VoltageStream stream(2, {.one_in = 6}, false);
  std::vector<VoltageSample> samples;
  for (int i = 0; i < 80; ++i) samples.push_back(stream.next());
  keeps_the_laws<RestingVoltageLog>(
      RestingVoltageConfig{.standard_uncertainty_volt = 0.002},
      [&](RestingVoltageLog& log, int i) { static_cast<void>(log.push(samples[static_cast<std::size_t>(i)])); });
  RestingVoltageLog bad;
  EXPECT_STREQ(bad.init({.cells = 0, .standard_uncertainty_volt = 1}).field, "cells");
  EXPECT_STREQ(bad.init({}).field, "standard_uncertainty_volt");
  EXPECT_EQ(bad.push({.time_second = 1, .voltage_volt = 12}), Status::not_configured);
  EXPECT_EQ(bad.state().status, Status::not_configured);
  RestingVoltageLog log{{.standard_uncertainty_volt = 0.002}};
  EXPECT_EQ(log.push({.time_second = 1, .voltage_volt = 12}), Status::sound);
  EXPECT_EQ(log.push({.time_second = 1, .voltage_volt = 12}), Status::contradiction);
  EXPECT_EQ(log.push({.time_second = 2, .voltage_volt = -12}), Status::out_of_domain);
  EXPECT_EQ(log.push({.time_second = 2, .voltage_volt = 1e200}), Status::out_of_domain);
  EXPECT_EQ(log.push({.time_second = nan, .voltage_volt = 12}), Status::missing_input);
  EXPECT_EQ(log.push({.time_second = 3, .flags = bit(SampleFlag::over_range)}), Status::bound_only);
}

TEST(LinkDischargeLog, EqualsTheOfficeBitForBit) {
  int second_slopes = 0;
  for (std::uint64_t seed = 0; seed < 100; ++seed) {
    VoltageStream stream(seed, {}, true);
    LinkDischargeLog log{{.standard_uncertainty_volt = 0.5, .gain_relative_standard_uncertainty = 0.01}};
    std::vector<highvoltage::DecayPoint> points;
    for (int i = 1; i <= 90; ++i) {
      VoltageSample sample = stream.next();
      if (seed % 2 == 0) sample.voltage_volt += 90 * std::exp(-sample.time_second / 3000);
      static_cast<void>(log.push(sample));
      points.push_back({sample.time_second, sample.voltage_volt, 0.5});
      if (i < 2 || i % 11 != 0) continue;
      const highvoltage::Decay office = highvoltage::fit_decay(points, {.gain_relative_standard_uncertainty = 0.01});
      const formula::DecayState state = log.state();
      ASSERT_EQ(state.status, office.status);
      ASSERT_EQ(state.remarks, office.remarks);
      ASSERT_TRUE(same(state.time_constant_second, office.time_constant_second));
      ASSERT_TRUE(same(state.threshold_second, office.threshold_second));
      ASSERT_TRUE(same(state.threshold_low_second, office.threshold_interval.low));
      ASSERT_TRUE(same(state.threshold_high_second, office.threshold_interval.high));
      ASSERT_TRUE(same(state.chi_square, office.chi_square));
      second_slopes += state.has(formula::DecayRemark::slows_down) ? 1 : 0;
    }
  }
  EXPECT_GT(second_slopes, 50);
}

TEST(LinkDischargeLog, KeepsTheLaws) {
  VoltageStream stream(2, {.one_in = 6}, true);
  std::vector<VoltageSample> samples;
  for (int i = 0; i < 80; ++i) samples.push_back(stream.next());
  keeps_the_laws<LinkDischargeLog>(
      LinkDischargeConfig{.standard_uncertainty_volt = 0.5},
      [&](LinkDischargeLog& log, int i) { static_cast<void>(log.push(samples[static_cast<std::size_t>(i)])); });
  LinkDischargeLog bad;
  EXPECT_STREQ(bad.init({}).field, "standard_uncertainty_volt");
  EXPECT_STREQ(bad.init({.standard_uncertainty_volt = 1, .threshold_volt = -1}).field, "threshold_volt");
  EXPECT_STREQ(bad.init({.standard_uncertainty_volt = 1, .coverage_factor = 0}).field, "coverage_factor");
  EXPECT_EQ(bad.push({.time_second = 1, .voltage_volt = 12}), Status::not_configured);
  EXPECT_EQ(bad.state().status, Status::not_configured);
  LinkDischargeLog log{{.standard_uncertainty_volt = 0.5}};
  EXPECT_EQ(log.push({.time_second = 1, .voltage_volt = -400}), Status::sound);
  EXPECT_EQ(log.push({.time_second = 1, .voltage_volt = 400}), Status::contradiction);
  EXPECT_EQ(log.push({.time_second = 2, .voltage_volt = 0}), Status::inside_noise);
  EXPECT_EQ(log.push({.time_second = 3, .voltage_volt = 1e200}), Status::out_of_domain);
  EXPECT_EQ(log.counts().doubled, 1U);
  EXPECT_EQ(log.counts().in_noise, 1U);
}

TEST(BondingLog, EqualsTheOfficeBitForBit) {
  for (std::uint64_t seed = 0; seed < 60; ++seed) {
    JointStream stream(seed, {.one_in = 10});
    BondingLog log{{.standard_uncertainty_ohm = 0.001,
                    .gain_relative_standard_uncertainty = 0.02,
                    .four_wire = seed % 5 == 0,
                    .null_subtracted = seed % 2 == 0}};
    for (int i = 0; i < 100; ++i) {
      if (i == 10) static_cast<void>(log.push_null(stream.next(true)));
      if (i % 5 == 0) log.next_joint();
      static_cast<void>(log.push(stream.next(false)));
      const formula::JointState joint = log.joint();
      const highvoltage::Bonding office = highvoltage::bonding_resistance(log.reading());
      ASSERT_TRUE(same(joint.resistance_ohm, office.resistance.value));
      ASSERT_EQ(joint.status, office.resistance.status);
      ASSERT_EQ(joint.censoring, office.resistance.censoring);
      ASSERT_EQ(joint.remarks, office.remarks);
    }
  }
}

TEST(BondingLog, KnowsItsNull) {
  using formula::BondingRemark;
  BondingLog log{{.standard_uncertainty_ohm = 0.001}};
  EXPECT_EQ(log.push({.time_second = 1, .resistance_ohm = 0.12, .test_ampere = 0.2}), Status::sound);
  EXPECT_EQ(log.joint().status, Status::bound_only);
  EXPECT_TRUE(log.joint().null_missing);
  log.next_joint();
  EXPECT_EQ(log.push_null({.time_second = 10, .resistance_ohm = 0.05}), Status::sound);
  EXPECT_EQ(log.push({.time_second = 20, .resistance_ohm = 0.06, .test_ampere = 0.2}), Status::sound);
  EXPECT_EQ(
      log.push(
          {.time_second = 30, .resistance_ohm = 0.08, .test_ampere = 0.2, .flags = bit(SampleFlag::polarity_reversed)}),
      Status::sound);
  formula::JointState joint = log.joint();
  EXPECT_NEAR(joint.resistance_ohm, 0.02, 1e-15);
  EXPECT_TRUE(joint.has(BondingRemark::polarities_differ));
  EXPECT_FALSE(joint.has(BondingRemark::null_old) || joint.has(BondingRemark::one_polarity));
  EXPECT_EQ(log.reading().null.age_second, 20);
  log.next_joint();
  static_cast<void>(log.push({.time_second = 30000, .resistance_ohm = 0.01, .test_ampere = 0.1}));
  joint = log.joint();
  EXPECT_TRUE(joint.has(BondingRemark::null_old) && joint.has(BondingRemark::one_polarity) &&
              joint.has(BondingRemark::below_zero) && joint.current_too_low);
  log.next_joint();
  EXPECT_EQ(log.push({.time_second = 30001, .flags = bit(SampleFlag::over_range)}), Status::bound_only);
  EXPECT_EQ(log.joint().status, Status::unknown_bound);
  EXPECT_EQ(log.push_null({.time_second = 30002, .flags = bit(SampleFlag::over_range)}), Status::out_of_domain);
  // After a loss of power the null stays, its age is not known.
  std::array<std::uint8_t, greatest_record> record{};
  const std::size_t size = log.save(record.data(), record.size());
  EXPECT_EQ(log.resume(record.data(), size, Resume::cut), Status::run_cut);
  EXPECT_EQ(log.push({.time_second = 5, .resistance_ohm = 0.09, .test_ampere = 0.2}), Status::sound);
  EXPECT_TRUE(log.joint().has(BondingRemark::null_age_unknown));
  EXPECT_EQ(log.joint().status, Status::run_cut);
}

TEST(BondingLog, KeepsTheLaws) {
  JointStream stream(2, {.one_in = 6});
  std::vector<JointSample> samples;
  for (int i = 0; i < 80; ++i) samples.push_back(stream.next(i < 5));
  keeps_the_laws<BondingLog>(BondingConfig{.standard_uncertainty_ohm = 0.001}, [&](BondingLog& log, int i) {
    const JointSample& sample = samples[static_cast<std::size_t>(i)];
    static_cast<void>(i < 5 ? log.push_null(sample) : log.push(sample));
  });
  BondingLog bad;
  EXPECT_STREQ(bad.init({}).field, "standard_uncertainty_ohm");
  EXPECT_STREQ(bad.init({.standard_uncertainty_ohm = 1, .settings = {.null_low_ohm = 1, .null_high_ohm = 0.5}}).field,
               "null_high_ohm");
  EXPECT_EQ(bad.push({.time_second = 1, .resistance_ohm = 1}), Status::not_configured);
  EXPECT_EQ(bad.push_null({.time_second = 1, .resistance_ohm = 1}), Status::not_configured);
  EXPECT_EQ(bad.joint().status, Status::not_configured);
}

TEST(RunningMean, EqualsTheOfficeBitForBit) {
  for (const double step : {0.0, 0.5}) {
    Random random(7);
    RunningMean mean{{.display_step = step}};
    std::vector<double> readings;
    for (int i = 0; i < 300; ++i) {
      const double x = random.one_in(20) ? nan : 12 + random.normal();
      static_cast<void>(mean.push(x));
      readings.push_back(x);
      const statistics::MeanOfReadings office = statistics::mean_of(readings, step);
      const numerics::MeanEstimate state = mean.state();
      ASSERT_TRUE(same(state.mean, office.mean));
      ASSERT_TRUE(same(state.standard_uncertainty, office.standard_uncertainty));
      ASSERT_TRUE(same(state.standard_deviation, office.standard_deviation));
      ASSERT_EQ(state.status, office.status);
    }
  }
}

TEST(RunningMean, MergeOfHalvesEqualsTheWhole) {
  Random random(8);
  for (int round = 0; round < 200; ++round) {
    RunningMean whole{RunningMeanConfig{}}, first = whole, second = whole;
    const double centre = random.within(-1e6, 1e6);
    const int size = 2 + static_cast<int>(random.word() % 500), cut = static_cast<int>(random.word() % 500);
    for (int i = 0; i < size; ++i) {
      const double x = centre + random.normal();
      static_cast<void>(whole.push(x));
      static_cast<void>((i < cut ? first : second).push(x));
    }
    ASSERT_EQ(first.merge(second), Status::sound);
    const numerics::MeanEstimate one = whole.state(), merged = first.state();
    ASSERT_NEAR(merged.mean, one.mean, 4 * std::abs(one.mean) * 0x1p-53);
    ASSERT_NEAR(merged.standard_deviation / one.standard_deviation, 1, 1e-9);
    ASSERT_EQ(first.counts().taken, whole.counts().taken);
  }
}

TEST(RunningMean, AYearAtTenHertzNeitherOverflowsNorDrifts) {
  // A sawtooth of 1000 exact steps about 12: mean and spread are known without rounding.
  constexpr std::uint32_t year = 315'360'000;
  RunningMean mean{RunningMeanConfig{}};
  for (std::uint32_t i = 0; i < year; ++i)
    static_cast<void>(mean.push(12 + (static_cast<double>(i % 1000) - 499.5) * 0x1p-10));
  const numerics::MeanEstimate state = mean.state();
  EXPECT_EQ(mean.readings(), year);
  EXPECT_NEAR(state.mean, 12, 4 * 12 * 0x1p-53);
  const double variance = (1000.0 * 1000.0 - 1) / 12 * 0x1p-20 * year / (year - 1.0);
  EXPECT_NEAR(state.standard_deviation / std::sqrt(variance), 1, 1e-14);
}

TEST(RunningMean, KeepsTheLaws) {
  keeps_the_laws<RunningMean>(
      RunningMeanConfig{}, [](RunningMean& mean, int i) { static_cast<void>(mean.push(i % 9 == 0 ? nan : 1.0 * i)); });
  RunningMean bad, mean{RunningMeanConfig{}};
  EXPECT_STREQ(bad.init({.display_step = -1}).field, "display_step");
  EXPECT_EQ(bad.push(1), Status::not_configured);
  EXPECT_EQ(bad.state().status, Status::not_configured);
  EXPECT_EQ(mean.merge(bad), Status::not_configured);
  EXPECT_EQ(mean.merge(RunningMean{{.display_step = 1}}), Status::contradiction);
  for (const double x : {infinity, -infinity, 5e-324, 1e200}) EXPECT_EQ(mean.push(x), Status::out_of_domain);
  EXPECT_EQ(mean.push(nan), Status::missing_input);
  EXPECT_EQ(mean.push(0), Status::sound);
  EXPECT_EQ(mean.state().status, Status::too_few_points);
}

TEST(AccuracySheet, EqualsTheOfficeBitForBit) {
  static constexpr AccuracyLine lines[] = {{.high = 4e8, .display_step = 1e5, .reading_percent = 3, .counts = 3},
                                           {.low = 1e8,
                                            .high = 4e9,
                                            .display_step = 1e6,
                                            .reading_percent = 5,
                                            .counts = 5,
                                            .range_percent = 0.1,
                                            .gain_share = 0.5}};
  constexpr AccuracySheet sheet{.lines = lines, .ranges = 2};
  static_assert(!check(sheet));
  Random random(3);
  for (int i = 0; i < 1000; ++i) {
    const double ohm = 1e6 * std::exp(random.within(0, 9));
    const double limit = random.one_in(2) ? 1e8 : nan;
    const AccuracyAt at = sheet.find(500, ohm, limit);
    if (ohm > 4e9) {
      EXPECT_EQ(at.status, Status::outside_table);
      continue;
    }
    const AccuracyLine& line = lines[ohm <= 4e8 ? 0 : 1];
    const uncertainty::Parts parts = instruments::sheet_parts({.high = line.high,
                                                               .display_step = line.display_step,
                                                               .reading_percent = line.reading_percent,
                                                               .counts = line.counts,
                                                               .range_percent = line.range_percent,
                                                               .gain_share = line.gain_share},
                                                              {}, 1, {.value = ohm, .decision_value = limit});
    ASSERT_TRUE(same(at.gain, parts[uncertainty::Part::gain]));
    ASSERT_TRUE(same(at.reading, parts[uncertainty::Part::reading]));
  }
  EXPECT_EQ(sheet.ceiling(500), 4e9);
  EXPECT_EQ(sheet.at({.range = 1}, 5e7).status, Status::outside_fitted_range);
  EXPECT_EQ(sheet.at({.range = 2}, 5e7).status, Status::outside_table);
  EXPECT_EQ(sheet.find(500, nan).status, Status::missing_input);
  EXPECT_EQ(sheet.find(500, 0).status, Status::out_of_domain);
  static constexpr AccuracyLine falling[] = {{.high = 2}, {.high = 1}};
  EXPECT_STREQ(check(AccuracySheet{.lines = falling, .ranges = 2}).field, "high");
  EXPECT_STREQ(check(AccuracySheet{}).field, "ranges");
}

TEST(Float32, KeepsTwentyFourBits) {
  // Half a step of a float at 1 teraohm and at 10 milliohm: what is lost at most.
  EXPECT_EQ(std::nextafter(1e12F, 2e12F) - 1e12F, 65536.0F);
  EXPECT_NEAR(static_cast<double>(std::nextafter(0.01F, 1.0F)) - static_cast<double>(0.01F), 0.93e-9, 0.005e-9);
  EXPECT_EQ(from_float32(1e12F), static_cast<double>(1e12F));
  EXPECT_EQ(from_float32(1e-40F), 0);
  EXPECT_EQ(from_float32(1.2e-38F), static_cast<double>(1.2e-38F));
  EXPECT_TRUE(std::isnan(from_float32(NAN)));
  EXPECT_EQ(from_float32(-INFINITY), -infinity);
}

}  // namespace
}  // namespace ohmward::logging
