/*
 * Runs the test vectors on the library that this program is linked with: the bits must be those of the file.
 *
 *     cc -std=c99 run_vectors.c -lohmward_c_embedded -lm -o run_vectors && ./run_vectors <vectors.txt
 *
 * Without files (bare metal): define OWD_VECTORS_IN_MEMORY and link the text as `owd_vectors`, ending in zero.
 */

#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "ohmward_c/embedded.h"

static owd_absorption_log absorption;
static owd_resting_voltage_log resting;
static owd_link_discharge_log link_log;
static owd_bonding_log bonding;
static owd_running_mean mean;
static owd_forecast_memory memory;
static owd_forecast_library library;
static uint8_t record[OWD_GREATEST_RECORD];

static char line[400];
static const char* next;
static unsigned long lines, compared, failures;

/* --- Reading a line: each call takes the next word of it */

static const char* word(void) {
  static char found[32];
  size_t length = 0;
  while (*next == ' ') ++next;
  while (*next > ' ' && length + 1 < sizeof found) found[length++] = *next++;
  found[length] = '\0';
  return found;
}
static uint64_t hexadecimal(void) {
  uint64_t bits = 0;
  const char* digit = word();
  for (; *digit != '\0'; ++digit) bits = bits << 4 | (uint64_t)(*digit <= '9' ? *digit - '0' : *digit - 'a' + 10);
  return bits;
}
static double real(void) {
  const uint64_t bits = hexadecimal();
  double x;
  memcpy(&x, &bits, sizeof x);
  return x;
}
static uint32_t whole(void) { return (uint32_t)strtoul(word(), NULL, 10); }

/* --- Comparing with it */

static void differs(const char* what) {
  if (++failures <= 10) printf("line %lu: %s differs: %s\n", lines, what, line);
}
static void expect_real(double got, const char* what) {
  const uint64_t expected = hexadecimal();
  uint64_t bits = 0x7FF8000000000000u; /* of every NaN */
  if (got == got) memcpy(&bits, &got, sizeof bits);
  ++compared;
  if (bits != expected) differs(what);
}
static void expect_whole(long got, const char* what) {
  ++compared;
  if (got != strtol(word(), NULL, 10)) differs(what);
}
static void expect_unsigned(uint32_t got, const char* what) {
  ++compared;
  if (got != whole()) differs(what);
}
static void carried_out(owd_error error) {
  if (error != OWD_OK) differs(owd_error_text(error));
}

/* --- The logs */

static owd_error (*save)(uint8_t* into, size_t size, size_t* written);
static owd_error save_absorption(uint8_t* into, size_t size, size_t* written) {
  return owd_absorption_log_save(&absorption, into, size, written);
}
static owd_error save_resting(uint8_t* into, size_t size, size_t* written) {
  return owd_resting_voltage_log_save(&resting, into, size, written);
}
static owd_error save_link(uint8_t* into, size_t size, size_t* written) {
  return owd_link_discharge_log_save(&link_log, into, size, written);
}
static owd_error save_bonding(uint8_t* into, size_t size, size_t* written) {
  return owd_bonding_log_save(&bonding, into, size, written);
}
static owd_error save_mean(uint8_t* into, size_t size, size_t* written) {
  return owd_running_mean_save(&mean, into, size, written);
}

