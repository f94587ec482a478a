// The C interface gives the bits of the C++ objects: every call, on bad afternoons, in any chunking, over save and
// resume.

#include <gtest/gtest.h>

#include <algorithm>
#include <bit>
#include <cfenv>
#include <cstring>
#include <memory>
#include <vector>

#include "logging/streams.hpp"
#include "ohmward/conformity/limit.hpp"
#include "ohmward/formula/batch.hpp"
#include "ohmward/instruments/sheet.hpp"
#include "ohmward/logging/accuracy_sheet.hpp"
#include "ohmward/temperature/to_reference.hpp"
#include "ohmward_c/ohmward.h"

namespace ohmward::logging::testing {
namespace {

std::uint64_t bits(double x) { return std::bit_cast<std::uint64_t>(x == x ? x : nan); }
#define EXPECT_SAME_BITS(one, other) EXPECT_EQ(bits(one), bits(other)) << (one) << " and " << (other)

int number(Status status) { return static_cast<int>(status); }

void expect_same(const owd_counts& c, const Counts& cpp) {
  std::vector<std::uint32_t> counts;
  const auto each = [&counts](auto... count) { (counts.push_back(count), ...); };
  Counts::each_field(cpp, each);
  ASSERT_EQ(counts.size() + 1, sizeof c / sizeof(std::uint32_t)) << "a count is missing in C";
  EXPECT_EQ(std::memcmp(&c, counts.data(), counts.size() * sizeof(std::uint32_t)), 0);
}

/// Saved, and resumed elsewhere; the records must be those of C++.
template <class Handle, class Log, class Save, class Resume>
void through_a_record(Handle& handle, const Log& log, Save save, Resume resume) {
  std::uint8_t record[OWD_GREATEST_RECORD] = {}, of_cpp[OWD_GREATEST_RECORD] = {};
  std::size_t written = 0;
  ASSERT_EQ(save(&handle, record, sizeof record, &written), OWD_OK);
  ASSERT_EQ(written, log.save(of_cpp, sizeof of_cpp));
  ASSERT_EQ(std::memcmp(record, of_cpp, written), 0);
  std::memset(&handle, 0xCC, sizeof handle);
  ASSERT_EQ(resume(&handle, record, written), OWD_OK);
}

owd_sample to_c(const Sample& s) {
  return {s.time_second, s.applied_volt, s.current_ampere, s.resistance_ohm, s.tick_millisecond, s.flags, {}};
}
owd_voltage_sample to_c(const VoltageSample& s) {
  return {s.time_second, s.voltage_volt, s.tick_millisecond, s.flags, {}};
}
owd_joint_sample to_c(const JointSample& s) {
  return {s.time_second, s.resistance_ohm, s.test_ampere, s.tick_millisecond, s.flags, {}};
}

struct AbsorptionPair {
  owd_absorption_log c;
  AbsorptionLog cpp;

  AbsorptionPair(std::uint64_t seed, const InsulationStream& stream) {
    const AbsorptionConfig config{.test_voltage_volt = 1000,
                                  .early_second = (seed & 1) != 0 ? 30.0 : 60.0,
                                  .late_second = (seed & 2) != 0 ? 60.5 : 600.0,
                                  .source_ampere = 1e-3,
                                  .relative_standard_uncertainty = 0.01,
                                  .gain_relative_standard_uncertainty = 0.02,
                                  .capacitance_farad = 1e-8,
                                  .drift_kelvin = 2,
                                  .time_base = (seed & 4) != 0 ? TimeBase::tick_millisecond : TimeBase::second};
    EXPECT_FALSE(cpp.init(config, stream.start_tick()));
    owd_absorption_log_config of_c = OWD_ABSORPTION_LOG_CONFIG;
    of_c.start_tick_millisecond = stream.start_tick();
    of_c.test_voltage_volt = config.test_voltage_volt;
    of_c.early_second = config.early_second;
    of_c.late_second = config.late_second;
    of_c.source_ampere = config.source_ampere;
    of_c.relative_standard_uncertainty = config.relative_standard_uncertainty;
    of_c.gain_relative_standard_uncertainty = config.gain_relative_standard_uncertainty;
    of_c.capacitance_farad = config.capacitance_farad;
    of_c.drift_kelvin = config.drift_kelvin;
    of_c.time_base = static_cast<std::uint8_t>(config.time_base);
    EXPECT_EQ(owd_absorption_log_init(&c, sizeof c, &of_c), OWD_OK);
  }

  void push(const Sample& sample) {
    const owd_sample of_c = to_c(sample);
    owd_status status = 77;
    ASSERT_EQ(owd_absorption_log_push(&c, &of_c, &status), OWD_OK);
    ASSERT_EQ(status, number(cpp.push(sample)));
    std::uint16_t marks = 0;
    ASSERT_EQ(owd_absorption_log_marks(&c, &marks), OWD_OK);
    ASSERT_EQ(marks, cpp.marks());
  }

