#include <gtest/gtest.h>

#include <array>
#include <cmath>
#include <cstdio>
#include <cstring>
#include <memory>
#include <string_view>
#include <thread>
#include <type_traits>
#include <vector>

#include "ohmward/insulation/forecast.hpp"
#include "ohmward/insulation/settling.hpp"
#include "streams.hpp"

namespace ohmward::logging {
namespace {

using testing::Faults;
using testing::InsulationStream;

bool same(double one, double other) {
  return std::memcmp(&one, &other, sizeof one) == 0 || (one != one && other != other);
}

/// Everything that a log can tell, as one hash.
std::uint64_t told(const AbsorptionLog& log) {
  testing::Hash h;
  add(h, log.ratio());
  add(h, log.early());
  add(h, log.late());
  add(h, log.latest());
  add(h, log.settling());
  add(h, log.charging());
  add(h, log.counts());
  h.add(static_cast<std::uint64_t>(log.contact()));
  h.add(testing::record_hash(log));
  return h.value();
}

AbsorptionConfig usual() {
  return {.test_voltage_volt = 1000,
          .early_second = 30,
          .late_second = 90,
          .source_ampere = 1e-3,
          .relative_standard_uncertainty = 0.004,
          .capacitance_farad = 2e-8};
}

/// What the office would enter for a sample.
insulation::Sample entered(const Sample& s) {
  insulation::Sample sample{
      .time_second = s.time_second, .resistance_ohm = s.resistance_ohm, .applied_volt = s.applied_volt};
  if (sample.resistance_ohm != sample.resistance_ohm) {
    const Checked<double> ohm = formula::resistance_by_current_ohm(s.applied_volt, s.current_ampere);
    sample.resistance_ohm = ohm.status == Status::out_of_domain ? -1 : ohm.value;
  }
  sample.censoring = censoring_of(s.flags, sample.resistance_ohm);
  return sample;
}

TEST(AbsorptionLog, PushingEqualsTheOfficeBitForBit) {
  int with_value = 0, contradictory = 0;
  for (std::uint64_t seed = 0; seed < 120; ++seed) {
    InsulationStream stream(seed, {.one_in = seed % 3 == 0 ? 0U : 15U});
    AbsorptionLog log(usual());
    std::vector<insulation::Sample> samples;
    for (int i = 1; i <= 200; ++i) {
      const Sample sample = stream.next();
      static_cast<void>(log.push(sample));
      samples.push_back(entered(sample));
      if (i % 23 != 0 && i != 200) continue;
      const insulation::TimedRun run(
          samples, {.test_voltage_volt = 1000, .source_ampere = 1e-3, .relative_standard_uncertainty = 0.004});
      const uncertainty::Quantity index = run.ratio({.late_second = 90, .early_second = 30});
      const RunRatio ratio = log.ratio();
      ASSERT_TRUE(same(ratio.value, index.value)) << seed << ' ' << i;
      ASSERT_EQ(ratio.status, index.status) << seed << ' ' << i;
      ASSERT_EQ(ratio.censoring, index.censoring);
      if (has_value(ratio.status)) {
        ASSERT_NEAR(ratio.relative_standard_uncertainty, index.parts[uncertainty::Part::reading], 1e-15);
      }
      const insulation::SettlingState office =
          insulation::settling(run, {.capacitance = {.high_farad = 2e-8}}, insulation::SettlingTailOf::compact);
      const formula::SettlingState state = log.settling();
      ASSERT_EQ(state.state, office.state);
      ASSERT_EQ(state.status, office.status);
      ASSERT_TRUE(same(state.slope, office.slope));
      ASSERT_TRUE(same(state.slope_standard_uncertainty, office.slope_standard_uncertainty));
      ASSERT_TRUE(same(state.may_stop_second, office.may_stop_second));
      with_value += has_value(ratio.status) ? 1 : 0;
      contradictory += ratio.status == Status::contradiction ? 1 : 0;
    }
  }
  EXPECT_GT(with_value, 100);
  EXPECT_GT(contradictory, 20);
}

TEST(AbsorptionLog, ForecastsTheOfficesCompactForecast) {
  const auto memory = std::make_unique<ForecastMemory>();
  const auto library = std::make_unique<ForecastLibrary>();
  int with_value = 0;
  for (std::uint64_t seed = 0; seed < 6; ++seed) {
    InsulationStream stream(seed, {.one_in = seed % 2 == 0 ? 0U : 40U});
    AbsorptionConfig config{.test_voltage_volt = 1000, .source_ampere = 1e-3};
    config.drift_kelvin = seed == 4 ? 3 : 0;
    AbsorptionLog log(config);
    std::vector<insulation::Sample> samples;
    for (int i = 1; i <= 130; ++i) {
      const Sample sample = stream.next();
      static_cast<void>(log.push(sample));
      samples.push_back(entered(sample));
    }
    const std::vector<insulation::TimedRun> run{
        insulation::TimedRun(samples, {.test_voltage_volt = 1000, .source_ampere = 1e-3})};
    const formula::Forecast office = insulation::forecast(
        run, {.target = {.drift_kelvin = config.drift_kelvin}, .mode = formula::forecast_compact}, 1)[0];
    log.begin_library(*library, *memory);
    if (memory->grid.features > 0) {
      EXPECT_EQ(log.forecast(0.95, *memory, library.get()).status, Status::contradiction);
    }
    while (library->fill(memory->grid, log.forecast_target(), 100)) {
    }
    const formula::Forecast kept = log.forecast(0.95, *memory, library.get());
    const formula::Forecast anew = log.forecast(0.95, *memory);
    for (const formula::Forecast& f : {kept, anew}) {
      EXPECT_EQ(f.status, office.status) << seed;
      EXPECT_TRUE(same(f.value, office.value) && same(f.low, office.low) && same(f.high, office.high)) << seed;
      EXPECT_TRUE(same(f.kernel_width, office.kernel_width) && same(f.noise, office.noise));
      for (int k = 0; k < formula::forecast_mechanisms; ++k) EXPECT_TRUE(same(f.mechanism[k], office.mechanism[k]));
    }
    with_value += has_value(kept.status) ? 1 : 0;
    // One sample more, and the library is of another grid.
    Sample next = stream.next();
    if (has_value(kept.status) && log.push(next) == Status::sound && next.time_second <= 600) {
      EXPECT_EQ(log.forecast(0.95, *memory, library.get()).status, Status::contradiction);
    }
  }
  EXPECT_GE(with_value, 3);
}

TEST(AbsorptionLog, TicksThatWrapGiveTheTimesOfTheSecondsThatTheyAre) {
  constexpr std::uint32_t start = ~std::uint32_t{0} - 20'000;
  AbsorptionConfig config = usual();
  AbsorptionLog seconds(config);
  config.time_base = TimeBase::tick_millisecond;
  AbsorptionLog ticks(config, start);
  for (std::uint32_t ms = 250; ms <= 120'000; ms += 250) {
    const double ohm = 1e9 * (1 + ms / 60000.0);
    ASSERT_EQ(seconds.push({.time_second = ms / 1000.0, .resistance_ohm = ohm}),
              ticks.push({.tick_millisecond = start + ms, .resistance_ohm = ohm}));
  }
  EXPECT_EQ(ticks.counts().tick_wraps, 1U);
  EXPECT_TRUE(same(seconds.ratio().value, ticks.ratio().value));
  EXPECT_EQ(seconds.ratio().status, Status::sound);
  EXPECT_TRUE(same(seconds.settling().slope, ticks.settling().slope));
  EXPECT_EQ(ticks.push({.tick_millisecond = start + 120'000, .resistance_ohm = 1e9}), Status::contradiction);
  EXPECT_EQ(ticks.push({.tick_millisecond = start + 119'000, .resistance_ohm = 1e9}), Status::contradiction);
  EXPECT_EQ(ticks.counts().doubled, 1U);
  EXPECT_EQ(ticks.counts().out_of_order, 1U);
}

TEST(AbsorptionLog, NothingThatCanNotBeIsBelieved) {
  AbsorptionLog log(usual());
  EXPECT_EQ(log.push({.time_second = 1, .resistance_ohm = 1e9}), Status::sound);
  for (const double bad : {infinity, -infinity, 0.0, -0.0, -1.0, 5e-324, 1e-310}) {
    EXPECT_EQ(log.push({.time_second = 2, .resistance_ohm = bad}), Status::out_of_domain);
    EXPECT_EQ(log.push({.time_second = 2, .applied_volt = bad, .current_ampere = 1e-6}), Status::out_of_domain);
    EXPECT_EQ(log.push({.time_second = 2, .applied_volt = 1000, .current_ampere = bad}), Status::out_of_domain);
  }
  EXPECT_EQ(log.push({.time_second = 2}), Status::missing_input);
  EXPECT_EQ(log.push({.time_second = nan, .resistance_ohm = 1e9}), Status::missing_input);
  EXPECT_EQ(log.push({.time_second = infinity, .resistance_ohm = 1e9}), Status::out_of_domain);
  EXPECT_EQ(log.push({.time_second = -1, .resistance_ohm = 1e9}), Status::out_of_domain);
  EXPECT_EQ(log.push({.time_second = 1, .resistance_ohm = 1e9}), Status::contradiction);
  EXPECT_EQ(log.push({.time_second = 0.5, .resistance_ohm = 1e9}), Status::contradiction);
  EXPECT_EQ(log.push({.time_second = 2, .resistance_ohm = nan, .flags = bit(SampleFlag::over_range)}),
            Status::bound_only);
  const Counts& c = log.counts();
  EXPECT_EQ(c.impossible, 23U);
  EXPECT_EQ(c.missing, 2U);
  EXPECT_EQ(c.doubled, 1U);
  EXPECT_EQ(c.out_of_order, 1U);
  EXPECT_EQ(c.over_range, 1U);
  EXPECT_EQ(c.taken, 2U);
  EXPECT_EQ(c.samples, c.taken + c.missing + c.impossible + c.doubled + c.out_of_order);
}

TEST(AbsorptionLog, ASlipIsLeftOutAndCounted) {
  AbsorptionLog log(usual());
  for (int t = 1; t <= 100; ++t)
    static_cast<void>(log.push({.time_second = static_cast<double>(t), .resistance_ohm = t == 30 ? 1e6 : 1e9}));
  EXPECT_EQ(log.counts().slips, 1U);
  EXPECT_NEAR(log.ratio().value, 1, 1e-12);
  AbsorptionLog first(usual());
  for (int t = 1; t <= 100; ++t)
    static_cast<void>(first.push({.time_second = static_cast<double>(t), .resistance_ohm = t == 1 ? 1e6 : 1e9}));
  EXPECT_EQ(first.counts().slips, 1U);
  EXPECT_EQ(first.counts().taken, 99U);
  AbsorptionLog jumps(usual());
  for (int t = 1; t <= 100; ++t)
    static_cast<void>(jumps.push({.time_second = static_cast<double>(t), .resistance_ohm = t < 50 ? 1e6 : 1e9}));
  EXPECT_EQ(jumps.counts().jumps, 1U);
  EXPECT_EQ(jumps.ratio().status, Status::contradiction);
}

TEST(AbsorptionLog, ASenselessConfigurationAnswersSoForEver) {
  const auto field = [](auto change) {
    AbsorptionConfig config = usual();
    change(config);
    AbsorptionLog log;
    const Fault fault = log.init(config);
    EXPECT_TRUE(static_cast<bool>(fault));
    EXPECT_NE(fault.expected, nullptr);
    EXPECT_EQ(log.push({.time_second = 1, .resistance_ohm = 1e9}), Status::not_configured);
    EXPECT_EQ(log.ratio().status, Status::not_configured);
    EXPECT_EQ(log.early().status, Status::not_configured);
    EXPECT_EQ(log.late().status, Status::not_configured);
    EXPECT_EQ(log.latest().status, Status::not_configured);
    EXPECT_EQ(log.settling().status, Status::not_configured);
    EXPECT_EQ(log.charging().status, Status::not_configured);
    EXPECT_EQ(log.contact(), formula::Contact::not_shown);
    ForecastMemory memory;
    EXPECT_EQ(log.forecast(0.95, memory).status, Status::not_configured);
    EXPECT_EQ(log.counts().samples, 0U);
    return std::string_view(fault.field);
  };
  EXPECT_EQ(field([](AbsorptionConfig& c) { c.test_voltage_volt = 0; }), "test_voltage_volt");
  EXPECT_EQ(field([](AbsorptionConfig& c) { c.early_second = nan; }), "early_second");
  EXPECT_EQ(field([](AbsorptionConfig& c) { c.early_second = 4; }), "early_second");
  EXPECT_EQ(field([](AbsorptionConfig& c) { c.late_second = c.early_second; }), "late_second");
  EXPECT_EQ(field([](AbsorptionConfig& c) { c.late_second = 4000; }), "late_second");
  EXPECT_EQ(field([](AbsorptionConfig& c) { c.source_ampere = -1; }), "source_ampere");
  EXPECT_EQ(field([](AbsorptionConfig& c) { c.relative_standard_uncertainty = -1; }), "relative_standard_uncertainty");
  EXPECT_EQ(field([](AbsorptionConfig& c) { c.gain_relative_standard_uncertainty = nan; }),
            "gain_relative_standard_uncertainty");
  EXPECT_EQ(field([](AbsorptionConfig& c) { c.capacitance_farad = infinity; }), "capacitance_farad");
  EXPECT_EQ(field([](AbsorptionConfig& c) { c.least_visible_change = 0; }), "least_visible_change");
  EXPECT_EQ(field([](AbsorptionConfig& c) { c.loss_factor = 5e-324; }), "loss_factor");
  EXPECT_EQ(field([](AbsorptionConfig& c) { c.drift_kelvin = -1; }), "drift_kelvin");
  EXPECT_EQ(field([](AbsorptionConfig& c) { c.current_per_kelvin = 1; }), "current_per_kelvin");
  EXPECT_EQ(field([](AbsorptionConfig& c) { c.time_base = static_cast<TimeBase>(7); }), "time_base");
  EXPECT_EQ(AbsorptionLog{}.ratio().status, Status::not_configured);
}

TEST(AbsorptionLog, ResetEqualsNew) {
  InsulationStream stream(3, {.one_in = 10});
  AbsorptionLog used(usual()), fresh(usual());
  for (int i = 0; i < 100; ++i) static_cast<void>(used.push(stream.next()));
  used.reset();
  EXPECT_EQ(told(used), told(fresh));
  InsulationStream again(4, {.one_in = 10});
  for (int i = 0; i < 100; ++i) {
    const Sample sample = again.next();
    EXPECT_EQ(used.push(sample), fresh.push(sample));
  }
  EXPECT_EQ(told(used), told(fresh));
}

TEST(AbsorptionLog, AResumedRunEqualsOneWithoutABreak) {
  for (int cut_after = 0; cut_after < 120; cut_after += 7) {
    InsulationStream stream(5, {.one_in = 8});
    AbsorptionLog whole(usual()), before(usual()), after;
    for (int i = 0; i < cut_after; ++i) {
      const Sample sample = stream.next();
      static_cast<void>(whole.push(sample));
      static_cast<void>(before.push(sample));
    }
    std::array<std::uint8_t, greatest_record> record{};
    const std::size_t size = before.save(record.data(), record.size());
    EXPECT_EQ(size, AbsorptionLog::record_bytes());
    EXPECT_EQ(before.save(record.data(), size - 1), 0U);
    ASSERT_EQ(after.resume(record.data(), size, Resume::continued), Status::sound);
    for (int i = cut_after; i < 120; ++i) {
      const Sample sample = stream.next();
      EXPECT_EQ(whole.push(sample), after.push(sample));
    }
    EXPECT_EQ(told(whole), told(after));
  }
}

TEST(AbsorptionLog, ACutRunSaysSo) {
  AbsorptionLog log(usual()), later;
  for (int t = 1; t <= 100; ++t)
    static_cast<void>(log.push({.time_second = static_cast<double>(t), .resistance_ohm = 1e9}));
  std::array<std::uint8_t, greatest_record> record{};
  const std::size_t size = log.save(record.data(), record.size());
  EXPECT_EQ(later.resume(record.data(), size, Resume::cut), Status::run_cut);
  EXPECT_TRUE(later.cut());
  EXPECT_TRUE(same(later.ratio().value, log.ratio().value));
  EXPECT_EQ(later.ratio().status, Status::run_cut);
  EXPECT_EQ(later.settling().status, Status::run_cut);
  EXPECT_EQ(later.push({.time_second = 200, .resistance_ohm = 1e9}), Status::contradiction);
  EXPECT_EQ(later.counts().refused, 1U);
  // It stays cut, also when it is saved again.
  const std::size_t again = later.save(record.data(), record.size());
  AbsorptionLog last;
  EXPECT_EQ(last.resume(record.data(), again, Resume::continued), Status::run_cut);
}

TEST(AbsorptionLog, ADamagedRecordIsRefused) {
  AbsorptionLog log(usual());
  for (int t = 1; t <= 40; ++t)
    static_cast<void>(log.push({.time_second = static_cast<double>(t), .resistance_ohm = 1e9}));
  std::array<std::uint8_t, greatest_record> record{};
  const std::size_t size = log.save(record.data(), record.size());
  for (std::size_t length = 0; length < size; ++length) {
    AbsorptionLog other(usual());
    ASSERT_EQ(other.resume(record.data(), length, Resume::continued), Status::record_damaged) << length;
    ASSERT_EQ(other.ratio().status, Status::not_configured);
  }
  for (std::size_t i = 0; i < size; ++i) {
    record[i] ^= 0x10;
    AbsorptionLog other;
    ASSERT_EQ(other.resume(record.data(), size, Resume::continued), Status::record_damaged) << i;
    record[i] ^= 0x10;
  }
  RunningMean mean;
  EXPECT_EQ(mean.resume(record.data(), size, Resume::continued), Status::record_damaged);
  EXPECT_EQ(log.resume(nullptr, 0, Resume::continued), Status::record_damaged);
  // A whole record of what can not be: an early time of NaN, with the right sum.
  AbsorptionLog good(usual());
  const std::size_t length = good.save(record.data(), record.size());
  for (std::size_t i = 16; i < 24; ++i) record[i] = 0xFF;
  const std::uint32_t sum = detail::crc32(record.data(), length - 4);
  for (std::size_t i = 0; i < 4; ++i) record[length - 4 + i] = static_cast<std::uint8_t>(sum >> (8 * i));
  EXPECT_EQ(good.resume(record.data(), length, Resume::continued), Status::record_damaged);
  EXPECT_EQ(good.ratio().status, Status::not_configured);
}

TEST(AbsorptionLog, TheRecordsBytesAreFixed) {
  // CRC-32 of "123456789" is 0xCBF43926 (the check value of this polynomial in every catalogue of them).
  const std::uint8_t digits[] = {'1', '2', '3', '4', '5', '6', '7', '8', '9'};
  EXPECT_EQ(detail::crc32(digits, sizeof digits), 0xCBF43926U);
  RunningMean mean{{.display_step = 1}};
  std::array<std::uint8_t, greatest_record> record{};
  const std::size_t size = mean.save(record.data(), record.size());
  const std::array<std::uint8_t, 16> head{'O', 'W', 'L', 'G', 1,    5,   static_cast<std::uint8_t>(size), 0, 0, 0,
                                          0,   0,   0,   0,   0xF0, 0x3F};
  EXPECT_EQ(std::memcmp(record.data(), head.data(), head.size()), 0);
}

TEST(AbsorptionLog, SeesThePartCharge) {
  // 10 nF through 1 mA to 1000 V in 10 ms, then 1 uA of conduction.
  AbsorptionLog log(usual());
  EXPECT_EQ(log.charging().status, Status::too_few_points);
  for (int k = 0; k <= 40; ++k) {
    const double t = 0.0005 * k, volt = t < 0.01 ? 1e5 * t : 1000;
    static_cast<void>(log.push({.time_second = t,
                                .applied_volt = volt,
                                .current_ampere = volt < 1000 ? 1e-3 + 1e-9 * volt : 1e-6,
                                .resistance_ohm = nan,
                                .flags = bit(SampleFlag::over_range)}));
  }
  const formula::ChargingState state = log.charging();
  EXPECT_EQ(state.status, Status::sound);
  EXPECT_NEAR(state.capacitance_farad, 1e-8, 1e-10);
  EXPECT_LE(state.low_farad, state.capacitance_farad);
  EXPECT_LE(state.capacitance_farad, state.high_farad);
  EXPECT_EQ(log.contact(), formula::Contact::by_charging);
  AbsorptionLog open(usual());
  static_cast<void>(open.push({.time_second = 1, .applied_volt = 1000, .flags = bit(SampleFlag::over_range)}));
  EXPECT_EQ(open.contact(), formula::Contact::not_shown);
  static_cast<void>(open.push({.time_second = 2, .resistance_ohm = 1e9}));
  EXPECT_EQ(open.contact(), formula::Contact::by_reading);
}

TEST(AbsorptionLog, ARangeChangeBetweenTheTimesKeepsTheGain) {
  AbsorptionConfig config = usual();
  config.gain_relative_standard_uncertainty = 0.03;
  AbsorptionLog steady(config), changed(config);
  for (int t = 1; t <= 100; ++t) {
    Sample sample{.time_second = static_cast<double>(t), .resistance_ohm = 1e9};
    static_cast<void>(steady.push(sample));
    if (t == 60) sample.flags = bit(SampleFlag::range_changed);
    static_cast<void>(changed.push(sample));
  }
  EXPECT_NEAR(steady.ratio().relative_standard_uncertainty, 0.004 * std::sqrt(2.0), 1e-15);
  EXPECT_NEAR(changed.ratio().relative_standard_uncertainty, std::sqrt(2 * (0.004 * 0.004 + 0.03 * 0.03)), 1e-15);
}

TEST(AbsorptionLog, TwoTasksWithALogEachDoNotMeet) {
  const auto work = [](std::uint64_t seed, std::uint64_t& result) {
    InsulationStream stream(seed, {.one_in = 10});
    AbsorptionLog log(usual());
    for (int i = 0; i < 2000; ++i) static_cast<void>(log.push(stream.next()));
    const auto memory = std::make_unique<ForecastMemory>();
    testing::Hash h;
    add(h, log.ratio());
    add(h, log.settling());
    formula::forecast_grid({}, memory->grid);
    result = h.value();
  };
  std::uint64_t alone = 0, one = 0, other = 0;
  work(1, alone);
  std::thread first(work, 1, std::ref(one)), second(work, 1, std::ref(other));
  first.join();
  second.join();
  EXPECT_EQ(one, alone);
  EXPECT_EQ(other, alone);
}

TEST(Memory, IsFixedAndSmall) {
  const auto print = []<class Log>(const char* name, const Log&) {
    static_assert(std::is_trivially_copyable_v<Log> && std::is_trivially_destructible_v<Log>);
    std::printf("%-20s %5zu bytes, record %5zu bytes\n", name, sizeof(Log), Log::record_bytes());
    EXPECT_LE(sizeof(Log), 4096U);
    EXPECT_LE(Log::record_bytes(), greatest_record);
  };
  print("AbsorptionLog", AbsorptionLog{});
  print("RestingVoltageLog", RestingVoltageLog{});
  print("LinkDischargeLog", LinkDischargeLog{});
  print("BondingLog", BondingLog{});
  print("RunningMean", RunningMean{});
  std::printf("%-20s %5zu bytes\n%-20s %5zu bytes\n%-20s %5zu bytes\n", "ForecastSums", sizeof(formula::ForecastSums),
              "ForecastMemory", sizeof(ForecastMemory), "ForecastLibrary", sizeof(ForecastLibrary));
  EXPECT_LE(sizeof(formula::ForecastSums), 1024U);
}

}  // namespace
}  // namespace ohmward::logging