static void begin_absorption(void) {
  owd_absorption_log_config config = OWD_ABSORPTION_LOG_CONFIG;
  config.test_voltage_volt = real();
  config.early_second = real();
  config.late_second = real();
  config.source_ampere = real();
  config.relative_standard_uncertainty = real();
  config.gain_relative_standard_uncertainty = real();
  config.capacitance_farad = real();
  config.time_base = (uint8_t)whole();
  config.start_tick_millisecond = whole();
  carried_out(owd_absorption_log_init(&absorption, sizeof absorption, &config));
  save = save_absorption;
}
static void push_sample(void) {
  owd_sample sample = OWD_SAMPLE;
  owd_status status = 0;
  sample.time_second = real();
  sample.applied_volt = real();
  sample.current_ampere = real();
  sample.resistance_ohm = real();
  sample.tick_millisecond = whole();
  sample.flags = (uint8_t)whole();
  carried_out(owd_absorption_log_push(&absorption, &sample, &status));
  expect_whole(status, "status");
}
static void compare_ratio(void) {
  owd_ratio ratio;
  carried_out(owd_absorption_log_ratio(&absorption, &ratio));
  expect_real(ratio.value, "value");
  expect_real(ratio.relative_standard_uncertainty, "relative_standard_uncertainty");
  expect_whole(ratio.status, "status");
  expect_whole(ratio.censoring, "censoring");
}
static void compare_latest(void) {
  owd_spot spot;
  carried_out(owd_absorption_log_latest(&absorption, &spot));
  expect_real(spot.value, "value");
  expect_real(spot.second, "second");
  expect_whole(spot.status, "status");
  expect_whole(spot.censoring, "censoring");
}
static void compare_settling(void) {
  owd_settling settling;
  carried_out(owd_absorption_log_settling(&absorption, &settling));
  expect_real(settling.slope, "slope");
  expect_real(settling.slope_standard_uncertainty, "slope_standard_uncertainty");
  expect_real(settling.charging_until_second, "charging_until_second");
  expect_real(settling.absorption_until_second, "absorption_until_second");
  expect_real(settling.may_stop_second, "may_stop_second");
  expect_whole(settling.status, "status");
  expect_whole(settling.state, "state");
}
static void compare_charging(void) {
  owd_charging charging;
  carried_out(owd_absorption_log_charging(&absorption, &charging));
  expect_real(charging.capacitance_farad, "capacitance_farad");
  expect_real(charging.low_farad, "low_farad");
  expect_real(charging.high_farad, "high_farad");
  expect_real(charging.reached_second, "reached_second");
  expect_whole(charging.status, "status");
}
static void compare_forecast(void) {
  owd_forecast forecast;
  uint8_t more = 1;
  carried_out(owd_forecast_library_begin(&library, sizeof library, &absorption));
  while (more) carried_out(owd_forecast_library_fill(&library, 64, &more));
  carried_out(owd_absorption_log_forecast(&absorption, 0.95, &memory, sizeof memory, &library, &forecast));
  expect_real(forecast.value, "value");
  expect_real(forecast.low, "low");
  expect_real(forecast.high, "high");
  expect_whole(forecast.status, "status");
}

static void begin_resting(void) {
  owd_resting_voltage_log_config config = OWD_RESTING_VOLTAGE_LOG_CONFIG;
  config.cells = whole();
  config.standard_uncertainty_volt = real();
  carried_out(owd_resting_voltage_log_init(&resting, sizeof resting, &config));
  save = save_resting;
}
static owd_voltage_sample voltage(void) {
  owd_voltage_sample sample = OWD_VOLTAGE_SAMPLE;
  sample.time_second = real();
  sample.voltage_volt = real();
  sample.flags = (uint8_t)whole();
  return sample;
}
static void push_at_rest(void) {
  const owd_voltage_sample sample = voltage();
  owd_status status = 0;
  carried_out(owd_resting_voltage_log_push(&resting, &sample, &status));
  expect_whole(status, "status");
}
static void compare_rest(void) {
  owd_resting state;
  carried_out(owd_resting_voltage_log_state(&resting, &state));
  expect_real(state.voltage_volt, "voltage_volt");
  expect_real(state.standard_uncertainty_volt, "standard_uncertainty_volt");
  expect_real(state.slope_volt_per_hour, "slope_volt_per_hour");
  expect_real(state.change_volt, "change_volt");
  expect_whole(state.status, "status");
  expect_whole(state.state, "state");
}

static void begin_link(void) {
  owd_link_discharge_log_config config = OWD_LINK_DISCHARGE_LOG_CONFIG;
  config.standard_uncertainty_volt = real();
  config.gain_relative_standard_uncertainty = real();
  carried_out(owd_link_discharge_log_init(&link_log, sizeof link_log, &config));
  save = save_link;
}
static void push_falling(void) {
  const owd_voltage_sample sample = voltage();
  owd_status status = 0;
  carried_out(owd_link_discharge_log_push(&link_log, &sample, &status));
  expect_whole(status, "status");
}
static void compare_decay(void) {
  owd_decay state;
  carried_out(owd_link_discharge_log_state(&link_log, &state));
  expect_real(state.initial_volt, "initial_volt");
  expect_real(state.time_constant_second, "time_constant_second");
  expect_real(state.threshold_second, "threshold_second");
  expect_real(state.threshold_low_second, "threshold_low_second");
  expect_real(state.threshold_high_second, "threshold_high_second");
  expect_real(state.chi_square, "chi_square");
  expect_unsigned(state.remarks, "remarks");
  expect_whole(state.status, "status");
}

