/* What a program can do wrong, once for every function: an error, nothing written, and nothing worse. */

#include <string.h>

#include "check.h"
#include "ohmward_c/ohmward.h"

/* Common to the logs with a clock. */
#define TEST_OF_LOG(name, CONFIG, Sample, SAMPLE, make_senseless) \
  static void misuse_##name(void) { \
    static owd_##name log, other; \
    static uint8_t record[OWD_GREATEST_RECORD]; \
    owd_##name##_config config = CONFIG, bad; \
    Sample sample = SAMPLE; \
    owd_status status = 77; \
    owd_counts counts; \
    owd_fault fault; \
    size_t written = 4711; \
    memset(&counts, 0x55, sizeof counts); \
    make_sensible_##name(&config); \
    /* Not initialised: every call says so and writes nothing. */ \
    memset(&log, 0xA5, sizeof log); \
    CHECK(owd_##name##_push(&log, &sample, &status) == OWD_ERROR_NOT_INITIALISED && status == 77); \
    CHECK(owd_##name##_reset(&log, 0) == OWD_ERROR_NOT_INITIALISED); \
    CHECK(owd_##name##_counts(&log, &counts) == OWD_ERROR_NOT_INITIALISED && counts.samples == 0x55555555u); \
    CHECK(owd_##name##_save(&log, record, sizeof record, &written) == OWD_ERROR_NOT_INITIALISED); \
    memset(&log, 0, sizeof log); \
    CHECK(owd_##name##_push(&log, &sample, NULL) == OWD_ERROR_NOT_INITIALISED); \
    /* Null, and a size that is too small. */ \
    CHECK(owd_##name##_init(NULL, sizeof log, &config) == OWD_ERROR_NULL); \
    CHECK(owd_##name##_init(&log, sizeof log - 1, &config) == OWD_ERROR_SIZE); \
    CHECK(owd_##name##_push(&log, &sample, NULL) == OWD_ERROR_NOT_INITIALISED); \
    CHECK(owd_##name##_init(&log, sizeof log, NULL) == OWD_ERROR_NULL); \
    CHECK(owd_##name##_push(&log, &sample, &status) == OWD_OK && status == OWD_STATUS_NOT_CONFIGURED); \
    bad = config; \
    bad.size -= 1; \
    CHECK(owd_##name##_init(&log, sizeof log, &bad) == OWD_ERROR_SIZE); \
    bad = config; \
    bad.reserved[sizeof bad.reserved - 1] = 1; \
    CHECK(owd_##name##_init(&log, sizeof log, &bad) == OWD_ERROR_RESERVED); \
    CHECK(owd_##name##_check(&bad, &fault) == OWD_ERROR_RESERVED); \
    CHECK(owd_##name##_check(NULL, &fault) == OWD_ERROR_NULL); \
    /* A senseless configuration: an error, the field's name, and a status from every later call. */ \
    bad = config; \
    make_senseless; \
    CHECK(owd_##name##_init(&log, sizeof log, &bad) == OWD_ERROR_CONFIG); \
    CHECK(owd_##name##_check(&bad, &fault) == OWD_ERROR_CONFIG); \
    CHECK(fault.field != NULL && strlen(fault.field) > 0 && strlen(fault.expected) > 0); \
    CHECK(owd_##name##_check(&bad, NULL) == OWD_ERROR_CONFIG); \
    CHECK(owd_##name##_push(&log, &sample, &status) == OWD_OK && status == OWD_STATUS_NOT_CONFIGURED); \
    CHECK(owd_##name##_reset(&log, 0) == OWD_OK); \
    CHECK(owd_##name##_push(&log, &sample, &status) == OWD_OK && status == OWD_STATUS_NOT_CONFIGURED); \
    CHECK(owd_##name##_counts(&log, &counts) == OWD_OK && counts.samples == 0); \
    states_##name(&log, OWD_STATUS_NOT_CONFIGURED); \
    CHECK(owd_##name##_save(&log, record, sizeof record, &written) == OWD_OK && written <= sizeof record); \
    CHECK(owd_##name##_resume(&other, sizeof other, record, written, OWD_RESUME_CONTINUED, 0, &status) == OWD_OK); \
    CHECK(status == OWD_STATUS_NOT_CONFIGURED); \
    /* Set up. */ \
    CHECK(owd_##name##_check(&config, &fault) == OWD_OK && fault.field == NULL); \
    CHECK(owd_##name##_init(&log, sizeof log, &config) == OWD_OK); \
    CHECK(owd_##name##_push(NULL, &sample, &status) == OWD_ERROR_NULL); \
    CHECK(owd_##name##_push(&log, NULL, &status) == OWD_ERROR_NULL); \
    CHECK(owd_##name##_push(&log, &sample, &status) == OWD_OK && status == OWD_STATUS_MISSING_INPUT); \
    CHECK(owd_##name##_reset(NULL, 0) == OWD_ERROR_NULL); \
    CHECK(owd_##name##_counts(&log, NULL) == OWD_ERROR_NULL); \
    CHECK(owd_##name##_counts(NULL, &counts) == OWD_ERROR_NULL); \
    CHECK(owd_##name##_counts(&log, &counts) == OWD_OK && counts.samples == 1 && counts.missing == 1); \
    /* Records. */ \
    written = 4711; \
    CHECK(owd_##name##_save(&log, NULL, sizeof record, &written) == OWD_ERROR_NULL); \
    CHECK(owd_##name##_save(&log, record, sizeof record, NULL) == OWD_ERROR_NULL); \
    CHECK(owd_##name##_save(&log, record, 8, &written) == OWD_ERROR_SIZE && written == 4711); \
    CHECK(owd_##name##_save(&log, record, sizeof record, &written) == OWD_OK); \
    CHECK(owd_##name##_resume(NULL, sizeof other, record, written, 0, 0, &status) == OWD_ERROR_NULL); \
    CHECK(owd_##name##_resume(&other, 8, record, written, 0, 0, &status) == OWD_ERROR_SIZE); \
    CHECK(owd_##name##_resume(&other, sizeof other, NULL, written, 0, 0, &status) == OWD_ERROR_NULL); \
    CHECK(owd_##name##_resume(&other, sizeof other, record, written, 2, 0, &status) == OWD_ERROR_PARAMETER); \
    CHECK(owd_##name##_resume(&other, sizeof other, record, written, 0, 0, &status) == OWD_OK); \
    CHECK(status == OWD_STATUS_SOUND); \
    CHECK(owd_##name##_resume(&other, sizeof other, record, written, OWD_RESUME_CUT, 0, &status) == OWD_OK); \
    CHECK(status == OWD_STATUS_RUN_CUT); \
    CHECK(owd_##name##_resume(&other, sizeof other, record, written - 1, 0, 0, &status) == OWD_OK); \
    CHECK(status == OWD_STATUS_RECORD_DAMAGED); \
    record[20] ^= 1; \
    CHECK(owd_##name##_resume(&other, sizeof other, record, written, 0, 0, NULL) == OWD_OK); \
    CHECK(owd_##name##_push(&other, &sample, &status) == OWD_OK && status == OWD_STATUS_NOT_CONFIGURED); \
    states_##name(&other, OWD_STATUS_NOT_CONFIGURED); \
    nulls_##name(&log); \
  }

/* --- Insulation test */

static void make_sensible_absorption_log(owd_absorption_log_config* config) { config->test_voltage_volt = 1000; }

static owd_forecast_memory memory;
static owd_forecast_library library;

static void states_absorption_log(const owd_absorption_log* log, owd_status expected) {
  owd_ratio ratio;
  owd_spot spot;
  owd_settling settling;
  owd_charging charging;
  owd_forecast forecast;
  uint16_t marks;
  int8_t contact;
  CHECK(owd_absorption_log_ratio(log, &ratio) == OWD_OK && ratio.status == expected && ratio.value != ratio.value);
  CHECK(owd_absorption_log_early(log, &spot) == OWD_OK && spot.status == expected);
  CHECK(owd_absorption_log_late(log, &spot) == OWD_OK && spot.status == expected);
  CHECK(owd_absorption_log_latest(log, &spot) == OWD_OK && spot.status == expected);
  CHECK(owd_absorption_log_settling(log, &settling) == OWD_OK && settling.status == expected);
  CHECK(owd_absorption_log_charging(log, &charging) == OWD_OK && charging.status == expected);
  CHECK(owd_absorption_log_marks(log, &marks) == OWD_OK && marks == 0);
  CHECK(owd_absorption_log_contact(log, &contact) == OWD_OK && contact == OWD_CONTACT_NOT_SHOWN);
  CHECK(owd_absorption_log_forecast(log, 0.95, &memory, sizeof memory, NULL, &forecast) == OWD_OK);
  CHECK(forecast.status == expected && forecast.value != forecast.value);
}

static void nulls_absorption_log(const owd_absorption_log* log) {
  owd_forecast forecast;
  uint8_t more = 7;
  CHECK(owd_absorption_log_ratio(log, NULL) == OWD_ERROR_NULL);
  CHECK(owd_absorption_log_early(log, NULL) == OWD_ERROR_NULL);
  CHECK(owd_absorption_log_late(log, NULL) == OWD_ERROR_NULL);
  CHECK(owd_absorption_log_latest(log, NULL) == OWD_ERROR_NULL);
  CHECK(owd_absorption_log_settling(log, NULL) == OWD_ERROR_NULL);
  CHECK(owd_absorption_log_charging(log, NULL) == OWD_ERROR_NULL);
  CHECK(owd_absorption_log_marks(log, NULL) == OWD_ERROR_NULL);
  CHECK(owd_absorption_log_contact(log, NULL) == OWD_ERROR_NULL);
  CHECK(owd_absorption_log_forecast(log, 0.95, NULL, sizeof memory, NULL, &forecast) == OWD_ERROR_NULL);
  CHECK(owd_absorption_log_forecast(log, 0.95, &memory, 100, NULL, &forecast) == OWD_ERROR_SIZE);
  CHECK(owd_absorption_log_forecast(log, 0.95, &memory, sizeof memory, NULL, NULL) == OWD_ERROR_NULL);
  memset(&library, 0x5A, sizeof library);
  CHECK(owd_absorption_log_forecast(log, 0.95, &memory, sizeof memory, &library, &forecast) ==
        OWD_ERROR_NOT_INITIALISED);
  CHECK(owd_forecast_library_fill(&library, 1, &more) == OWD_ERROR_NOT_INITIALISED && more == 7);
  CHECK(owd_forecast_library_begin(NULL, sizeof library, log) == OWD_ERROR_NULL);
  CHECK(owd_forecast_library_begin(&library, 100, log) == OWD_ERROR_SIZE);
  CHECK(owd_forecast_library_begin(&library, sizeof library, NULL) == OWD_ERROR_NULL);
  CHECK(owd_forecast_library_begin(&library, sizeof library, log) == OWD_OK);
  CHECK(owd_forecast_library_fill(&library, 1, NULL) == OWD_ERROR_NULL);
  CHECK(owd_forecast_library_fill(NULL, 1, &more) == OWD_ERROR_NULL);
  CHECK(owd_forecast_library_fill(&library, 0, &more) == OWD_OK && more == 1);
  CHECK(owd_forecast_library_fill(&library, 4000000000u, &more) == OWD_OK && more == 0);
}

/* --- Battery that comes to rest */

static void make_sensible_resting_voltage_log(owd_resting_voltage_log_config* config) {
  config->standard_uncertainty_volt = 0.005;
}

static void states_resting_voltage_log(const owd_resting_voltage_log* log, owd_status expected) {
  owd_resting state;
  CHECK(owd_resting_voltage_log_state(log, &state) == OWD_OK && state.status == expected);
}

static void nulls_resting_voltage_log(const owd_resting_voltage_log* log) {
  owd_resting state;
  CHECK(owd_resting_voltage_log_state(log, NULL) == OWD_ERROR_NULL);
  CHECK(owd_resting_voltage_log_state(NULL, &state) == OWD_ERROR_NULL);
}

/* --- DC link */

static void make_sensible_link_discharge_log(owd_link_discharge_log_config* config) {
  config->standard_uncertainty_volt = 1;
}

static void states_link_discharge_log(const owd_link_discharge_log* log, owd_status expected) {
  owd_decay state;
  CHECK(owd_link_discharge_log_state(log, &state) == OWD_OK && state.status == expected);
}

static void nulls_link_discharge_log(const owd_link_discharge_log* log) {
  owd_decay state;
  CHECK(owd_link_discharge_log_state(log, NULL) == OWD_ERROR_NULL);
  CHECK(owd_link_discharge_log_state(NULL, &state) == OWD_ERROR_NULL);
}

/* --- Joints */

static void make_sensible_bonding_log(owd_bonding_log_config* config) { config->standard_uncertainty_ohm = 0.001; }

static void states_bonding_log(owd_bonding_log* log, owd_status expected) {
  owd_joint joint;
  owd_joint_sample sample = OWD_JOINT_SAMPLE;
  owd_status status;
  CHECK(owd_bonding_log_joint(log, &joint) == OWD_OK && joint.status == expected);
  CHECK(owd_bonding_log_push_null(log, &sample, &status) == OWD_OK && status == expected);
  CHECK(owd_bonding_log_next_joint(log) == OWD_OK);
  CHECK(owd_bonding_log_forget_null(log) == OWD_OK);
}

static void nulls_bonding_log(owd_bonding_log* log) {
  owd_joint joint;
  owd_joint_sample sample = OWD_JOINT_SAMPLE;
  CHECK(owd_bonding_log_joint(log, NULL) == OWD_ERROR_NULL);
  CHECK(owd_bonding_log_joint(NULL, &joint) == OWD_ERROR_NULL);
  CHECK(owd_bonding_log_push_null(log, NULL, NULL) == OWD_ERROR_NULL);
  CHECK(owd_bonding_log_push_null(NULL, &sample, NULL) == OWD_ERROR_NULL);
  CHECK(owd_bonding_log_next_joint(NULL) == OWD_ERROR_NULL);
  CHECK(owd_bonding_log_forget_null(NULL) == OWD_ERROR_NULL);
}

TEST_OF_LOG(absorption_log, OWD_ABSORPTION_LOG_CONFIG, owd_sample, OWD_SAMPLE, bad.late_second = bad.early_second)
TEST_OF_LOG(resting_voltage_log, OWD_RESTING_VOLTAGE_LOG_CONFIG, owd_voltage_sample, OWD_VOLTAGE_SAMPLE, bad.cells = 0)
TEST_OF_LOG(link_discharge_log, OWD_LINK_DISCHARGE_LOG_CONFIG, owd_voltage_sample, OWD_VOLTAGE_SAMPLE,
            bad.standard_uncertainty_volt = NAN)
TEST_OF_LOG(bonding_log, OWD_BONDING_LOG_CONFIG, owd_joint_sample, OWD_JOINT_SAMPLE, bad.four_wire = 2)

/* --- Mean: no clock */

static void misuse_running_mean(void) {
  static owd_running_mean mean, other;
  static uint8_t record[OWD_GREATEST_RECORD];
  owd_running_mean_config config = OWD_RUNNING_MEAN_CONFIG;
  owd_mean state;
  owd_status status = 77;
  owd_fault fault;
  owd_counts counts;
  size_t written = 0;
  memset(&mean, 0xA5, sizeof mean);
  CHECK(owd_running_mean_push(&mean, 1, &status) == OWD_ERROR_NOT_INITIALISED && status == 77);
  CHECK(owd_running_mean_init(NULL, sizeof mean, &config) == OWD_ERROR_NULL);
  CHECK(owd_running_mean_init(&mean, 16, &config) == OWD_ERROR_SIZE);
  CHECK(owd_running_mean_init(&mean, sizeof mean, NULL) == OWD_ERROR_NULL);
  config.display_step = -1;
  CHECK(owd_running_mean_init(&mean, sizeof mean, &config) == OWD_ERROR_CONFIG);
  CHECK(owd_running_mean_check(&config, &fault) == OWD_ERROR_CONFIG && strcmp(fault.field, "display_step") == 0);
  CHECK(fault.given == -1);
  CHECK(owd_running_mean_push(&mean, 1, &status) == OWD_OK && status == OWD_STATUS_NOT_CONFIGURED);
  CHECK(owd_running_mean_state(&mean, &state) == OWD_OK && state.status == OWD_STATUS_NOT_CONFIGURED);
  config.display_step = 0;
  CHECK(owd_running_mean_merge(&mean, &other, &status) == OWD_ERROR_NOT_INITIALISED);
  CHECK(owd_running_mean_init(&other, sizeof other, &config) == OWD_OK);
  CHECK(owd_running_mean_merge(&mean, &other, &status) == OWD_OK && status == OWD_STATUS_NOT_CONFIGURED);
  CHECK(owd_running_mean_merge(&mean, NULL, &status) == OWD_ERROR_NULL);
  CHECK(owd_running_mean_merge(NULL, &other, &status) == OWD_ERROR_NULL);
  config.display_step = 0.01;
  CHECK(owd_running_mean_init(&mean, sizeof mean, &config) == OWD_OK);
  CHECK(owd_running_mean_merge(&mean, &other, &status) == OWD_OK && status == OWD_STATUS_CONTRADICTION);
  CHECK(owd_running_mean_push(&mean, NAN, &status) == OWD_OK && status == OWD_STATUS_MISSING_INPUT);
  CHECK(owd_running_mean_push(NULL, 1, &status) == OWD_ERROR_NULL);
  CHECK(owd_running_mean_state(&mean, NULL) == OWD_ERROR_NULL);
  CHECK(owd_running_mean_state(NULL, &state) == OWD_ERROR_NULL);
  CHECK(owd_running_mean_counts(&mean, &counts) == OWD_OK && counts.missing == 1);
  CHECK(owd_running_mean_save(&mean, record, sizeof record, &written) == OWD_OK);
  CHECK(owd_running_mean_resume(&other, sizeof other, record, written, 0, &status) == OWD_OK);
  CHECK(status == OWD_STATUS_SOUND);
  CHECK(owd_running_mean_resume(&other, sizeof other, record, written, 2, &status) == OWD_ERROR_PARAMETER);
  CHECK(owd_running_mean_resume(&other, sizeof other, record, 3, 0, &status) == OWD_OK);
  CHECK(status == OWD_STATUS_RECORD_DAMAGED);
  CHECK(owd_running_mean_reset(&mean) == OWD_OK);
  CHECK(owd_running_mean_reset(NULL) == OWD_ERROR_NULL);
}

/* An object of one kind is none of another. */
static void misuse_of_kinds(void) {
  static owd_link_discharge_log link;
  static owd_absorption_log absorption;
  static uint8_t record[OWD_GREATEST_RECORD];
  owd_link_discharge_log_config config = OWD_LINK_DISCHARGE_LOG_CONFIG;
  owd_status status;
  size_t written;
  config.standard_uncertainty_volt = 1;
  CHECK(owd_link_discharge_log_init(&link, sizeof link, &config) == OWD_OK);
  memcpy(&absorption, &link, sizeof link);
  CHECK(owd_absorption_log_reset(&absorption, 0) == OWD_ERROR_NOT_INITIALISED);
  CHECK(owd_link_discharge_log_save(&link, record, sizeof record, &written) == OWD_OK);
  CHECK(owd_absorption_log_resume(&absorption, sizeof absorption, record, written, 0, 0, &status) == OWD_OK);
  CHECK(status == OWD_STATUS_RECORD_DAMAGED);
}

static void misuse_of_sheets(void) {
  static const owd_accuracy_line lines[2] = {{0, 4e8, 1e5, 3, 3, 0, 0}, {0, 4e9, 1e6, 5, 5, 0, 0}};
  static const double volts[1] = {1000};
  owd_accuracy_sheet sheet = OWD_ACCURACY_SHEET;
  owd_accuracy accuracy;
  owd_fault fault;
  double ceiling = 0;
  CHECK(owd_accuracy_sheet_check(&sheet, &fault) == OWD_ERROR_CONFIG && strcmp(fault.field, "ranges") == 0);
  CHECK(owd_accuracy_sheet_find(&sheet, 1000, 1e9, NAN, &accuracy) == OWD_OK);
  CHECK(accuracy.status == OWD_STATUS_OUTSIDE_TABLE);
  sheet.lines = lines;
  sheet.ranges = 2;
  sheet.test_voltages_volt = volts;
  CHECK(owd_accuracy_sheet_check(&sheet, &fault) == OWD_OK && fault.field == NULL);
  CHECK(owd_accuracy_sheet_check(&sheet, NULL) == OWD_OK);
  CHECK(owd_accuracy_sheet_find(&sheet, 1000, 2.3e9, NAN, &accuracy) == OWD_OK && accuracy.status == OWD_STATUS_SOUND);
  CHECK(owd_accuracy_sheet_find(&sheet, 500, 2.3e9, NAN, &accuracy) == OWD_OK);
  CHECK(accuracy.status == OWD_STATUS_OUTSIDE_TABLE);
  CHECK(owd_accuracy_sheet_at(&sheet, 1, 0, 2.3e9, NAN, &accuracy) == OWD_OK && accuracy.status == OWD_STATUS_SOUND);
  CHECK(owd_accuracy_sheet_at(&sheet, 2, 0, 2.3e9, NAN, &accuracy) == OWD_OK);
  CHECK(accuracy.status == OWD_STATUS_OUTSIDE_TABLE);
  CHECK(owd_accuracy_sheet_ceiling(&sheet, 1000, &ceiling) == OWD_OK && ceiling == 4e9);
  CHECK(owd_accuracy_sheet_ceiling(&sheet, 1000, NULL) == OWD_ERROR_NULL);
  CHECK(owd_accuracy_sheet_at(NULL, 0, 0, 1, NAN, &accuracy) == OWD_ERROR_NULL);
  CHECK(owd_accuracy_sheet_at(&sheet, 0, 0, 1, NAN, NULL) == OWD_ERROR_NULL);
  CHECK(owd_accuracy_sheet_find(&sheet, 1000, 1, NAN, NULL) == OWD_ERROR_NULL);
  sheet.log_scale = 2;
  CHECK(owd_accuracy_sheet_check(&sheet, &fault) == OWD_ERROR_CONFIG && strcmp(fault.field, "log_scale") == 0);
  sheet.reserved[3] = 1;
  CHECK(owd_accuracy_sheet_find(&sheet, 1000, 1, NAN, &accuracy) == OWD_ERROR_RESERVED);
  CHECK(owd_accuracy_sheet_at(&sheet, 0, 0, 1, NAN, &accuracy) == OWD_ERROR_RESERVED);
  CHECK(owd_accuracy_sheet_ceiling(&sheet, 1000, &ceiling) == OWD_ERROR_RESERVED);
}

static void the_library(void) {
  owd_self_test_result result;
  CHECK(owd_abi_version() == OWD_ABI_VERSION);
  CHECK(strcmp(owd_version(), OWD_EXPECTED_VERSION) == 0);
  CHECK(owd_self_test(&memory, sizeof memory, &result) == OWD_OK);
  CHECK(result.tables == result.tables_expected && result.formulas == result.formulas_expected);
  CHECK(owd_self_test(&memory, sizeof memory, NULL) == OWD_OK);
  CHECK(owd_self_test(NULL, sizeof memory, &result) == OWD_ERROR_NULL);
  CHECK(owd_self_test(&memory, 8, &result) == OWD_ERROR_SIZE);
  CHECK(strcmp(owd_status_text(OWD_STATUS_RUN_CUT), "power was lost during the run; what was known then") == 0);
  CHECK(strcmp(owd_status_text(100), "unknown status") == 0);
  CHECK(strcmp(owd_error_text(OWD_ERROR_NULL), "a pointer that is needed is null") == 0);
  CHECK(strcmp(owd_error_text(1), "unknown error") == 0);
  CHECK(strcmp(owd_finding_text(OWD_FINDING_NULL_MISSING), "null value not written down") == 0);
  CHECK(strcmp(owd_finding_text(64), "unknown finding") == 0);
}

/* --- Hosted part */

#define SAID(text) (strstr(owd_last_error(), text) != NULL)

static void misuse_of_formulas(void) {
  double ohm[3] = {1e9, NAN, 2e9}, celsius[3] = {30, 20, 30}, out[3] = {7, 7, 7};
  owd_status status[3] = {77, 77, 77};
  owd_law law = OWD_LAW;
  owd_attainable of = OWD_ATTAINABLE;
  CHECK(owd_to_reference(3, ohm, celsius, NULL, 20, 1, out, status) == OWD_ERROR_NULL && out[0] == 7);
  CHECK(owd_to_reference(3, ohm, celsius, &law, 20, 1, out, status) == OWD_OK);
  CHECK(status[0] == OWD_STATUS_NO_LAW && out[0] != out[0]);
  law.kind = OWD_LAW_HALVING;
  CHECK(owd_to_reference(3, ohm, celsius, &law, 20, 1, out, status) == OWD_ERROR_PARAMETER && SAID("step_kelvin"));
  law.constant = 10;
  CHECK(owd_to_reference(3, ohm, celsius, &law, 20, -1, out, status) == OWD_ERROR_PARAMETER && SAID("threads"));
  CHECK(owd_to_reference(3, ohm, celsius, &law, -300, 1, out, status) == OWD_ERROR_PARAMETER && SAID("reference"));
  CHECK(owd_to_reference(3, NULL, celsius, &law, 20, 1, out, status) == OWD_ERROR_NULL);
  CHECK(owd_to_reference(0, NULL, NULL, &law, 20, 1, NULL, NULL) == OWD_OK);
  CHECK(owd_to_reference(3, ohm, celsius, &law, 20, 1, out, NULL) == OWD_OK && out[0] == 2e9);
  CHECK(owd_to_reference(3, ohm, celsius, &law, 20, 1, out, status) == OWD_OK && status[0] == OWD_STATUS_SOUND);
  CHECK(status[1] == OWD_STATUS_MISSING_INPUT && out[1] != out[1] && out[2] == 4e9);
  law.kind = 99;
  CHECK(owd_to_reference(3, ohm, celsius, &law, 20, 1, out, status) == OWD_ERROR_PARAMETER && SAID("kind"));
  law.size = 1;
  CHECK(owd_to_reference(3, ohm, celsius, &law, 20, 1, out, status) == OWD_ERROR_SIZE && SAID("law"));
  CHECK(owd_resistance_ratio(3, ohm, celsius, out, status) == OWD_OK && status[1] == OWD_STATUS_MISSING_INPUT);
  CHECK(owd_resistance_ratio(3, ohm, NULL, out, status) == OWD_ERROR_NULL);
  CHECK(owd_attainable_ratio(1, ohm, celsius, NULL, out, status) == OWD_ERROR_NULL);
  CHECK(owd_attainable_ratio(1, ohm, NULL, &of, out, status) == OWD_ERROR_NULL);
  of.late_second = 60;
  CHECK(owd_attainable_ratio(1, ohm, celsius, &of, out, status) == OWD_ERROR_PARAMETER && SAID("late_second"));
}

static void misuse_of_meters(void) {
  owd_range range = {NAN, 0, 4e9, 1e6, 5, 5, 0, 0, OWD_QUANTITY_INSULATION_RESISTANCE, {0}};
  owd_instrument meter = OWD_INSTRUMENT;
  owd_reading reading = OWD_READING;
  owd_quantity quantity, corrected;
  owd_limit limit = OWD_LIMIT;
  owd_law law = OWD_LAW;
  owd_conditions conditions = {20, NAN, 20};
  owd_judgement judgement;
  uint64_t findings = 0;
  meter.ranges = &range;
  meter.range_count = 1;
  reading.value = 2.3e9;
  CHECK(owd_quantity_of(&meter, NULL, &quantity, &findings) == OWD_ERROR_NULL);
  CHECK(owd_quantity_of(&meter, &reading, NULL, &findings) == OWD_ERROR_NULL);
  CHECK(owd_quantity_of(NULL, &reading, &quantity, &findings) == OWD_OK);
  CHECK((findings >> OWD_FINDING_INSTRUMENT_MISSING & 1) == 1);
  CHECK(owd_quantity_of(&meter, &reading, &quantity, NULL) == OWD_OK && quantity.status == OWD_STATUS_SOUND);
  range.reading_percent = -5;
  CHECK(owd_quantity_of(&meter, &reading, &quantity, NULL) == OWD_ERROR_PARAMETER && SAID("reading_percent"));
  range.reading_percent = 5;
  range.quantity = 99;
  CHECK(owd_quantity_of(&meter, &reading, &quantity, NULL) == OWD_ERROR_PARAMETER && SAID("quantity"));
  range.quantity = OWD_QUANTITY_INSULATION_RESISTANCE;
  meter.statement = OWD_SHEET_K;
  CHECK(owd_quantity_of(&meter, &reading, &quantity, NULL) == OWD_ERROR_PARAMETER && SAID("statement"));
  meter.statement = OWD_SHEET_BOUND;
  meter.ranges = NULL;
  CHECK(owd_quantity_of(&meter, &reading, &quantity, NULL) == OWD_ERROR_NULL);
  meter.ranges = &range;
  reading.censoring = 9;
  CHECK(owd_quantity_of(&meter, &reading, &quantity, NULL) == OWD_ERROR_PARAMETER && SAID("censoring"));
  CHECK(owd_quantity_to_reference(&quantity, &law, NULL, &corrected) == OWD_ERROR_NULL);
  CHECK(owd_quantity_to_reference(&quantity, NULL, &conditions, &corrected) == OWD_ERROR_NULL);
  CHECK(owd_quantity_to_reference(&quantity, &law, &conditions, &corrected) == OWD_OK);
  CHECK(corrected.status == OWD_STATUS_NO_LAW && corrected.value != corrected.value);
  CHECK(owd_judge(&quantity, &limit, &judgement) == OWD_ERROR_PARAMETER); /* no end at all */
  limit.lower = 1e6;
  CHECK(owd_judge(NULL, &limit, &judgement) == OWD_ERROR_NULL);
  CHECK(owd_judge(&quantity, NULL, &judgement) == OWD_ERROR_NULL);
  CHECK(owd_judge(&quantity, &limit, NULL) == OWD_ERROR_NULL);
  CHECK(owd_judge(&quantity, &limit, &judgement) == OWD_OK && judgement.verdict == OWD_VERDICT_PASS);
  CHECK(strcmp(owd_verdict_text(judgement.verdict), "pass") == 0);
  CHECK(owd_judge(&corrected, &limit, &judgement) == OWD_OK && judgement.verdict == OWD_VERDICT_UNDETERMINED);
  CHECK(strcmp(owd_reason_text(judgement.reason), "the reading has no value") == 0);
  limit.coverage_factor = -1;
  CHECK(owd_judge(&quantity, &limit, &judgement) == OWD_ERROR_PARAMETER && SAID("coverage_factor"));
  limit.rule = OWD_RULE_SIMPLE;
  CHECK(owd_judge(&quantity, &limit, &judgement) == OWD_OK);
  limit.strict = 2;
  CHECK(owd_judge(&quantity, &limit, &judgement) == OWD_ERROR_PARAMETER && SAID("strict"));
  quantity.scale = 5;
  limit.strict = 0;
  CHECK(owd_judge(&quantity, &limit, &judgement) == OWD_ERROR_PARAMETER && SAID("scale"));
}

int main(void) {
  the_library();
  misuse_absorption_log();
  misuse_resting_voltage_log();
  misuse_link_discharge_log();
  misuse_bonding_log();
  misuse_running_mean();
  misuse_of_kinds();
  misuse_of_sheets();
  misuse_of_formulas();
  misuse_of_meters();
  if (failures == 0) puts("every misuse was answered");
  return failures == 0 ? 0 : 1;
}
