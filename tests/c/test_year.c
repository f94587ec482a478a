/* A year at 10 samples a second, by a tick that wraps: nothing overflows, nothing drifts. */

#include <math.h>

#include "check.h"
#include "ohmward_c/embedded.h"

#define SAMPLES 315360000u /* 365 days */
#define WRAPS 7u           /* 31,536,000,000 ms in 2^32, begun at tick 123 */

static owd_absorption_log absorption;
static owd_resting_voltage_log resting;
static owd_link_discharge_log link_log;

static void begin(void) {
  owd_absorption_log_config of_test = OWD_ABSORPTION_LOG_CONFIG;
  owd_resting_voltage_log_config of_rest = OWD_RESTING_VOLTAGE_LOG_CONFIG;
  owd_link_discharge_log_config of_link = OWD_LINK_DISCHARGE_LOG_CONFIG;
  of_test.time_base = of_rest.time_base = of_link.time_base = OWD_TIME_TICK_MILLISECOND;
  of_test.start_tick_millisecond = of_rest.start_tick_millisecond = of_link.start_tick_millisecond = 123;
  of_test.forecast = 0;
  of_rest.standard_uncertainty_volt = 0.002;
  of_link.standard_uncertainty_volt = 0.5;
  CHECK(owd_absorption_log_init(&absorption, sizeof absorption, &of_test) == OWD_OK);
  CHECK(owd_resting_voltage_log_init(&resting, sizeof resting, &of_rest) == OWD_OK);
  CHECK(owd_link_discharge_log_init(&link_log, sizeof link_log, &of_link) == OWD_OK);
}

static void check_counts(const owd_counts* counts) {
  CHECK(counts->samples == SAMPLES && counts->taken == SAMPLES);
  CHECK(counts->tick_wraps == WRAPS && counts->out_of_order == 0 && counts->doubled == 0);
}

int main(void) {
  owd_sample sample = OWD_SAMPLE;
  owd_voltage_sample volt = OWD_VOLTAGE_SAMPLE, falling = OWD_VOLTAGE_SAMPLE;
  owd_counts counts;
  owd_spot latest;
  owd_settling settling;
  owd_resting rest;
  owd_decay decay;
  uint32_t i;
  begin();
  sample.tick_millisecond = volt.tick_millisecond = falling.tick_millisecond = 123;
  for (i = 1; i <= SAMPLES; ++i) {
    const double alternating = i % 2 == 0 ? 0.001 : -0.001;
    sample.tick_millisecond += 100;
    volt.tick_millisecond += 100;
    falling.tick_millisecond += 100;
    sample.resistance_ohm = 2e9 * (1 + alternating);
    volt.voltage_volt = 12.7 + alternating;
    falling.voltage_volt = 400 + alternating; /* a link that does not discharge */
    (void)owd_absorption_log_push(&absorption, &sample, NULL);
    (void)owd_resting_voltage_log_push(&resting, &volt, NULL);
    (void)owd_link_discharge_log_push(&link_log, &falling, NULL);
  }
  CHECK(owd_absorption_log_counts(&absorption, &counts) == OWD_OK);
  check_counts(&counts);
  CHECK(owd_absorption_log_latest(&absorption, &latest) == OWD_OK && latest.second == 31536000.0);
  CHECK(owd_absorption_log_settling(&absorption, &settling) == OWD_OK && fabs(settling.slope) < 1e-6);
  CHECK(settling.state == OWD_SETTLING_SETTLED);
  CHECK(owd_resting_voltage_log_counts(&resting, &counts) == OWD_OK);
  check_counts(&counts);
  CHECK(owd_resting_voltage_log_state(&resting, &rest) == OWD_OK && rest.state == OWD_RESTING_AT_REST);
  CHECK(rest.rest_second == 31536000.0 && fabs(rest.voltage_volt - 12.7) < 1e-6 && fabs(rest.change_volt) < 1e-6);
  CHECK(owd_link_discharge_log_counts(&link_log, &counts) == OWD_OK);
  check_counts(&counts);
  CHECK(owd_link_discharge_log_state(&link_log, &decay) == OWD_OK);
  CHECK((decay.remarks >> OWD_DECAY_STUCK & 1) == 1 && fabs(decay.initial_volt - 400) < 1e-4);
  CHECK(decay.degrees_of_freedom == SAMPLES - 2.0);
  printf("slope %.2g, change %.2g V, voltage %.9f V, initial %.9f V\n", settling.slope, rest.change_volt,
         rest.voltage_volt, decay.initial_volt);
  return failures == 0 ? 0 : 1;
}
