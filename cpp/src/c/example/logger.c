/*
 * An insulation test as a logger runs it, on a recorded stream (invented): prints what the display would show.
 *
 *     cc -std=c99 logger.c -lohmward_c_embedded -lm -o logger && ./logger <recorded_stream.csv
 *
 * Columns of the stream: tick_millisecond (wraps), applied_volt, current_ampere, flags. A line with # is a comment.
 */

#include <stdio.h>
#include <stdlib.h>

#include "ohmward_c/embedded.h"

/* All the memory that there is. */
static owd_absorption_log test;
static owd_forecast_memory memory;
static owd_forecast_library library;
static uint8_t record[OWD_GREATEST_RECORD];

static void fail(owd_error error, const char* call) {
  fprintf(stderr, "%s: %s\n", call, owd_error_text(error));
  exit(1);
}
#define CALL(call) \
  do { \
    const owd_error error_ = (call); \
    if (error_ != OWD_OK) fail(error_, #call); \
  } while (0)

static const char* settling_text(int8_t state) {
  switch (state) {
    case OWD_SETTLING_CHARGING: return "charging";
    case OWD_SETTLING_ABSORBING: return "still rising";
    case OWD_SETTLING_SETTLED: return "settled";
    case OWD_SETTLING_NOTHING_MORE_TO_LEARN: return "nothing more to learn";
    default: return "not known yet";
  }
}

static void show_resistance(void) {
  owd_spot now;
  owd_settling settling;
  CALL(owd_absorption_log_latest(&test, &now));
  CALL(owd_absorption_log_settling(&test, &settling));
  printf("%5.0f s  ", now.second);
  if (now.status >= 0)
    printf("%s%.3f GOhm", now.censoring == OWD_ABOVE ? "above " : "", now.value / 1e9);
  else
    printf("no value: %s", owd_status_text(now.status));
  printf("  %s\n", settling_text(settling.state));
}

/* The curves are made a few at a time, as between two samples; 64 here. */
static void show_forecast(void) {
  owd_forecast soon;
  uint8_t more = 1;
  CALL(owd_forecast_library_begin(&library, sizeof library, &test));
  while (more) CALL(owd_forecast_library_fill(&library, 64, &more));
  CALL(owd_absorption_log_forecast(&test, 0.95, &memory, sizeof memory, &library, &soon));
  if (soon.status >= 0)
    printf("         R600/R60 will be %.2f, within %.2f to %.2f at 95 %%\n", soon.value, soon.low, soon.high);
  else
    printf("         no forecast: %s\n", owd_status_text(soon.status));
}

/* Power is lost and comes back at once, voltage and clock go on: nothing may be missing afterwards. */
static void lose_power(void) {
  size_t bytes;
  owd_status status;
  CALL(owd_absorption_log_save(&test, record, sizeof record, &bytes));
  CALL(owd_absorption_log_resume(&test, sizeof test, record, bytes, OWD_RESUME_CONTINUED, 0, &status));
  printf("         saved %u bytes, resumed: %s\n", (unsigned)bytes, owd_status_text(status));
}

static void show_end(void) {
  owd_ratio ratio;
  owd_charging charging;
  owd_counts counts;
  int8_t contact;
  CALL(owd_absorption_log_ratio(&test, &ratio));
  CALL(owd_absorption_log_charging(&test, &charging));
  CALL(owd_absorption_log_contact(&test, &contact));
  CALL(owd_absorption_log_counts(&test, &counts));
  printf("R600/R60 %.3f, standard uncertainty %.1f %%: %s\n", ratio.value, 100 * ratio.relative_standard_uncertainty,
         owd_status_text(ratio.status));
  printf("part takes %.0f nF; %s\n", charging.capacitance_farad * 1e9,
         contact == OWD_CONTACT_NOT_SHOWN ? "contact not shown" : "contact shown");
  printf("%u samples, %u taken, %u missing, %u impossible, %u doubled, %u slips, tick wrapped %u times\n",
         (unsigned)counts.samples, (unsigned)counts.taken, (unsigned)counts.missing, (unsigned)counts.impossible,
         (unsigned)counts.doubled, (unsigned)counts.slips, (unsigned)counts.tick_wraps);
}

int main(void) {
  static const double shown_at[] = {2, 15, 30, 60, 120, 300, 600};
  const unsigned last_shown = sizeof shown_at / sizeof shown_at[0];
  owd_absorption_log_config config = OWD_ABSORPTION_LOG_CONFIG;
  char line[200];
  unsigned shown = 0;
  double volt_before = 0;
  int begun = 0;

  CALL(owd_self_test(&memory, sizeof memory, NULL));
  config.test_voltage_volt = 1000;
  config.source_ampere = 1e-3;
  config.relative_standard_uncertainty = 0.01;
  config.gain_relative_standard_uncertainty = 0.01;
  config.time_base = OWD_TIME_TICK_MILLISECOND;

  while (fgets(line, sizeof line, stdin) != NULL) {
    owd_sample sample = OWD_SAMPLE;
    owd_spot now;
    unsigned long tick;
    unsigned flags;
    char volt[32], ampere[32];
    if (sscanf(line, "%lu,%31[^,],%31[^,],%u", &tick, volt, ampere, &flags) != 4) continue;
    sample.tick_millisecond = (uint32_t)tick;
    sample.applied_volt = strtod(volt, NULL);
    sample.current_ampere = strtod(ampere, NULL);
    sample.flags = (uint8_t)flags;
    /* As long as the voltage rises the part is being charged, and voltage over current is less than its resistance: a
     * lower bound. */
    if (sample.applied_volt > 1.01 * volt_before) sample.flags |= OWD_OVER_RANGE;
    volt_before = sample.applied_volt;
    if (!begun) { /* the first line is when the voltage was switched on */
      config.start_tick_millisecond = sample.tick_millisecond;
      CALL(owd_absorption_log_init(&test, sizeof test, &config));
      begun = 1;
      continue;
    }
    CALL(owd_absorption_log_push(&test, &sample, NULL));
    CALL(owd_absorption_log_latest(&test, &now));
    if (shown < last_shown && now.second >= shown_at[shown]) {
      show_resistance();
      if (shown_at[shown] == 60) lose_power();
      if (shown_at[shown] == 120) show_forecast();
      ++shown;
    }
  }
  if (!begun) {
    fputs("no stream\n", stderr);
    return 1;
  }
  show_end();
  return 0;
}