  void compare() const {
    owd_ratio ratio;
    ASSERT_EQ(owd_absorption_log_ratio(&c, &ratio), OWD_OK);
    const RunRatio of_cpp = cpp.ratio();
    EXPECT_SAME_BITS(ratio.value, of_cpp.value);
    EXPECT_SAME_BITS(ratio.relative_standard_uncertainty, of_cpp.relative_standard_uncertainty);
    EXPECT_EQ(ratio.status, number(of_cpp.status));
    EXPECT_EQ(ratio.censoring, static_cast<int>(of_cpp.censoring));
    compare_spot(owd_absorption_log_early, cpp.early(), cpp.config().early_second);
    compare_spot(owd_absorption_log_late, cpp.late(), cpp.config().late_second);
    compare_spot(owd_absorption_log_latest, cpp.latest(), cpp.latest_second());
    compare_settling();
    owd_charging charging;
    ASSERT_EQ(owd_absorption_log_charging(&c, &charging), OWD_OK);
    const formula::ChargingState charged = cpp.charging();
    EXPECT_SAME_BITS(charging.capacitance_farad, charged.capacitance_farad);
    EXPECT_SAME_BITS(charging.low_farad, charged.low_farad);
    EXPECT_SAME_BITS(charging.high_farad, charged.high_farad);
    EXPECT_SAME_BITS(charging.reached_second, charged.reached_second);
    EXPECT_EQ(charging.readings, charged.readings);
    EXPECT_EQ(charging.status, number(charged.status));
    std::int8_t contact = -1;
    ASSERT_EQ(owd_absorption_log_contact(&c, &contact), OWD_OK);
    EXPECT_EQ(contact, static_cast<int>(cpp.contact()));
    owd_counts counts;
    ASSERT_EQ(owd_absorption_log_counts(&c, &counts), OWD_OK);
    expect_same(counts, cpp.counts());
  }

  template <class Call>
  void compare_spot(Call call, const RunSpot& of_cpp, double second) const {
    owd_spot spot;
    ASSERT_EQ(call(&c, &spot), OWD_OK);
    EXPECT_SAME_BITS(spot.value, of_cpp.value);
    EXPECT_SAME_BITS(spot.second, second);
    EXPECT_EQ(spot.status, number(of_cpp.status));
    EXPECT_EQ(spot.censoring, static_cast<int>(of_cpp.censoring));
  }

