// Figures of a Cortex-M4 with software doubles, printed: instructions a call, stack along the deepest path.
//
#include <stdio.h>

#include "bare_metal/measure.hpp"
#include "streams.hpp"

namespace ohmward::logging::testing {
namespace {

ForecastMemory memory;
ForecastLibrary library;
AbsorptionLog log_of;
std::uint8_t record[greatest_record];
Sample samples[512];
VoltageSample volts[512];
JointSample joints[512];
formula::Forecast told;
formula::ForecastSums sums_of_run;
volatile double sink;

}  // namespace

void print_figures() {
  const AbsorptionConfig config{.test_voltage_volt = 1000,
                                .source_ampere = 1e-3,
                                .relative_standard_uncertainty = 0.01,
                                .capacitance_farad = 1e-8,
                                .time_base = TimeBase::tick_millisecond};
  InsulationStream stream(2, {});
  for (Sample& sample : samples) sample = stream.next();
  AbsorptionConfig without = config;
  without.forecast = false;
  static_cast<void>(log_of.init(without, stream.start_tick()));
  print("AbsorptionLog::push without forecast sums", 150, [](int i) { static_cast<void>(log_of.push(samples[i])); });
  static_cast<void>(log_of.init(config, stream.start_tick()));
  for (int i = 0; i < 151; ++i)
    sums_of_run.push(samples[i].time_second, numerics::log(samples[i].current_ampere / samples[i].applied_volt));
  print("AbsorptionLog::push with forecast sums", 150, [](int i) { static_cast<void>(log_of.push(samples[i])); });
  static AbsorptionLog early{{.early_second = 10, .late_second = 30, .forecast = false}};
  for (int i = 0; i < 200; ++i) static_cast<void>(early.push(samples[i]));
  print("AbsorptionLog::ratio", 20, [](int) { sink = early.ratio().value; });
  print("AbsorptionLog::settling", 20, [](int) { sink = log_of.settling().slope; });
  print("AbsorptionLog::charging", 20, [](int) { sink = log_of.charging().low_farad; });
  print("AbsorptionLog::save", 4, [](int) { sink = static_cast<double>(log_of.save(record, sizeof record)); });
  print("AbsorptionLog::resume", 4,
        [](int) { static_cast<void>(log_of.resume(record, sizeof record, Resume::continued)); });
  print("AbsorptionLog::begin_library", 1, [](int) { log_of.begin_library(library, memory); });
  print("ForecastLibrary::fill, 16 of 4096 curves", 255,
        [](int) { static_cast<void>(library.fill(memory.grid, log_of.forecast_target(), 16)); });
  print("AbsorptionLog::forecast from the library", 1, [](int) { told = log_of.forecast(0.95, memory, &library); });
  printf("  forecast %.17g (%.17g ... %.17g), status %d\n", told.value, told.low, told.high,
         static_cast<int>(told.status));
  // Without a library every pass makes its curves anew; 128 of the 4096 go the same way down.
  static constexpr formula::ForecastMode few{128, 8, 0, 256, 0.02, 26};
  print("the same without a library, 128 curves", 1, [](int) {
    const formula::ForecastTarget target = log_of.forecast_target();
    told = formula::forecast_ratio(sums_of_run, memory.grid, formula::ForecastRegenerated{memory.grid, target}, few,
                                   target, 0.95, {.histogram = memory.histogram, .scratch = &memory.scratch});
  });
  static RestingVoltageLog rest{{.standard_uncertainty_volt = 0.002}};
  VoltageStream voltages(1, {}, false);
  for (VoltageSample& sample : volts) sample = voltages.next();
  print("RestingVoltageLog::push", 500, [](int i) { static_cast<void>(rest.push(volts[i])); });
  print("RestingVoltageLog::state", 20, [](int) { sink = rest.state().change_volt; });
  static LinkDischargeLog link{{.standard_uncertainty_volt = 0.5}};
  VoltageStream decay(1, {}, true);
  for (VoltageSample& sample : volts) sample = decay.next();
  print("LinkDischargeLog::push", 500, [](int i) { static_cast<void>(link.push(volts[i])); });
  print("LinkDischargeLog::state", 20, [](int) { sink = link.state().threshold_second; });
  static BondingLog bonding{{.standard_uncertainty_ohm = 0.001}};
  JointStream of_joints(1, {});
  for (JointSample& sample : joints) sample = of_joints.next(false);
  print("BondingLog::push", 500, [](int i) { static_cast<void>(bonding.push(joints[i])); });
  print("BondingLog::joint", 20, [](int) { sink = bonding.joint().resistance_ohm; });
  static RunningMean mean{{}};
  print("RunningMean::push", 500, [](int i) { static_cast<void>(mean.push(volts[i].voltage_volt)); });
  print("RunningMean::state", 20, [](int) { sink = mean.state().mean; });
  printf("deepest stack %d bytes\n", deepest);
}

}  // namespace ohmward::logging::testing

int main() {
  ohmward::logging::testing::print_figures();
  return 0;
}
