#ifndef OHMWARD_C_EMBEDDED_H
#define OHMWARD_C_EMBEDDED_H

/**
 * @file
 * What a logger calls, in C99: samples in, numbers out, in memory that the caller owns.
 *
 *     owd_absorption_log log;
 *     owd_absorption_log_config config = OWD_ABSORPTION_LOG_CONFIG;
 *     config.test_voltage_volt = 1000;
 *     if (owd_absorption_log_init(&log, sizeof log, &config) != OWD_OK) return 1;
 *     owd_sample sample = OWD_SAMPLE;
 *     sample.time_second = 60;
 *     sample.resistance_ohm = 2.3e9;
 *     owd_absorption_log_push(&log, &sample, NULL);
 *     owd_ratio ratio;
 *     owd_absorption_log_ratio(&log, &ratio);
 *
 * Two answers are kept apart. The value returned tells whether the call was carried out: `OWD_OK` or an `OWD_ERROR_`,
 * which is a mistake of the program. The status beside a value tells what that value is worth, which is a matter of the
 * readings. A call that returns an error leaves what it should write untouched.
 *
 * No heap, no exceptions, no recursion, nothing shared between two objects: each belongs to one task at a time and may
 * be copied byte by byte. Samples are handed in from a task, not from an interrupt: queue them there.
 *
 * Units are SI and stand in the names. NaN (`OWD_UNKNOWN`) is not known. The numbers equal those of the C++ and the
 * Python library to the last bit.
 */

#include <math.h>
#include <stddef.h>
#include <stdint.h>

#include "ohmward_c/numbers.h"

#if defined(_WIN32) && defined(OWD_BUILDING)
#define OWD_API __declspec(dllexport)
#elif defined(_WIN32) && defined(OWD_SHARED)
#define OWD_API __declspec(dllimport)
#elif defined(__GNUC__)
#define OWD_API __attribute__((visibility("default")))
#else
#define OWD_API
#endif