  void compare_settling() const {
    owd_settling settling;
    ASSERT_EQ(owd_absorption_log_settling(&c, &settling), OWD_OK);
    const formula::SettlingState of_cpp = cpp.settling();
    EXPECT_EQ(settling.state, static_cast<int>(of_cpp.state));
    EXPECT_EQ(settling.status, number(of_cpp.status));
    EXPECT_SAME_BITS(settling.slope, of_cpp.slope);
    EXPECT_SAME_BITS(settling.slope_standard_uncertainty, of_cpp.slope_standard_uncertainty);
    EXPECT_SAME_BITS(settling.charging_until_second, of_cpp.charging_until_second);
    EXPECT_SAME_BITS(settling.absorption_until_second, of_cpp.absorption_until_second);
    EXPECT_SAME_BITS(settling.may_stop_second, of_cpp.may_stop_second);
  }
};

void expect_same(const owd_forecast& c, const formula::Forecast& cpp) {
  EXPECT_SAME_BITS(c.value, cpp.value);
  EXPECT_SAME_BITS(c.low, cpp.low);
  EXPECT_SAME_BITS(c.high, cpp.high);
  EXPECT_SAME_BITS(c.noise, cpp.noise);
  EXPECT_SAME_BITS(c.kernel_width, cpp.kernel_width);
  EXPECT_SAME_BITS(c.least_distance, cpp.least_distance);
  EXPECT_SAME_BITS(c.steepening, cpp.steepening);
  for (int i = 0; i < formula::forecast_mechanisms; ++i) EXPECT_SAME_BITS(c.mechanism[i], cpp.mechanism[i]);
  EXPECT_EQ(c.status, number(cpp.status));
}

TEST(CInterface, AbsorptionLogEqualsCpp) {
  for (std::uint64_t seed = 0; seed < 40; ++seed) {
    SCOPED_TRACE(seed);
    InsulationStream stream(seed, {.one_in = seed % 3 == 0 ? 0U : 15U});
    AbsorptionPair pair(seed, stream);
    for (int i = 0; i < 250; ++i) {
      pair.push(stream.next());
      if (i % 7 == 0) pair.compare();
      if (i % 61 == 60)
        through_a_record(pair.c, pair.cpp, owd_absorption_log_save,
                         [](owd_absorption_log* log, const std::uint8_t* record, std::size_t size) {
                           owd_status status = 77;
                           return owd_absorption_log_resume(log, sizeof *log, record, size, OWD_RESUME_CONTINUED, 0,
                                                            &status);
                         });
    }
    pair.compare();
  }
}

TEST(CInterface, ForecastEqualsCppWithAndWithoutALibrary) {
  const auto memory = std::make_unique<owd_forecast_memory>();
  const auto library = std::make_unique<owd_forecast_library>();
  const auto of_cpp = std::make_unique<ForecastMemory>();
  for (const std::uint64_t seed : {1U, 6U}) {
    InsulationStream stream(seed, {});
    AbsorptionPair pair(seed, stream);
    for (int i = 0; i < 150; ++i) pair.push(stream.next());
    owd_forecast with, without;
    ASSERT_EQ(owd_forecast_library_begin(library.get(), sizeof *library, &pair.c), OWD_OK);
    ASSERT_EQ(owd_absorption_log_forecast(&pair.c, 0.95, memory.get(), sizeof *memory, library.get(), &with), OWD_OK);
    EXPECT_EQ(with.status, OWD_STATUS_CONTRADICTION) << "a library that is not complete";
    std::uint8_t more = 1;
    int fills = 0;
    for (; more == 1; ++fills) ASSERT_EQ(owd_forecast_library_fill(library.get(), 100, &more), OWD_OK);
    EXPECT_EQ(fills, 41);
    ASSERT_EQ(owd_absorption_log_forecast(&pair.c, 0.95, memory.get(), sizeof *memory, library.get(), &with), OWD_OK);
    ASSERT_EQ(owd_absorption_log_forecast(&pair.c, 0.95, memory.get(), sizeof *memory, nullptr, &without), OWD_OK);
    const formula::Forecast expected = pair.cpp.forecast(0.95, *of_cpp);
    EXPECT_TRUE(has_value(expected.status));
    expect_same(with, expected);
    expect_same(without, expected);
    const formula::ForecastGrid before = of_cpp->grid;
    pair.push(stream.next());
    static_cast<void>(pair.cpp.forecast(0.95, *of_cpp));
    const bool another = !(before == of_cpp->grid);  // beyond 617 s a sample changes no grid
    EXPECT_EQ(another, seed == 6);
    ASSERT_EQ(owd_absorption_log_forecast(&pair.c, 0.95, memory.get(), sizeof *memory, library.get(), &with), OWD_OK);
    EXPECT_EQ(with.status == OWD_STATUS_CONTRADICTION, another) << "a library of an earlier run";
    ASSERT_EQ(owd_absorption_log_forecast(&pair.c, 2, memory.get(), sizeof *memory, nullptr, &with), OWD_OK);
    EXPECT_EQ(with.status, OWD_STATUS_OUT_OF_DOMAIN);
  }
}

TEST(CInterface, RestingVoltageLogEqualsCpp) {
  for (std::uint64_t seed = 0; seed < 40; ++seed) {
    VoltageStream stream(seed, {.one_in = 15}, false);
    RestingVoltageLog cpp{{.cells = 6, .standard_uncertainty_volt = 0.002}};
    owd_resting_voltage_log c;
    owd_resting_voltage_log_config config = OWD_RESTING_VOLTAGE_LOG_CONFIG;
    config.standard_uncertainty_volt = 0.002;
    ASSERT_EQ(owd_resting_voltage_log_init(&c, sizeof c, &config), OWD_OK);
    for (int i = 0; i < 200; ++i) {
      const VoltageSample sample = stream.next();
      const owd_voltage_sample of_c = to_c(sample);
      owd_status status = 77;
      ASSERT_EQ(owd_resting_voltage_log_push(&c, &of_c, &status), OWD_OK);
      ASSERT_EQ(status, number(cpp.push(sample)));
      owd_resting state;
      ASSERT_EQ(owd_resting_voltage_log_state(&c, &state), OWD_OK);
      const formula::RestingState expected = cpp.state();
      EXPECT_EQ(state.state, static_cast<int>(expected.state));
      EXPECT_EQ(state.status, number(expected.status));
      EXPECT_SAME_BITS(state.voltage_volt, expected.voltage_volt);
      EXPECT_SAME_BITS(state.standard_uncertainty_volt, expected.standard_uncertainty_volt);
      EXPECT_SAME_BITS(state.slope_volt_per_hour, expected.slope_volt_per_hour);
      EXPECT_SAME_BITS(state.slope_standard_uncertainty_volt_per_hour,
                       expected.slope_standard_uncertainty_volt_per_hour);
      EXPECT_SAME_BITS(state.change_volt, expected.change_volt);
      EXPECT_SAME_BITS(state.rest_second, expected.rest_second);
      if (i % 61 == 60)
        through_a_record(c, cpp, owd_resting_voltage_log_save,
                         [](owd_resting_voltage_log* log, const std::uint8_t* record, std::size_t size) {
                           return owd_resting_voltage_log_resume(log, sizeof *log, record, size, 0, 0, nullptr);
                         });
    }
    owd_counts counts;
    ASSERT_EQ(owd_resting_voltage_log_counts(&c, &counts), OWD_OK);
    expect_same(counts, cpp.counts());
  }
}

TEST(CInterface, LinkDischargeLogEqualsCpp) {
  for (std::uint64_t seed = 0; seed < 40; ++seed) {
    VoltageStream stream(seed, {.one_in = 15}, true);
    LinkDischargeLog cpp{{.standard_uncertainty_volt = 0.5, .gain_relative_standard_uncertainty = 0.005}};
    owd_link_discharge_log c;
    owd_link_discharge_log_config config = OWD_LINK_DISCHARGE_LOG_CONFIG;
    config.standard_uncertainty_volt = 0.5;
    config.gain_relative_standard_uncertainty = 0.005;
    ASSERT_EQ(owd_link_discharge_log_init(&c, sizeof c, &config), OWD_OK);
    for (int i = 0; i < 200; ++i) {
      const VoltageSample sample = stream.next();
      const owd_voltage_sample of_c = to_c(sample);
      owd_status status = 77;
      ASSERT_EQ(owd_link_discharge_log_push(&c, &of_c, &status), OWD_OK);
      ASSERT_EQ(status, number(cpp.push(sample)));
      owd_decay state;
      ASSERT_EQ(owd_link_discharge_log_state(&c, &state), OWD_OK);
      const formula::DecayState expected = cpp.state();
      EXPECT_SAME_BITS(state.initial_volt, expected.initial_volt);
      EXPECT_SAME_BITS(state.time_constant_second, expected.time_constant_second);
      EXPECT_SAME_BITS(state.time_constant_standard_uncertainty_second,
                       expected.time_constant_standard_uncertainty_second);
      EXPECT_SAME_BITS(state.threshold_second, expected.threshold_second);
      EXPECT_SAME_BITS(state.threshold_low_second, expected.threshold_low_second);
      EXPECT_SAME_BITS(state.threshold_high_second, expected.threshold_high_second);
      EXPECT_SAME_BITS(state.chi_square, expected.chi_square);
      EXPECT_SAME_BITS(state.degrees_of_freedom, expected.degrees_of_freedom);
      EXPECT_EQ(state.remarks, expected.remarks);
      EXPECT_EQ(state.status, number(expected.status));
      if (i % 61 == 60)
        through_a_record(c, cpp, owd_link_discharge_log_save,
                         [](owd_link_discharge_log* log, const std::uint8_t* record, std::size_t size) {
                           return owd_link_discharge_log_resume(log, sizeof *log, record, size, 0, 0, nullptr);
                         });
    }
    owd_counts counts;
    ASSERT_EQ(owd_link_discharge_log_counts(&c, &counts), OWD_OK);
    expect_same(counts, cpp.counts());
  }
}

TEST(CInterface, BondingLogEqualsCpp) {
  for (std::uint64_t seed = 0; seed < 40; ++seed) {
    JointStream stream(seed, {.one_in = 15});
    BondingLog cpp{{.standard_uncertainty_ohm = 0.001,
                    .gain_relative_standard_uncertainty = 0.02,
                    .four_wire = seed % 4 == 0,
                    .null_subtracted = seed % 2 == 0}};
    owd_bonding_log c;
    owd_bonding_log_config config = OWD_BONDING_LOG_CONFIG;
    config.standard_uncertainty_ohm = 0.001;
    config.gain_relative_standard_uncertainty = 0.02;
    config.four_wire = seed % 4 == 0 ? 1 : 0;
    config.null_subtracted = seed % 2 == 0 ? 1 : 0;
    ASSERT_EQ(owd_bonding_log_init(&c, sizeof c, &config), OWD_OK);
    for (int i = 0; i < 200; ++i) {
      const bool null = i % 50 < 3 && seed % 8 != 1;
      if (i % 50 == 0) {
        cpp.forget_null();
        ASSERT_EQ(owd_bonding_log_forget_null(&c), OWD_OK);
      }
      if (i % 7 == 0) {
        cpp.next_joint();
        ASSERT_EQ(owd_bonding_log_next_joint(&c), OWD_OK);
      }
      const JointSample sample = stream.next(null);
      const owd_joint_sample of_c = to_c(sample);
      owd_status status = 77;
      ASSERT_EQ((null ? owd_bonding_log_push_null : owd_bonding_log_push)(&c, &of_c, &status), OWD_OK);
      ASSERT_EQ(status, number(null ? cpp.push_null(sample) : cpp.push(sample)));
      owd_joint joint;
      ASSERT_EQ(owd_bonding_log_joint(&c, &joint), OWD_OK);
      const formula::JointState expected = cpp.joint();
      EXPECT_SAME_BITS(joint.resistance_ohm, expected.resistance_ohm);
      EXPECT_SAME_BITS(joint.standard_uncertainty_ohm, formula::joint_standard_uncertainty_ohm(expected));
      EXPECT_SAME_BITS(joint.reading_standard_uncertainty_ohm, expected.reading_standard_uncertainty_ohm);
      EXPECT_SAME_BITS(joint.null_standard_uncertainty_ohm, expected.null_standard_uncertainty_ohm);
      EXPECT_SAME_BITS(joint.gain_standard_uncertainty_ohm, expected.gain_standard_uncertainty_ohm);
      EXPECT_EQ(joint.remarks, expected.remarks);
      EXPECT_EQ(joint.status, number(expected.status));
      EXPECT_EQ(joint.censoring, static_cast<int>(expected.censoring));
      EXPECT_EQ(joint.null_missing, expected.null_missing ? 1 : 0);
      EXPECT_EQ(joint.current_too_low, expected.current_too_low ? 1 : 0);
      if (i % 61 == 60)
        through_a_record(c, cpp, owd_bonding_log_save,
                         [](owd_bonding_log* log, const std::uint8_t* record, std::size_t size) {
                           return owd_bonding_log_resume(log, sizeof *log, record, size, 0, 0, nullptr);
                         });
    }
    owd_counts counts;
    ASSERT_EQ(owd_bonding_log_counts(&c, &counts), OWD_OK);
    expect_same(counts, cpp.counts());
  }
}

TEST(CInterface, RunningMeanEqualsCpp) {
  for (std::uint64_t seed = 0; seed < 40; ++seed) {
    Random random(seed);
    const double step = seed % 2 == 0 ? 0.0 : 0.01;
    RunningMean cpp{{.display_step = step}}, half_cpp = cpp;
    owd_running_mean c, half;
    owd_running_mean_config config = OWD_RUNNING_MEAN_CONFIG;
    config.display_step = step;
    ASSERT_EQ(owd_running_mean_init(&c, sizeof c, &config), OWD_OK);
    half = c;  // copied byte by byte
    for (int i = 0; i < 200; ++i) {
      const double x = random.one_in(20) ? unusual(random) : 12 + 0.01 * random.normal();
      owd_status status = 77;
      ASSERT_EQ(owd_running_mean_push(&c, x, &status), OWD_OK);
      ASSERT_EQ(status, number(cpp.push(x)));
      ASSERT_EQ(owd_running_mean_push(&half, x, nullptr), OWD_OK);
      static_cast<void>(half_cpp.push(x));
      if (i % 50 == 49) {
        ASSERT_EQ(owd_running_mean_merge(&c, &half, &status), OWD_OK);
        ASSERT_EQ(status, number(cpp.merge(half_cpp)));
        ASSERT_EQ(owd_running_mean_reset(&half), OWD_OK);
        half_cpp.reset();
      }
      owd_mean state;
      ASSERT_EQ(owd_running_mean_state(&c, &state), OWD_OK);
      const numerics::MeanEstimate expected = cpp.state();
      EXPECT_SAME_BITS(state.mean, expected.mean);
      EXPECT_SAME_BITS(state.standard_deviation, expected.standard_deviation);
      EXPECT_SAME_BITS(state.standard_uncertainty, expected.standard_uncertainty);
      EXPECT_SAME_BITS(state.degrees_of_freedom, expected.degrees_of_freedom);
      EXPECT_EQ(state.readings, cpp.readings());
      EXPECT_EQ(state.status, number(expected.status));
    }
    through_a_record(c, cpp, owd_running_mean_save,
                     [](owd_running_mean* mean, const std::uint8_t* record, std::size_t size) {
                       return owd_running_mean_resume(mean, sizeof *mean, record, size, 0, nullptr);
                     });
    owd_counts counts;
    ASSERT_EQ(owd_running_mean_counts(&c, &counts), OWD_OK);
    expect_same(counts, cpp.counts());
  }
}

TEST(CInterface, ResetEqualsNew) {
  InsulationStream stream(3, {.one_in = 10});
  AbsorptionPair pair(3, stream), fresh(3, stream);
  for (int i = 0; i < 100; ++i) pair.push(stream.next());
  ASSERT_EQ(owd_absorption_log_reset(&pair.c, stream.start_tick()), OWD_OK);
  EXPECT_EQ(std::memcmp(&pair.c, &fresh.c, sizeof(std::uint64_t)), 0);
  std::uint8_t one[OWD_GREATEST_RECORD], other[OWD_GREATEST_RECORD];
  std::size_t of_one = 0, of_other = 0;
  ASSERT_EQ(owd_absorption_log_save(&pair.c, one, sizeof one, &of_one), OWD_OK);
  ASSERT_EQ(owd_absorption_log_save(&fresh.c, other, sizeof other, &of_other), OWD_OK);
  ASSERT_EQ(of_one, of_other);
  EXPECT_EQ(std::memcmp(one, other, of_one), 0);
}

TEST(CInterface, AccuracySheetEqualsCpp) {
  static constexpr AccuracyLine lines[] = {{.high = 4e6, .display_step = 1e3, .reading_percent = 2, .counts = 2},
                                           {.high = 2e6, .display_step = 1e3, .reading_percent = 3, .counts = 2},
                                           {.low = 4e6, .high = 4e9, .display_step = 1e6, .reading_percent = 5},
                                           {.high = 2e9, .display_step = 1e6, .range_percent = 0.5, .gain_share = 0.5}};
  static constexpr owd_accuracy_line of_c[] = {
      {0, 4e6, 1e3, 2, 2, 0, 0}, {0, 2e6, 1e3, 3, 2, 0, 0}, {4e6, 4e9, 1e6, 5, 0, 0, 0}, {0, 2e9, 1e6, 0, 0, 0.5, 0.5}};
  static constexpr double volts[] = {1000, 500};
  const AccuracySheet cpp{.lines = lines, .test_voltages_volt = volts, .ranges = 2, .voltages = 2};
  owd_accuracy_sheet c = OWD_ACCURACY_SHEET;
  c.lines = of_c;
  c.ranges = c.voltages = 2;
  c.test_voltages_volt = volts;
  ASSERT_EQ(owd_accuracy_sheet_check(&c, nullptr), OWD_OK);
  Random random(1);
  for (int i = 0; i < 2000; ++i) {
    const double ohm = random.one_in(30) ? unusual(random) : 1e3 * numerics::exp(random.within(0, 16));
    const double volt = random.one_in(3) ? 250 : (random.one_in(2) ? 1000 : 500);
    const double limit = random.one_in(3) ? 1e6 : nan;
    const auto range = static_cast<std::uint16_t>(random.word() % 3), voltage = std::uint16_t{1};
    for (const bool find : {true, false}) {
      owd_accuracy at;
      ASSERT_EQ(find ? owd_accuracy_sheet_find(&c, volt, ohm, limit, &at)
                     : owd_accuracy_sheet_at(&c, range, voltage, ohm, limit, &at),
                OWD_OK);
      const AccuracyAt expected =
          find ? cpp.find(volt, ohm, limit) : cpp.at({.range = range, .voltage = voltage}, ohm, limit);
      EXPECT_SAME_BITS(at.standard_uncertainty, expected.standard_uncertainty);
      EXPECT_SAME_BITS(at.gain, expected.gain);
      EXPECT_SAME_BITS(at.reading, expected.reading);
      EXPECT_EQ(at.status, number(expected.status));
    }
    double ceiling = 0;
    ASSERT_EQ(owd_accuracy_sheet_ceiling(&c, volt, &ceiling), OWD_OK);
    EXPECT_SAME_BITS(ceiling, cpp.ceiling(volt));
  }
}

/// What a configuration of C begins with is what one of C++ begins with.
TEST(CInterface, DefaultsAreThoseOfCpp) {
  const owd_absorption_log_config absorption = OWD_ABSORPTION_LOG_CONFIG;
  const AbsorptionConfig a;
  EXPECT_SAME_BITS(absorption.test_voltage_volt, a.test_voltage_volt);
  EXPECT_EQ(absorption.early_second, a.early_second);
  EXPECT_EQ(absorption.late_second, a.late_second);
  EXPECT_SAME_BITS(absorption.source_ampere, a.source_ampere);
  EXPECT_SAME_BITS(absorption.relative_standard_uncertainty, a.relative_standard_uncertainty);
  EXPECT_EQ(absorption.gain_relative_standard_uncertainty, a.gain_relative_standard_uncertainty);
  EXPECT_SAME_BITS(absorption.capacitance_farad, a.capacitance_farad);
  EXPECT_EQ(absorption.least_visible_change, a.least_visible_change);
  EXPECT_EQ(absorption.loss_factor, a.loss_factor);
  EXPECT_EQ(absorption.drift_kelvin, a.drift_kelvin);
  EXPECT_EQ(absorption.current_per_kelvin, a.current_per_kelvin);
  EXPECT_EQ(absorption.time_base, static_cast<int>(a.time_base));
  EXPECT_EQ(absorption.forecast, a.forecast ? 1 : 0);
  const owd_resting_voltage_log_config resting = OWD_RESTING_VOLTAGE_LOG_CONFIG;
  const RestingVoltageConfig r;
  EXPECT_SAME_BITS(resting.standard_uncertainty_volt, r.standard_uncertainty_volt);
  EXPECT_EQ(resting.tolerance_cell_volt, r.tolerance_cell_volt);
  EXPECT_EQ(resting.cells, r.cells);
  const owd_link_discharge_log_config link = OWD_LINK_DISCHARGE_LOG_CONFIG;
  const LinkDischargeConfig l;
  EXPECT_SAME_BITS(link.standard_uncertainty_volt, l.standard_uncertainty_volt);
  EXPECT_EQ(link.threshold_volt, l.threshold_volt);
  EXPECT_EQ(link.gain_relative_standard_uncertainty, l.gain_relative_standard_uncertainty);
  EXPECT_EQ(link.coverage_factor, l.coverage_factor);
  const owd_bonding_log_config bonding = OWD_BONDING_LOG_CONFIG;
  const BondingConfig b;
  EXPECT_SAME_BITS(bonding.standard_uncertainty_ohm, b.standard_uncertainty_ohm);
  EXPECT_SAME_BITS(bonding.null_standard_uncertainty_ohm, b.null_standard_uncertainty_ohm);
  EXPECT_EQ(bonding.gain_relative_standard_uncertainty, b.gain_relative_standard_uncertainty);
  EXPECT_EQ(bonding.least_test_ampere, b.settings.least_test_ampere);
  EXPECT_EQ(bonding.null_low_ohm, b.settings.null_low_ohm);
  EXPECT_EQ(bonding.null_high_ohm, b.settings.null_high_ohm);
  EXPECT_EQ(bonding.greatest_age_second, b.settings.greatest_age_second);
  EXPECT_EQ(bonding.polarity_factor, b.settings.polarity_factor);
  EXPECT_EQ(bonding.four_wire, b.four_wire ? 1 : 0);
  EXPECT_EQ(bonding.null_subtracted, b.null_subtracted ? 1 : 0);
  const owd_accuracy_sheet sheet = OWD_ACCURACY_SHEET;
  const AccuracySheet s;
  EXPECT_EQ(sheet.divisor, s.divisor);
  EXPECT_EQ(sheet.voltages, s.voltages);
  EXPECT_EQ(sheet.log_scale, s.log_scale ? 1 : 0);
}

TEST(CInterface, TheSelfTestFindsAnotherRoundingMode) {
  const auto memory = std::make_unique<owd_forecast_memory>();
  owd_self_test_result result;
  for (const int mode : {FE_UPWARD, FE_DOWNWARD, FE_TOWARDZERO}) {
    ASSERT_EQ(std::fesetround(mode), 0);
    const owd_error found = owd_self_test(memory.get(), sizeof *memory, &result);
    ASSERT_EQ(std::fesetround(FE_TONEAREST), 0);
    EXPECT_EQ(found, OWD_ERROR_SELF_TEST);
    EXPECT_EQ(result.tables, result.tables_expected);
    EXPECT_NE(result.formulas, result.formulas_expected);
  }
  EXPECT_EQ(owd_self_test(memory.get(), sizeof *memory, &result), OWD_OK);
}

/// Sheet, temperature, limit: the verdict of C is that of C++, part by part.
TEST(CInterface, TheHostedChainEqualsCpp) {
  const instruments::Instrument meter{.id = "given",
                                      .temperature_coefficient = 0.001,
                                      .ranges = {{.high = 4e8, .display_step = 1e5, .reading_percent = 3, .counts = 3},
                                                 {.low = 4e8, .high = 4e9, .display_step = 1e6, .reading_percent = 5}}};
  const owd_range ranges[2] = {{nan, 0, 4e8, 1e5, 3, 3, 0, 0, OWD_QUANTITY_INSULATION_RESISTANCE, {}},
                               {nan, 4e8, 4e9, 1e6, 5, 0, 0, 0, OWD_QUANTITY_INSULATION_RESISTANCE, {}}};
  owd_instrument of_c = OWD_INSTRUMENT;
  of_c.ranges = ranges;
  of_c.range_count = 2;
  of_c.temperature_coefficient = 0.001;
  owd_law law_of_c = OWD_LAW;
  law_of_c.kind = OWD_LAW_HALVING;
  law_of_c.constant = 10;
  law_of_c.constant_standard_uncertainty = 1;
  const temperature::Law law =
      temperature::law(temperature::Halving{.step_kelvin = 10, .step_standard_uncertainty_kelvin = 1});
  owd_limit limit_of_c = OWD_LIMIT;
  limit_of_c.lower = 1e8;
  const conformity::Limit limit{.lower = 1e8};
  Random random(7);
  for (int i = 0; i < 2000; ++i) {
    const double ohm = random.one_in(30) ? unusual(random) : 1e6 * numerics::exp(random.within(0, 9));
    const Censoring censoring = random.one_in(10) ? Censoring::above : Censoring::exact;
    const double celsius = random.one_in(20) ? unusual(random) : random.within(-10, 60);
    owd_reading reading = OWD_READING;
    reading.value = ohm;
    reading.censoring = static_cast<owd_censoring>(censoring);
    reading.ambient_celsius = 9;
    const instruments::Measured measured =
        instruments::quantity(meter, {.value = ohm, .censoring = censoring, .ambient_celsius = 9});
    owd_quantity quantity, corrected;
    std::uint64_t findings = 0;
    ASSERT_EQ(owd_quantity_of(&of_c, &reading, &quantity, &findings), OWD_OK) << owd_last_error();
    EXPECT_EQ(findings, measured.findings.bits());
    EXPECT_SAME_BITS(quantity.value, measured.quantity.value);
    EXPECT_SAME_BITS(quantity.standard_uncertainty, measured.quantity.standard_uncertainty());
    const uncertainty::Quantity at_20 = temperature::to_reference(
        measured.quantity,
        {.law = law, .part_celsius = celsius, .standard_uncertainty_kelvin = 2, .reference_celsius = 20});
    const owd_conditions conditions = {celsius, 2, 20};
    ASSERT_EQ(owd_quantity_to_reference(&quantity, &law_of_c, &conditions, &corrected), OWD_OK);
    EXPECT_SAME_BITS(corrected.value, at_20.value);
    EXPECT_SAME_BITS(corrected.part[OWD_PART_LAW], at_20.parts[uncertainty::Part::law]);
    EXPECT_SAME_BITS(corrected.part[OWD_PART_TEMPERATURE], at_20.parts[uncertainty::Part::temperature]);
    EXPECT_EQ(corrected.status, number(at_20.status));
    const conformity::Judgement expected = conformity::judge(at_20, limit);
    owd_judgement judgement;
    ASSERT_EQ(owd_judge(&corrected, &limit_of_c, &judgement), OWD_OK);
    EXPECT_EQ(judgement.verdict, static_cast<int>(expected.verdict));
    EXPECT_EQ(judgement.undecided, static_cast<int>(expected.undecided));
    EXPECT_EQ(judgement.reason, static_cast<int>(expected.reason));
    EXPECT_SAME_BITS(judgement.acceptance_lower, expected.acceptance_lower);
    EXPECT_SAME_BITS(judgement.acceptance_upper, expected.acceptance_upper);
    EXPECT_SAME_BITS(judgement.probability_of_conformity, expected.probability_of_conformity);
  }
}

TEST(CInterface, BatchEqualsCppForEveryLaw) {
  Random random(11);
  std::vector<double> ohm, celsius;
  for (int i = 0; i < 1000; ++i) {
    ohm.push_back(random.one_in(20) ? unusual(random) : 1e6 * numerics::exp(random.within(0, 9)));
    celsius.push_back(random.one_in(20) ? unusual(random) : random.within(-30, 90));
  }
  const auto compare = [&](const owd_law& of_c, const auto& law) {
    std::vector<double> out(ohm.size()), expected(ohm.size());
    std::vector<owd_status> status(ohm.size());
    std::vector<Status> of_cpp(ohm.size());
    ASSERT_EQ(owd_to_reference(ohm.size(), ohm.data(), celsius.data(), &of_c, 25, 1, out.data(), status.data()),
              OWD_OK);
    formula::to_reference<std::decay_t<decltype(law)>>(ohm, celsius, law, expected, of_cpp, {.threads = 1});
    for (std::size_t i = 0; i < ohm.size(); ++i) {
      EXPECT_SAME_BITS(out[i], expected[i]);
      EXPECT_EQ(status[i], number(of_cpp[i]));
    }
  };
  owd_law law = OWD_LAW;
  law.constant = 10;
  law.fitted_low_celsius = 0;
  law.fitted_high_celsius = 60;
  law.kind = OWD_LAW_HALVING;
  compare(law, formula::Halving{.step_kelvin = 10, .reference_celsius = 25, .low_celsius = 0, .high_celsius = 60});
  law.kind = OWD_LAW_ARRHENIUS;
  law.constant = 0.6;
  compare(law,
          formula::Arrhenius{
              .activation_energy_electronvolt = 0.6, .reference_celsius = 25, .low_celsius = 0, .high_celsius = 60});
  law.kind = OWD_LAW_CONDUCTOR;
  law.constant = 234.5;
  compare(law, formula::Conductor{.tau_kelvin = 234.5, .reference_celsius = 25, .low_celsius = 0, .high_celsius = 60});
  law.kind = OWD_LAW_THERMOSETTING;
  formula::Thermosetting thermosetting = formula::thermosetting_ieee_43;
  thermosetting.reference_celsius = 25;
  compare(law, thermosetting);
  std::vector<double> out(ohm.size());
  const owd_attainable part = OWD_ATTAINABLE;
  const std::vector<double> farad(ohm.size(), 1e-8);
  ASSERT_EQ(owd_attainable_ratio(ohm.size(), ohm.data(), farad.data(), &part, out.data(), nullptr), OWD_OK);
  for (std::size_t i = 0; i < ohm.size(); ++i) {
    const double expected = formula::attainable_ratio({.early_ohm = ohm[i],
                                                       .capacitance_farad = farad[i],
                                                       .early_second = part.early_second,
                                                       .late_second = part.late_second})
                                .value;
    EXPECT_SAME_BITS(out[i], expected);
  }
  ASSERT_EQ(owd_resistance_ratio(ohm.size(), ohm.data(), celsius.data(), out.data(), nullptr), OWD_OK);
  for (std::size_t i = 0; i < ohm.size(); ++i)
    EXPECT_SAME_BITS(out[i], formula::resistance_ratio({.late_ohm = ohm[i], .early_ohm = celsius[i]}).value);
}

}  // namespace
}  // namespace ohmward::logging::testing
