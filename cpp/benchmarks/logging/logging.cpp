// Prints the time of each call of each log, the least of many rounds.

#include <chrono>
#include <cstdio>
#include <memory>
#include <vector>

#include "ohmward_c/embedded.h"
#include "streams.hpp"

namespace ohmward::logging::testing {
namespace {

volatile double sink;

/// Least time of a call over rounds [ns]. begin() is not counted; call(i) is made `times` times.
template <class Begin, class Call>
void print(const char* name, int rounds, int times, const Begin& begin, const Call& call) {
  double least = infinity;
  for (int round = 0; round < rounds; ++round) {
    begin();
    const auto start = std::chrono::steady_clock::now();
    for (int i = 0; i < times; ++i) call(i);
    const std::chrono::duration<double, std::nano> all = std::chrono::steady_clock::now() - start;
    least = all.count() / times < least ? all.count() / times : least;
  }
  std::printf("%-48s %12.1f ns\n", name, least);
}

template <class Item, class Stream>
std::vector<Item> taken(Stream stream, int count) {
  std::vector<Item> items;
  for (int i = 0; i < count; ++i) items.push_back(stream.next());
  return items;
}

}  // namespace

void print_all() {
  constexpr int count = 550;  // to 550 s: every one of them is in the sums
  Random random(1);
  std::vector<Sample> by_current, by_ohm, by_tick;
  for (int i = 1; i <= count; ++i) {
    const double ohm = 1e9 * numerics::pow(i, 0.4) * (1 + 0.005 * random.normal());
    by_current.push_back({.time_second = 1.0 * i, .applied_volt = 1000, .current_ampere = 1000 / ohm});
    by_ohm.push_back({.time_second = 1.0 * i, .resistance_ohm = ohm});
    by_tick.push_back({.tick_millisecond = 1000U * static_cast<std::uint32_t>(i),
                       .applied_volt = 1000,
                       .current_ampere = 1000 / ohm});
  }
  AbsorptionConfig config{.test_voltage_volt = 1000, .source_ampere = 1e-3};
  AbsorptionLog log;
  const auto push = [&log](const std::vector<Sample>& samples) {
    return [&log, &samples](int i) { static_cast<void>(log.push(samples[static_cast<std::size_t>(i)])); };
  };
  const auto begin = [&log, &config] { static_cast<void>(log.init(config)); };
  config.forecast = false;
  print("AbsorptionLog::push, no forecast sums, R", 4000, count, begin, push(by_ohm));
  print("AbsorptionLog::push, no forecast sums, U and I", 4000, count, begin, push(by_current));
  config.forecast = true;
  print("AbsorptionLog::push, forecast sums, U and I", 4000, count, begin, push(by_current));
  config.time_base = TimeBase::tick_millisecond;
  print("the same by ticks", 4000, count, begin, push(by_tick));
  config.time_base = TimeBase::second;
  begin();
  for (const Sample& sample : by_current) static_cast<void>(log.push(sample));
  const auto nothing = [] {};
  print("AbsorptionLog::settling", 500, 100, nothing, [&](int) { sink = log.settling().slope; });
  const auto memory = std::make_unique<ForecastMemory>();
  const auto library = std::make_unique<ForecastLibrary>();
  print("AbsorptionLog::begin_library and all 4096 curves", 10, 1, nothing, [&](int) {
    log.begin_library(*library, *memory);
    static_cast<void>(library->fill(memory->grid, log.forecast_target(), ForecastLibrary::curves));
  });
  print("AbsorptionLog::forecast from the library", 20, 1, nothing,
        [&](int) { sink = log.forecast(0.95, *memory, library.get()).value; });
  print("AbsorptionLog::forecast, curves made anew", 5, 1, nothing,
        [&](int) { sink = log.forecast(0.95, *memory).value; });
  static std::uint8_t record[greatest_record];
  print("AbsorptionLog::save", 500, 10, nothing,
        [&](int) { sink = static_cast<double>(log.save(record, sizeof record)); });

  const std::vector<VoltageSample> rests = taken<VoltageSample>(VoltageStream(1, {}, false), count);
  const std::vector<VoltageSample> decays = taken<VoltageSample>(VoltageStream(1, {}, true), count);
  RestingVoltageLog rest;
  print(
      "RestingVoltageLog::push", 4000, count,
      [&] { static_cast<void>(rest.init({.standard_uncertainty_volt = 0.002})); },
      [&](int i) { static_cast<void>(rest.push(rests[static_cast<std::size_t>(i)])); });
  print("RestingVoltageLog::state", 500, 100, nothing, [&](int) { sink = rest.state().change_volt; });
  LinkDischargeLog link;
  print(
      "LinkDischargeLog::push", 4000, count, [&] { static_cast<void>(link.init({.standard_uncertainty_volt = 0.5})); },
      [&](int i) { static_cast<void>(link.push(decays[static_cast<std::size_t>(i)])); });
  print("LinkDischargeLog::state", 500, 100, nothing, [&](int) { sink = link.state().threshold_second; });
  RunningMean mean;
  print(
      "RunningMean::push", 4000, count, [&] { static_cast<void>(mean.init({})); },
      [&](int i) { static_cast<void>(mean.push(rests[static_cast<std::size_t>(i)].voltage_volt)); });
  sink = mean.state().mean;  // else nothing of it is left to measure
}

/// The same samples through the C interface, from the shared library.
void print_c() {
  constexpr int count = 550;
  Random random(1);
  std::vector<owd_sample> by_current, by_ohm;
  for (int i = 1; i <= count; ++i) {
    const double ohm = 1e9 * numerics::pow(i, 0.4) * (1 + 0.005 * random.normal());
    by_current.push_back({1.0 * i, 1000, 1000 / ohm, nan, 0, 0, {}});
    by_ohm.push_back({1.0 * i, nan, nan, ohm, 0, 0, {}});
  }
  owd_absorption_log log;
  owd_absorption_log_config config = OWD_ABSORPTION_LOG_CONFIG;
  config.test_voltage_volt = 1000;
  config.source_ampere = 1e-3;
  const auto begin = [&] { sink = owd_absorption_log_init(&log, sizeof log, &config); };
  const auto push = [&log](const std::vector<owd_sample>& samples) {
    return [&log, &samples](int i) {
      owd_status status = 0;
      static_cast<void>(owd_absorption_log_push(&log, &samples[static_cast<std::size_t>(i)], &status));
    };
  };
  config.forecast = 0;
  print("owd_absorption_log_push, no forecast sums, R", 4000, count, begin, push(by_ohm));
  print("owd_absorption_log_push, no forecast, U and I", 4000, count, begin, push(by_current));
  config.forecast = 1;
  print("owd_absorption_log_push, forecast, U and I", 4000, count, begin, push(by_current));
  owd_forecast_memory memory;
  print("owd_self_test", 20, 1, [] {}, [&](int) { sink = owd_self_test(&memory, sizeof memory, nullptr); });
}

}  // namespace ohmward::logging::testing

int main() {
  ohmward::logging::testing::print_all();
  ohmward::logging::testing::print_c();
  return 0;
}
