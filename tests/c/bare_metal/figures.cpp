// Figures of the C interface on a Cortex-M4 with software doubles, printed: instructions a call, stack of each call.

#include "bare_metal/measure.hpp"
#include "ohmward_c/embedded.h"
#include "streams.hpp"

namespace ohmward::logging::testing {
namespace {

owd_absorption_log absorption;
owd_resting_voltage_log resting;
owd_link_discharge_log link_log;
owd_bonding_log bonding;
owd_running_mean mean, other;
owd_forecast_memory memory;
owd_forecast_library library;
std::uint8_t record[OWD_GREATEST_RECORD];
std::size_t written;
owd_status status;
owd_sample samples[512];
owd_voltage_sample volts[512], falling[512];
owd_joint_sample joints[512];
owd_ratio ratio;
owd_spot spot;
owd_settling settling;
owd_charging charging;
owd_forecast forecast;
owd_resting rest;
owd_decay decay;
owd_joint joint;
owd_mean so_far;
owd_counts counts;
owd_fault fault;
owd_accuracy accuracy;
owd_self_test_result self_test;
volatile owd_error said;

void make_samples(InsulationStream& stream) {
  for (owd_sample& sample : samples) {
    const Sample s = stream.next();
    sample = {s.time_second, s.applied_volt, s.current_ampere, s.resistance_ohm, s.tick_millisecond, s.flags, {}};
  }
  VoltageStream settles(1, {}, false), decays(1, {}, true);
  for (int i = 0; i < 512; ++i) {
    const VoltageSample s = settles.next(), d = decays.next();
    volts[i] = {s.time_second, s.voltage_volt, s.tick_millisecond, s.flags, {}};
    falling[i] = {d.time_second, d.voltage_volt, d.tick_millisecond, d.flags, {}};
  }
  JointStream of_joints(1, {});
  for (owd_joint_sample& sample : joints) {
    const JointSample s = of_joints.next(false);
    sample = {s.time_second, s.resistance_ohm, s.test_ampere, s.tick_millisecond, s.flags, {}};
  }
}

void print_insulation(const InsulationStream& stream) {
  static owd_absorption_log_config config = OWD_ABSORPTION_LOG_CONFIG;
  config.test_voltage_volt = 1000;
  config.source_ampere = 1e-3;
  config.relative_standard_uncertainty = 0.01;
  config.capacitance_farad = 1e-8;
  config.time_base = OWD_TIME_TICK_MILLISECOND;
  config.start_tick_millisecond = stream.start_tick();
  print("owd_absorption_log_check", 4, [](int) { said = owd_absorption_log_check(&config, &fault); });
  config.forecast = 0;
  print("owd_absorption_log_init", 4,
        [](int) { said = owd_absorption_log_init(&absorption, sizeof absorption, &config); });
  print("owd_absorption_log_push without forecast sums", 150,
        [](int i) { said = owd_absorption_log_push(&absorption, &samples[i], &status); });
  config.forecast = 1;
  said = owd_absorption_log_init(&absorption, sizeof absorption, &config);
  print("owd_absorption_log_push with forecast sums", 150,
        [](int i) { said = owd_absorption_log_push(&absorption, &samples[i], &status); });
  print("owd_absorption_log_ratio", 20, [](int) { said = owd_absorption_log_ratio(&absorption, &ratio); });
  print("owd_absorption_log_latest", 20, [](int) { said = owd_absorption_log_latest(&absorption, &spot); });
  print("owd_absorption_log_settling", 20, [](int) { said = owd_absorption_log_settling(&absorption, &settling); });
  print("owd_absorption_log_charging", 20, [](int) { said = owd_absorption_log_charging(&absorption, &charging); });
  print("owd_absorption_log_counts", 20, [](int) { said = owd_absorption_log_counts(&absorption, &counts); });
  print("owd_absorption_log_save", 4,
        [](int) { said = owd_absorption_log_save(&absorption, record, sizeof record, &written); });
  print("owd_absorption_log_resume", 4, [](int) {
    said = owd_absorption_log_resume(&absorption, sizeof absorption, record, written, OWD_RESUME_CONTINUED, 0, &status);
  });
  print("owd_forecast_library_begin", 1,
        [](int) { said = owd_forecast_library_begin(&library, sizeof library, &absorption); });
  static std::uint8_t more;
  print("owd_forecast_library_fill, 16 of 4096 curves", 256,
        [](int) { said = owd_forecast_library_fill(&library, 16, &more); });
  print("owd_absorption_log_forecast from the library", 1, [](int) {
    said = owd_absorption_log_forecast(&absorption, 0.95, &memory, sizeof memory, &library, &forecast);
  });
  printf("  forecast %.17g (%.17g ... %.17g), status %d\n", forecast.value, forecast.low, forecast.high,
         forecast.status);
}

void print_others() {
  static owd_resting_voltage_log_config at_rest = OWD_RESTING_VOLTAGE_LOG_CONFIG;
  at_rest.standard_uncertainty_volt = 0.002;
  said = owd_resting_voltage_log_init(&resting, sizeof resting, &at_rest);
  print("owd_resting_voltage_log_push", 500,
        [](int i) { said = owd_resting_voltage_log_push(&resting, &volts[i], &status); });
  print("owd_resting_voltage_log_state", 20, [](int) { said = owd_resting_voltage_log_state(&resting, &rest); });
  static owd_link_discharge_log_config of_link = OWD_LINK_DISCHARGE_LOG_CONFIG;
  of_link.standard_uncertainty_volt = 0.5;
  said = owd_link_discharge_log_init(&link_log, sizeof link_log, &of_link);
  print("owd_link_discharge_log_push", 500,
        [](int i) { said = owd_link_discharge_log_push(&link_log, &falling[i], &status); });
  print("owd_link_discharge_log_state", 20, [](int) { said = owd_link_discharge_log_state(&link_log, &decay); });
  static owd_bonding_log_config of_joints = OWD_BONDING_LOG_CONFIG;
  of_joints.standard_uncertainty_ohm = 0.001;
  said = owd_bonding_log_init(&bonding, sizeof bonding, &of_joints);
  print("owd_bonding_log_push", 500, [](int i) { said = owd_bonding_log_push(&bonding, &joints[i], &status); });
  print("owd_bonding_log_joint", 20, [](int) { said = owd_bonding_log_joint(&bonding, &joint); });
  static owd_running_mean_config of_mean = OWD_RUNNING_MEAN_CONFIG;
  said = owd_running_mean_init(&mean, sizeof mean, &of_mean);
  said = owd_running_mean_init(&other, sizeof other, &of_mean);
  print("owd_running_mean_push", 500,
        [](int i) { said = owd_running_mean_push(&mean, volts[i].voltage_volt, &status); });
  print("owd_running_mean_merge", 20, [](int) { said = owd_running_mean_merge(&mean, &other, &status); });
  print("owd_running_mean_state", 20, [](int) { said = owd_running_mean_state(&mean, &so_far); });
  static owd_accuracy_line lines[16];
  for (int i = 0; i < 16; ++i) lines[i] = {0, 1e6 * (i + 1), 1e3, 2, 3, 0, 0};
  static owd_accuracy_sheet sheet = OWD_ACCURACY_SHEET;
  sheet.lines = lines;
  sheet.ranges = 16;
  print("owd_accuracy_sheet_find, last of 16 ranges", 20,
        [](int) { said = owd_accuracy_sheet_find(&sheet, 1000, 15.5e6, 1e6, &accuracy); });
  print("owd_self_test", 1, [](int) { said = owd_self_test(&memory, sizeof memory, &self_test); });
  printf("  self-test %s\n", said == OWD_OK ? "passed" : "failed");
}

}  // namespace

void print_c_figures() {
  InsulationStream stream(2, {});
  make_samples(stream);
  print_insulation(stream);
  print_others();
  printf("structures: absorption %u, resting %u, link %u, bonding %u, mean %u, forecast memory %u, library %u bytes\n",
         static_cast<unsigned>(sizeof absorption), static_cast<unsigned>(sizeof resting),
         static_cast<unsigned>(sizeof link_log), static_cast<unsigned>(sizeof bonding),
         static_cast<unsigned>(sizeof mean), static_cast<unsigned>(sizeof memory),
         static_cast<unsigned>(sizeof library));
  printf("deepest stack %d bytes\n", deepest);
}

}  // namespace ohmward::logging::testing

int main() {
  ohmward::logging::testing::print_c_figures();
  return 0;
}