static void begin_bonding(void) {
  owd_bonding_log_config config = OWD_BONDING_LOG_CONFIG;
  config.standard_uncertainty_ohm = real();
  config.gain_relative_standard_uncertainty = real();
  carried_out(owd_bonding_log_init(&bonding, sizeof bonding, &config));
  save = save_bonding;
}
static owd_joint_sample display(void) {
  owd_joint_sample sample = OWD_JOINT_SAMPLE;
  sample.time_second = real();
  sample.resistance_ohm = real();
  sample.test_ampere = real();
  sample.flags = (uint8_t)whole();
  return sample;
}
static void push_null(void) {
  const owd_joint_sample sample = display();
  owd_status status = 0;
  carried_out(owd_bonding_log_push_null(&bonding, &sample, &status));
  expect_whole(status, "status");
}
static void push_display(void) {
  const owd_joint_sample sample = display();
  owd_status status = 0;
  carried_out(owd_bonding_log_push(&bonding, &sample, &status));
  expect_whole(status, "status");
}
static void next_joint(void) { carried_out(owd_bonding_log_next_joint(&bonding)); }
static void compare_joint(void) {
  owd_joint joint;
  carried_out(owd_bonding_log_joint(&bonding, &joint));
  expect_real(joint.resistance_ohm, "resistance_ohm");
  expect_real(joint.standard_uncertainty_ohm, "standard_uncertainty_ohm");
  expect_unsigned(joint.remarks, "remarks");
  expect_whole(joint.status, "status");
  expect_whole(joint.censoring, "censoring");
}

static void begin_mean(void) {
  owd_running_mean_config config = OWD_RUNNING_MEAN_CONFIG;
  config.display_step = real();
  carried_out(owd_running_mean_init(&mean, sizeof mean, &config));
  save = save_mean;
}
static void push_value(void) {
  owd_status status = 0;
  carried_out(owd_running_mean_push(&mean, real(), &status));
  expect_whole(status, "status");
}
static void compare_so_far(void) {
  owd_mean state;
  carried_out(owd_running_mean_state(&mean, &state));
  expect_real(state.mean, "mean");
  expect_real(state.standard_deviation, "standard_deviation");
  expect_real(state.standard_uncertainty, "standard_uncertainty");
  expect_real(state.degrees_of_freedom, "degrees_of_freedom");
  expect_whole(state.status, "status");
}

/* Length and checksum of the saved record: every bit of the state. */
static void compare_record(void) {
  size_t size = 0;
  const uint8_t* end;
  carried_out(save(record, sizeof record, &size));
  if (size < 4) {
    differs("size");
    return;
  }
  end = record + size - 4;
  expect_unsigned((uint32_t)size, "size");
  expect_unsigned(end[0] | (uint32_t)end[1] << 8 | (uint32_t)end[2] << 16 | (uint32_t)end[3] << 24, "checksum");
}

static int ended;
static void end_of_vectors(void) { ended = 1; }

static const struct {
  const char* name;
  void (*run)(void);
} kinds[] = {{"absorption", begin_absorption},
             {"sample", push_sample},
             {"ratio", compare_ratio},
             {"latest", compare_latest},
             {"settling", compare_settling},
             {"charging", compare_charging},
             {"forecast", compare_forecast},
             {"resting", begin_resting},
             {"at_rest", push_at_rest},
             {"rest", compare_rest},
             {"link", begin_link},
             {"falling", push_falling},
             {"decay", compare_decay},
             {"bonding", begin_bonding},
             {"null", push_null},
             {"display", push_display},
             {"next", next_joint},
             {"joint", compare_joint},
             {"mean", begin_mean},
             {"value", push_value},
             {"so_far", compare_so_far},
             {"record", compare_record},
             {"end", end_of_vectors}};

static void run_line(void) {
  const char* name;
  size_t i;
  ++lines;
  next = line;
  name = word();
  if (name[0] == '\0' || name[0] == '#') return;
  for (i = 0; i < sizeof kinds / sizeof kinds[0]; ++i)
    if (strcmp(name, kinds[i].name) == 0) {
      kinds[i].run();
      return;
    }
  differs("the kind of the line");
}

#ifdef OWD_VECTORS_IN_MEMORY
extern const char owd_vectors[];
static int next_line(void) {
  static const char* from = owd_vectors;
  size_t length = 0;
  if (*from == '\0') return 0;
  for (; *from != '\0' && *from != '\n'; ++from)
    if (length + 1 < sizeof line) line[length++] = *from;
  if (*from == '\n') ++from;
  line[length] = '\0';
  return 1;
}
#else
static int next_line(void) { return fgets(line, sizeof line, stdin) != NULL; }
#endif

int main(void) {
  if (owd_self_test(&memory, sizeof memory, NULL) != OWD_OK) differs("the self-test");
  while (next_line()) run_line();
  if (!ended) differs("the end of the file");
  printf("%lu numbers compared, %lu differ\n", compared, failures);
  return failures == 0 ? 0 : 1;
}
