/* A C program outside the project: a logger's live ratio, and on the desk a reading against its limit. */
#include <ohmward_c/ohmward.h>
#include <stdio.h>
#include <string.h>

static int logger(void) {
  owd_absorption_log log;
  owd_absorption_log_config config = OWD_ABSORPTION_LOG_CONFIG;
  owd_sample sample = OWD_SAMPLE;
  owd_ratio ratio;
  owd_status status;
  config.test_voltage_volt = 1000;
  if (owd_absorption_log_init(&log, sizeof log, &config) != OWD_OK) return 1;
  for (sample.time_second = 1; sample.time_second <= 600; sample.time_second += 1) {
    sample.resistance_ohm = 2e9 + 1e6 * sample.time_second;
    if (owd_absorption_log_push(&log, &sample, &status) != OWD_OK || status != OWD_STATUS_SOUND) return 1;
  }
  if (owd_absorption_log_ratio(&log, &ratio) != OWD_OK) return 1;
  printf("R600/R60 %.4f, %s\n", ratio.value, owd_status_text(ratio.status));
  return ratio.value != 2.6e9 / 2.06e9;
}

static int desk(void) {
  const owd_range range = {OWD_UNKNOWN, 0, 4e9, 1e6, 5, 5, 0, 0.5, OWD_QUANTITY_INSULATION_RESISTANCE, {0}};
  owd_instrument meter = OWD_INSTRUMENT;
  owd_reading reading = OWD_READING;
  owd_limit limit = OWD_LIMIT;
  owd_quantity quantity;
  owd_judgement judgement;
  meter.ranges = &range;
  meter.range_count = 1;
  reading.value = 2.3e9;
  reading.ambient_celsius = 23;
  limit.lower = 1e6;
  if (owd_quantity_of(&meter, &reading, &quantity, NULL) != OWD_OK) return 1;
  if (owd_judge(&quantity, &limit, &judgement) != OWD_OK) return 1;
  printf("2.3 GOhm: %s\n", owd_verdict_text(judgement.verdict));
  if (judgement.verdict != OWD_VERDICT_PASS) return 1;
  limit.coverage_factor = -2;
  if (owd_judge(&quantity, &limit, &judgement) != OWD_ERROR_PARAMETER) return 1;
  printf("refused: %s\n", owd_last_error());
  return strstr(owd_last_error(), "coverage_factor") == NULL;
}

int main(void) {
  if (owd_abi_version() != OWD_ABI_VERSION) return 1;
  return logger() || desk();
}
