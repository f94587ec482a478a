/* Two tasks, each with objects of its own: nothing is shared, not even the last error. For the thread sanitizer. */

#include <pthread.h>
#include <string.h>

#include "check.h"
#include "ohmward_c/ohmward.h"

/* What one task needs; none of it is the other's. */
typedef struct task {
  owd_absorption_log log;
  owd_forecast_memory memory;
  uint8_t record[OWD_GREATEST_RECORD];
  uint32_t number;
  double ratio;
  int said_its_own;
  owd_error self_test;
} task;

static void fail_on_purpose(task* of) {
  owd_limit limit = OWD_LIMIT;
  owd_quantity quantity;
  owd_judgement judgement;
  memset(&quantity, 0, sizeof quantity);
  limit.lower = 1;
  if (of->number == 0) limit.coverage_factor = -1;
  if (of->number == 1) limit.strict = 2;
  if (owd_judge(&quantity, &limit, &judgement) != OWD_ERROR_PARAMETER) of->said_its_own = 0;
  if (strstr(owd_last_error(), of->number == 0 ? "coverage_factor" : "strict") == NULL) of->said_its_own = 0;
}

static void* run(void* given) {
  task* of = (task*)given;
  int round;
  of->said_its_own = 1;
  for (round = 0; round < 50; ++round) {
    owd_absorption_log_config config = OWD_ABSORPTION_LOG_CONFIG;
    owd_sample sample = OWD_SAMPLE;
    owd_ratio ratio;
    owd_status status;
    size_t written = 0;
    int second;
    config.late_second = 120;
    (void)owd_absorption_log_init(&of->log, sizeof of->log, &config);
    for (second = 1; second <= 130; ++second) {
      sample.time_second = second;
      sample.resistance_ohm = 1e9 + 1e6 * second * (of->number + 1);
      (void)owd_absorption_log_push(&of->log, &sample, &status);
    }
    (void)owd_absorption_log_save(&of->log, of->record, sizeof of->record, &written);
    (void)owd_absorption_log_resume(&of->log, sizeof of->log, of->record, written, OWD_RESUME_CONTINUED, 0, &status);
    (void)owd_absorption_log_ratio(&of->log, &ratio);
    of->ratio = ratio.value;
    fail_on_purpose(of);
  }
  of->self_test = owd_self_test(&of->memory, sizeof of->memory, NULL);
  return NULL;
}

int main(void) {
  static task together[2], alone[2];
  pthread_t thread[2];
  uint32_t i;
  for (i = 0; i < 2; ++i) together[i].number = alone[i].number = i;
  for (i = 0; i < 2; ++i) CHECK(pthread_create(&thread[i], NULL, run, &together[i]) == 0);
  for (i = 0; i < 2; ++i) CHECK(pthread_join(thread[i], NULL) == 0);
  for (i = 0; i < 2; ++i) {
    run(&alone[i]);
    CHECK(together[i].ratio == alone[i].ratio && alone[i].ratio > 1);
    CHECK(together[i].said_its_own && together[i].self_test == OWD_OK);
  }
  if (failures == 0) puts("two tasks did not meet");
  return failures == 0 ? 0 : 1;
}