#ifdef __cplusplus
extern "C" {
#endif

#define OWD_UNKNOWN NAN
/* Grows where a program built with an older header would no longer run. */
#define OWD_ABI_VERSION 1

typedef int32_t owd_error;    /* OWD_OK or OWD_ERROR_... */
typedef int8_t owd_status;    /* OWD_STATUS_... */
typedef int8_t owd_censoring; /* OWD_EXACT, OWD_ABOVE, OWD_BELOW, OWD_OVERLOAD */

/* --- The library ------------------------------------------------------------------------------------------------- */

/** "0.1.0" */
OWD_API const char* owd_version(void);
/** OWD_ABI_VERSION of the library that runs; compare it with that of the header. */
OWD_API uint32_t owd_abi_version(void);

/** English texts. Each of the three is in a file of its own kind: a program that defines it replaces it. */
OWD_API const char* owd_error_text(owd_error error);
OWD_API const char* owd_status_text(owd_status status);
OWD_API const char* owd_finding_text(uint32_t finding);

/* Memory lent for one forecast, or for the self-test; its content means nothing afterwards. */
typedef struct owd_forecast_memory {
  uint64_t opaque[704];
} owd_forecast_memory;

/* What the self-test found. */
typedef struct owd_self_test_result {
  uint32_t tables;            /* CRC-32 of every table */
  uint32_t tables_expected;   /* as built */
  uint32_t formulas;          /* CRC-32 of the results of every log on a built-in stream */
  uint32_t formulas_expected; /* as built */
} owd_self_test_result;

/**
 * For power-up: do tables and arithmetic give the bits that they gave on the bench?
 *
 * @param memory  lent for the call; size: sizeof of it.
 * @param result  may be NULL.
 * @return OWD_OK or OWD_ERROR_SELF_TEST.
 */
OWD_API owd_error owd_self_test(owd_forecast_memory* memory, size_t size, owd_self_test_result* result);

/* What is wrong with a configuration; `field` is NULL where nothing is. */
typedef struct owd_fault {
  const char* field;
  const char* expected;
  double given;
} owd_fault;

/* What came in. Each count stays at its end instead of starting over. */
typedef struct owd_counts {
  uint32_t samples;      /* all of them */
  uint32_t taken;        /* counted as readings, bounds included */
  uint32_t missing;      /* NaN in time or value */
  uint32_t impossible;   /* infinite or beyond belief, zero, subnormal or negative where that can not be */
  uint32_t doubled;      /* at the very time of the one before */
  uint32_t out_of_order; /* earlier than the one before */
  uint32_t over_range;   /* over or under range */
  uint32_t after_gap;    /* the time since the one before more than doubled */
  uint32_t sagging;      /* test voltage not reached */
  uint32_t slips;        /* alone far off its neighbours */
  uint32_t jumps;        /* went on at another level */
  uint32_t in_noise;     /* too near zero to tell anything */
  uint32_t range_changes;
  uint32_t tick_wraps;
  uint32_t refused; /* after a cut */
  uint32_t reserved;
} owd_counts;

/* No record is longer. */
#define OWD_GREATEST_RECORD 4096

/* --- Common to the logs ------------------------------------------------------------------------------------------
 *
 * owd_error init(log, size, config)   size: sizeof of the log. A senseless configuration is OWD_ERROR_CONFIG, and every
 *                                     later call answers with the status OWD_STATUS_NOT_CONFIGURED.
 * owd_error check(config, fault)      OWD_OK or OWD_ERROR_CONFIG, and which field of the configuration it is.
 * owd_error reset(log, tick)          a new run with the same configuration, as a new log would begin it.
 * owd_error push(log, sample, status) status: what became of the sample; may be NULL.
 * owd_error counts(log, counts)
 * owd_error save(log, record, size, written)                    at most OWD_GREATEST_RECORD bytes
 * owd_error resume(log, log_size, record, size, how, tick, status)
 *     takes the place of the log that was saved, the log being initialised or not; how: OWD_RESUME_...; tick: any tick
 *     of the clock that counts now, used where the log begins a new time. Status: sound, OWD_STATUS_RUN_CUT,
 *     OWD_STATUS_NOT_CONFIGURED or OWD_STATUS_RECORD_DAMAGED: the log is not set up then.
 *
 * A configuration begins with its own size, which the initialiser macro sets, and ends in reserved bytes, which are
 * zero.
 */

/* --- Insulation test --------------------------------------------------------------------------------------------- */

/* One sample: resistance, or voltage and current. As long as the part is being charged, voltage over current is less
 * than its resistance: flag such samples OWD_OVER_RANGE, their resistance is a lower bound. Without the flag they are a
 * jump of the run, which then tells no ratio. */
typedef struct owd_sample {
  double time_second;  /* since the voltage was switched on */
  double applied_volt; /* true test voltage */
  double current_ampere;
  double resistance_ohm; /* NaN: applied_volt over current_ampere */
  uint32_t tick_millisecond;
  uint8_t flags; /* OWD_OVER_RANGE | OWD_UNDER_RANGE | OWD_RANGE_CHANGED */
  uint8_t reserved[3];
} owd_sample;
#define OWD_SAMPLE {OWD_UNKNOWN, OWD_UNKNOWN, OWD_UNKNOWN, OWD_UNKNOWN, 0, 0, {0, 0, 0}}

typedef struct owd_absorption_log {
  uint64_t tag;
  uint8_t opaque[2040];
} owd_absorption_log;

typedef struct owd_absorption_log_config {
  uint32_t size;
  uint32_t start_tick_millisecond;           /* when the voltage was switched on */
  double test_voltage_volt;                  /* as set [V], > 0 */
  double early_second;                       /* [s], > 0; with a forecast 5 ... 600 */
  double late_second;                        /* [s], > early_second; with a forecast at most 3600 */
  double source_ampere;                      /* greatest current of the tester [A], > 0 */
  double relative_standard_uncertainty;      /* of one reading, independent from the others, >= 0 */
  double gain_relative_standard_uncertainty; /* common to readings on one range, >= 0; known */
  double capacitance_farad;                  /* the high end of what the part may have [F], >= 0 */
  double least_visible_change;               /* of ln R over a doubling of time, > 0; a setting without a source */
  double loss_factor;                        /* [1], > 0 */
  double drift_kelvin;                       /* of the forecast: greatest drift of temperature in 600 s [K] */
  double current_per_kelvin;                 /* of the forecast: factor of the current per kelvin, 1 ... 2 */
  uint8_t time_base;                         /* OWD_TIME_... */
  uint8_t forecast;                          /* 1: keep the sums of the forecast */
  uint8_t reserved[30];
} owd_absorption_log_config;
/* 60 s and 600 s, with forecast. */
#define OWD_ABSORPTION_LOG_CONFIG \
  {sizeof(owd_absorption_log_config), \
   0, \
   OWD_UNKNOWN, \
   60, \
   600, \
   OWD_UNKNOWN, \
   OWD_UNKNOWN, \
   0, \
   OWD_UNKNOWN, \
   0.02, \
   0.2, \
   0, \
   1.07, \
   OWD_TIME_SECOND, \
   1, \
   {0}}

/* R(late)/R(early) [1]. */
typedef struct owd_ratio {
  double value;
  double relative_standard_uncertainty; /* of the readings; the common gain cancels on one range */
  owd_status status;
  owd_censoring censoring;
  uint8_t reserved[6];
} owd_ratio;

/* Resistance at a time [ohm]. */
typedef struct owd_spot {
  double value;
  double second; /* of that reading; of the declared times these */
  owd_status status;
  owd_censoring censoring;
  uint8_t reserved[6];
} owd_spot;

/* Settled, charging, absorbing, or nothing more to learn, with the evidence. */
typedef struct owd_settling {
  double slope; /* d ln R / d ln t over the last half of the run */
  double slope_standard_uncertainty;
  double charging_until_second;   /* from capacitance, voltage and source current */
  double absorption_until_second; /* after this no absorption of this part is visible */
  double may_stop_second;         /* nothing is to be learnt after this */
  owd_status status;
  int8_t state; /* OWD_SETTLING_... */
  uint8_t reserved[6];
} owd_settling;

/* What the charging phase shows. The charge that the insulation let through meanwhile is taken off. */
typedef struct owd_charging {
  double capacitance_farad;
  double low_farad;
  double high_farad;
  double reached_second; /* when the test voltage was reached */
  double readings;       /* of the rise */
  owd_status status;
  uint8_t reserved[7];
} owd_charging;

/* Forecast of the ratio. */
typedef struct owd_forecast {
  double value;
  double low;
  double high;
  double noise;          /* relative standard deviation of one reading */
  double kernel_width;   /* 1 where the library of curves is dense enough */
  double least_distance; /* squared, in standard deviations, of the nearest curve */
  double steepening;     /* in standard deviations; negative: the slope still gets steeper */
  double mechanism[7];   /* weights; their sum is 1 */
  owd_status status;
  uint8_t reserved[7];
} owd_forecast;

/* The 4096 curves of a forecast on the grid of one run: made once, used until the next sample. Without it every pass of
 * a forecast makes the curves anew, with the same bits. */
typedef struct owd_forecast_library {
  uint64_t tag;
  uint8_t opaque[104440];
} owd_forecast_library;

OWD_API owd_error owd_absorption_log_init(owd_absorption_log* log, size_t size,
                                          const owd_absorption_log_config* config);
OWD_API owd_error owd_absorption_log_check(const owd_absorption_log_config* config, owd_fault* fault);
OWD_API owd_error owd_absorption_log_reset(owd_absorption_log* log, uint32_t start_tick_millisecond);

/** Status: sound; bound_only; at_reduced_voltage; missing_input; out_of_domain: impossible; contradiction: not later
 * than the one before, or after a cut; not_configured. */
OWD_API owd_error owd_absorption_log_push(owd_absorption_log* log, const owd_sample* sample, owd_status* status);

/** OWD_MARK_... of the last sample. */
OWD_API owd_error owd_absorption_log_marks(const owd_absorption_log* log, uint16_t* marks);

/** Status: sound; few_points: neighbours more than a factor of 2 apart in time; bound_only; run_cut; outside_curve: not
 * read yet; unknown_bound; contradiction: the run jumps or does not rise in time; too_few_points; not_configured. */
OWD_API owd_error owd_absorption_log_ratio(const owd_absorption_log* log, owd_ratio* ratio);
OWD_API owd_error owd_absorption_log_early(const owd_absorption_log* log, owd_spot* spot);
OWD_API owd_error owd_absorption_log_late(const owd_absorption_log* log, owd_spot* spot);
/** The last reading that counts. */
OWD_API owd_error owd_absorption_log_latest(const owd_absorption_log* log, owd_spot* spot);
OWD_API owd_error owd_absorption_log_settling(const owd_absorption_log* log, owd_settling* settling);
/** Needs voltage and current in the samples. */
OWD_API owd_error owd_absorption_log_charging(const owd_absorption_log* log, owd_charging* charging);
/** OWD_CONTACT_...: what shows that the leads touch the part. */
OWD_API owd_error owd_absorption_log_contact(const owd_absorption_log* log, int8_t* contact);

/**
 * Forecast of the ratio from what was read so far; it never replaces a test that runs its full time.
 *
 * @param level       of the interval, within (0, 1); 0.95 is what was measured, any other is `interval_scaled`.
 * @param memory      lent for the call; memory_size: sizeof of it.
 * @param library     of this run as it stands, or NULL: the curves are made anew in each of four passes.
 */
OWD_API owd_error owd_absorption_log_forecast(const owd_absorption_log* log, double level, owd_forecast_memory* memory,
                                              size_t memory_size, const owd_forecast_library* library,
                                              owd_forecast* forecast);
/** Begins a library for the run as it stands. */
OWD_API owd_error owd_forecast_library_begin(owd_forecast_library* library, size_t size, const owd_absorption_log* log);
/** Makes the next `curves` of the 4096, between other work; *more becomes 0 once all are there. */
OWD_API owd_error owd_forecast_library_fill(owd_forecast_library* library, uint32_t curves, uint8_t* more);

OWD_API owd_error owd_absorption_log_counts(const owd_absorption_log* log, owd_counts* counts);
OWD_API owd_error owd_absorption_log_save(const owd_absorption_log* log, uint8_t* record, size_t size, size_t* written);
OWD_API owd_error owd_absorption_log_resume(owd_absorption_log* log, size_t log_size, const uint8_t* record,
                                            size_t size, uint8_t how, uint32_t start_tick_millisecond,
                                            owd_status* status);

/* --- Battery that comes to rest ---------------------------------------------------------------------------------- */

/* One sample of a voltage. */
typedef struct owd_voltage_sample {
  double time_second; /* since the current stopped, or the link was switched off */
  double voltage_volt;
  uint32_t tick_millisecond;
  uint8_t flags; /* OWD_OVER_RANGE | OWD_UNDER_RANGE | OWD_RANGE_CHANGED */
  uint8_t reserved[3];
} owd_voltage_sample;
#define OWD_VOLTAGE_SAMPLE {OWD_UNKNOWN, OWD_UNKNOWN, 0, 0, {0, 0, 0}}

typedef struct owd_resting_voltage_log {
  uint64_t tag;
  uint8_t opaque[760];
} owd_resting_voltage_log;

typedef struct owd_resting_voltage_log_config {
  uint32_t size;
  uint32_t start_tick_millisecond;  /* when the current stopped */
  double standard_uncertainty_volt; /* of one reading [V], > 0; needed */
  double tolerance_cell_volt;       /* change over a doubling of the rest that still counts as rest [V], > 0 */
  uint32_t cells;                   /* in series, 1 ... 1000 */
  uint8_t time_base;                /* OWD_TIME_... */
  uint8_t reserved[27];
} owd_resting_voltage_log_config;
/* Six cells; the uncertainty has to be set. */
#define OWD_RESTING_VOLTAGE_LOG_CONFIG \
  {sizeof(owd_resting_voltage_log_config), 0, OWD_UNKNOWN, 0.002, 6, OWD_TIME_SECOND, {0}}

typedef struct owd_resting {
  double voltage_volt; /* of the line at the last reading */
  double standard_uncertainty_volt;
  double slope_volt_per_hour; /* below 0: the voltage falls */
  double slope_standard_uncertainty_volt_per_hour;
  double change_volt; /* over a doubling of the rest, if it goes on straight in ln t */
  double rest_second; /* of the last reading */
  owd_status status;
  int8_t state; /* OWD_RESTING_... */
  uint8_t reserved[6];
} owd_resting;

OWD_API owd_error owd_resting_voltage_log_init(owd_resting_voltage_log* log, size_t size,
                                               const owd_resting_voltage_log_config* config);
OWD_API owd_error owd_resting_voltage_log_check(const owd_resting_voltage_log_config* config, owd_fault* fault);
OWD_API owd_error owd_resting_voltage_log_reset(owd_resting_voltage_log* log, uint32_t start_tick_millisecond);
/** Status: sound; bound_only: counted only; missing_input; out_of_domain; contradiction; not_configured. */
OWD_API owd_error owd_resting_voltage_log_push(owd_resting_voltage_log* log, const owd_voltage_sample* sample,
                                               owd_status* status);
/** Status: sound; drift_present while the voltage moves; few_points where its change can not be told from the tolerance
 * yet; too_few_points; run_cut; not_configured. */
OWD_API owd_error owd_resting_voltage_log_state(const owd_resting_voltage_log* log, owd_resting* state);
OWD_API owd_error owd_resting_voltage_log_counts(const owd_resting_voltage_log* log, owd_counts* counts);
OWD_API owd_error owd_resting_voltage_log_save(const owd_resting_voltage_log* log, uint8_t* record, size_t size,
                                               size_t* written);
OWD_API owd_error owd_resting_voltage_log_resume(owd_resting_voltage_log* log, size_t log_size, const uint8_t* record,
                                                 size_t size, uint8_t how, uint32_t start_tick_millisecond,
                                                 owd_status* status);

/* --- DC link that discharges -------------------------------------------------------------------------------------- */

typedef struct owd_link_discharge_log {
  uint64_t tag;
  uint8_t opaque[1272];
} owd_link_discharge_log;

typedef struct owd_link_discharge_log_config {
  uint32_t size;
  uint32_t start_tick_millisecond;           /* when the link was switched off */
  double standard_uncertainty_volt;          /* of one reading [V], > 0; needed */
  double threshold_volt;                     /* [V], > 0 */
  double gain_relative_standard_uncertainty; /* common to all readings, >= 0 */
  double coverage_factor;                    /* of the interval, > 0 */
  uint8_t time_base;                         /* OWD_TIME_... */
  uint8_t reserved[31];
} owd_link_discharge_log_config;
/* 60 V, k = 2; the uncertainty has to be set. */
#define OWD_LINK_DISCHARGE_LOG_CONFIG \
  {sizeof(owd_link_discharge_log_config), 0, OWD_UNKNOWN, 60, 0, 2, OWD_TIME_SECOND, {0}}

/* A voltage near zero is no proof that a circuit is dead. */
typedef struct owd_decay {
  double initial_volt; /* at the first reading */
  double time_constant_second;
  double time_constant_standard_uncertainty_second;
  double threshold_second; /* when the threshold is crossed, on the clock of the readings */
  double threshold_low_second;
  double threshold_high_second; /* infinite where no decay is shown */
  double chi_square;            /* of the residuals */
  double degrees_of_freedom;
  uint32_t remarks; /* bits OWD_DECAY_... */
  owd_status status;
  uint8_t reserved[3];
} owd_decay;

OWD_API owd_error owd_link_discharge_log_init(owd_link_discharge_log* log, size_t size,
                                              const owd_link_discharge_log_config* config);
OWD_API owd_error owd_link_discharge_log_check(const owd_link_discharge_log_config* config, owd_fault* fault);
OWD_API owd_error owd_link_discharge_log_reset(owd_link_discharge_log* log, uint32_t start_tick_millisecond);
/** Status: sound; inside_noise: within 3 u of zero; bound_only: counted only; missing_input; out_of_domain;
 * contradiction; not_configured. */
OWD_API owd_error owd_link_discharge_log_push(owd_link_discharge_log* log, const owd_voltage_sample* sample,
                                              owd_status* status);
/** Status: sound; few_points; no_solution: no crossing; inside_noise; too_few_points; run_cut; not_configured. */
OWD_API owd_error owd_link_discharge_log_state(const owd_link_discharge_log* log, owd_decay* state);
OWD_API owd_error owd_link_discharge_log_counts(const owd_link_discharge_log* log, owd_counts* counts);
OWD_API owd_error owd_link_discharge_log_save(const owd_link_discharge_log* log, uint8_t* record, size_t size,
                                              size_t* written);
OWD_API owd_error owd_link_discharge_log_resume(owd_link_discharge_log* log, size_t log_size, const uint8_t* record,
                                                size_t size, uint8_t how, uint32_t start_tick_millisecond,
                                                owd_status* status);

/* --- Joints read with a low-ohm meter ----------------------------------------------------------------------------- */

/* One display of a joint, or of the shorted leads. */
typedef struct owd_joint_sample {
  double time_second;    /* on any clock that goes on between null and reading */
  double resistance_ohm; /* as displayed */
  double test_ampere;
  uint32_t tick_millisecond;
  uint8_t flags; /* OWD_OVER_RANGE | OWD_RANGE_CHANGED | OWD_POLARITY_REVERSED */
  uint8_t reserved[3];
} owd_joint_sample;
#define OWD_JOINT_SAMPLE {OWD_UNKNOWN, OWD_UNKNOWN, OWD_UNKNOWN, 0, 0, {0, 0, 0}}

typedef struct owd_bonding_log {
  uint64_t tag;
  uint8_t opaque[440];
} owd_bonding_log;

typedef struct owd_bonding_log_config {
  uint32_t size;
  uint32_t start_tick_millisecond;
  double standard_uncertainty_ohm;           /* of one display [ohm], > 0; needed */
  double null_standard_uncertainty_ohm;      /* of one null [ohm]; NaN: as of a display */
  double gain_relative_standard_uncertainty; /* acts on the difference from the null only, >= 0 */
  double least_test_ampere;                  /* [A] */
  double null_low_ohm;                       /* below, a null is plausible for short leads only [ohm] */
  double null_high_ohm;                      /* above, a bad contact was nulled away [ohm] */
  double greatest_age_second;                /* of a null [s] */
  double polarity_factor;  /* forward and reverse apart by more than this many u of their difference */
  uint8_t time_base;       /* OWD_TIME_... */
  uint8_t four_wire;       /* 1: needs no null */
  uint8_t null_subtracted; /* 1: the meter already takes its null off */
  uint8_t reserved[29];
} owd_bonding_log_config;
/* Two wires, null to be taken off here, 0.2 A, one shift; the uncertainty has to be set. */
#define OWD_BONDING_LOG_CONFIG \
  {sizeof(owd_bonding_log_config), 0, OWD_UNKNOWN, OWD_UNKNOWN, 0, 0.2, 0.02, 0.2, 28800, 3, OWD_TIME_SECOND, 0, 0, {0}}

/* A joint's resistance with its standard uncertainty in parts. */
typedef struct owd_joint {
  double resistance_ohm;
  double standard_uncertainty_ohm; /* of all parts together */
  double reading_standard_uncertainty_ohm;
  double null_standard_uncertainty_ohm;
  double gain_standard_uncertainty_ohm;
  uint32_t remarks; /* bits OWD_BONDING_... */
  owd_status status;
  owd_censoring censoring;
  uint8_t null_missing;
  uint8_t current_too_low;
} owd_joint;

OWD_API owd_error owd_bonding_log_init(owd_bonding_log* log, size_t size, const owd_bonding_log_config* config);
OWD_API owd_error owd_bonding_log_check(const owd_bonding_log_config* config, owd_fault* fault);
/** Forgets null and joint. */
OWD_API owd_error owd_bonding_log_reset(owd_bonding_log* log, uint32_t start_tick_millisecond);
OWD_API owd_error owd_bonding_log_forget_null(owd_bonding_log* log);
/** Takes a display of the shorted leads. */
OWD_API owd_error owd_bonding_log_push_null(owd_bonding_log* log, const owd_joint_sample* sample, owd_status* status);
/** Goes to the next joint; the null stays. */
OWD_API owd_error owd_bonding_log_next_joint(owd_bonding_log* log);
/** Status: sound; bound_only: over range, the joint is open; missing_input; out_of_domain; contradiction;
 * not_configured. */
OWD_API owd_error owd_bonding_log_push(owd_bonding_log* log, const owd_joint_sample* sample, owd_status* status);
/** Status: sound; bound_only without a null; missing_input; unknown_bound for an open joint; run_cut; not_configured.
 */
OWD_API owd_error owd_bonding_log_joint(const owd_bonding_log* log, owd_joint* joint);
OWD_API owd_error owd_bonding_log_counts(const owd_bonding_log* log, owd_counts* counts);
OWD_API owd_error owd_bonding_log_save(const owd_bonding_log* log, uint8_t* record, size_t size, size_t* written);
/** After a cut the joint is begun anew, and the age of the null is not known. */
OWD_API owd_error owd_bonding_log_resume(owd_bonding_log* log, size_t log_size, const uint8_t* record, size_t size,
                                         uint8_t how, uint32_t start_tick_millisecond, owd_status* status);

/* --- Mean of readings --------------------------------------------------------------------------------------------- */

typedef struct owd_running_mean {
  uint64_t tag;
  uint8_t opaque[184];
} owd_running_mean;

typedef struct owd_running_mean_config {
  uint32_t size;
  uint32_t reserved_too;
  double display_step; /* one count of the display: a floor of the uncertainty; 0: none */
  uint8_t reserved[32];
} owd_running_mean_config;
#define OWD_RUNNING_MEAN_CONFIG {sizeof(owd_running_mean_config), 0, 0, {0}}

typedef struct owd_mean {
  double mean;
  double standard_deviation;   /* of one reading */
  double standard_uncertainty; /* of the mean */
  double degrees_of_freedom;
  double readings;
  owd_status status;
  uint8_t reserved[7];
} owd_mean;

OWD_API owd_error owd_running_mean_init(owd_running_mean* mean, size_t size, const owd_running_mean_config* config);
OWD_API owd_error owd_running_mean_check(const owd_running_mean_config* config, owd_fault* fault);
OWD_API owd_error owd_running_mean_reset(owd_running_mean* mean);
/** Status: sound; missing_input; out_of_domain; not_configured. */
OWD_API owd_error owd_running_mean_push(owd_running_mean* mean, double value, owd_status* status);
/** Joins the readings of another one. Status: contradiction where the display step differs. */
OWD_API owd_error owd_running_mean_merge(owd_running_mean* mean, const owd_running_mean* other, owd_status* status);
/** Status: sound; few_points: one reading and a floor; too_few_points: no spread is known, a mean may be; run_cut;
 * not_configured. */
OWD_API owd_error owd_running_mean_state(const owd_running_mean* mean, owd_mean* state);
OWD_API owd_error owd_running_mean_counts(const owd_running_mean* mean, owd_counts* counts);
OWD_API owd_error owd_running_mean_save(const owd_running_mean* mean, uint8_t* record, size_t size, size_t* written);
OWD_API owd_error owd_running_mean_resume(owd_running_mean* mean, size_t mean_size, const uint8_t* record, size_t size,
                                          uint8_t how, owd_status* status);

/* --- Accuracy sheet in read-only memory --------------------------------------------------------------------------- */

/* One range at one test voltage. */
typedef struct owd_accuracy_line {
  double low;
  double high; /* the ceiling of the range, > 0 */
  double display_step;
  double reading_percent;
  double counts;
  double range_percent;
  double gain_share; /* share of the reading term that is common to readings on one range, 0 ... 1 */
} owd_accuracy_line;

/* Lines of one quantity: lines[range * voltages + voltage], ranges rising. */
typedef struct owd_accuracy_sheet {
  uint32_t size;
  uint16_t ranges;
  uint16_t voltages; /* 1 where test_voltages_volt is NULL */
  const owd_accuracy_line* lines;
  const double* test_voltages_volt; /* NULL: holds at any */
  double divisor;    /* of the sheet's figures: square root of 3 for bounds; k where the sheet states k */
  uint8_t log_scale; /* 1: insulation and its ratios; 0: bonding, voltage, capacitance */
  uint8_t reserved[15];
} owd_accuracy_sheet;
#define OWD_ACCURACY_SHEET {sizeof(owd_accuracy_sheet), 0, 1, NULL, NULL, 1.7320508075688772, 1, {0}}

/* Standard uncertainty of a reading: relative on the log scale, else in the unit of the reading. */
typedef struct owd_accuracy {
  double standard_uncertainty;
  double gain;    /* its part that is common to readings on one range */
  double reading; /* the rest */
  owd_status status;
  uint8_t reserved[7];
} owd_accuracy;

OWD_API owd_error owd_accuracy_sheet_check(const owd_accuracy_sheet* sheet, owd_fault* fault);
/**
 * Of a reading on a range that is known. `decision_value`: the limit that it will be compared with; NaN: none.
 * Status: sound; outside_fitted_range: below the line's low end; outside_table: no such line, or the reading lies above
 * it; missing_input; out_of_domain. The lines are not checked here: owd_accuracy_sheet_check does that once.
 */
OWD_API owd_error owd_accuracy_sheet_at(const owd_accuracy_sheet* sheet, uint16_t range, uint16_t voltage,
                                        double reading, double decision_value, owd_accuracy* accuracy);
/** Of a reading on the lowest range that holds it at a test voltage. */
OWD_API owd_error owd_accuracy_sheet_find(const owd_accuracy_sheet* sheet, double test_voltage_volt, double reading,
                                          double decision_value, owd_accuracy* accuracy);
/** Greatest value that the meter can show at a test voltage; NaN where the sheet does not say. */
OWD_API owd_error owd_accuracy_sheet_ceiling(const owd_accuracy_sheet* sheet, double test_voltage_volt,
                                             double* ceiling);

#ifdef __cplusplus
}
#endif

#endif
