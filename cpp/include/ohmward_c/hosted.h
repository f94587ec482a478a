#ifndef OHMWARD_C_HOSTED_H
#define OHMWARD_C_HOSTED_H

/**
 * @file
 * What a program on a desk calls beside the logs: batches of formulas, accuracy sheet to quantity, limit, verdict.
 *
 * As in embedded.h an error is a mistake of the program and the status beside a value is what that value is worth. An
 * error of this part leaves a text in `owd_last_error()` that names the field, the value and what was expected. No
 * exception leaves the library.
 */

#include "ohmward_c/embedded.h"

#ifdef __cplusplus
extern "C" {
#endif

/** What the last failing call of this thread said; never NULL, valid until the next failing call of the thread. */
OWD_API const char* owd_last_error(void);

/* --- Formulas over many values ------------------------------------------------------------------------------------
 *
 * Arrays of `size` values; an output may be one of the inputs, but may not overlap one in part. `status` may be NULL.
 * Where a status is negative the value is NaN. threads: 0: all cores; the result never depends on it.
 */

/* How a resistance depends on temperature. */
typedef struct owd_law {
  uint32_t size;
  int8_t kind; /* OWD_LAW_... */
  uint8_t reserved[3];
  double constant; /* step [K], activation energy [eV] or tau [K], > 0; of OWD_LAW_THERMOSETTING not used */
  double constant_standard_uncertainty; /* in the same unit, of OWD_LAW_THERMOSETTING relative; NaN: not known */
  double fitted_low_celsius;
  double fitted_high_celsius;
} owd_law;
#define OWD_LAW {sizeof(owd_law), OWD_LAW_NONE, {0, 0, 0}, OWD_UNKNOWN, OWD_UNKNOWN, -INFINITY, INFINITY}

/** Resistances at the reference temperature of a law [ohm]. Status: sound; outside_fitted_range; missing_input;
 * out_of_domain; unknown_bound: +inf. */
OWD_API owd_error owd_to_reference(size_t size, const double* resistance_ohm, const double* celsius, const owd_law* law,
                                   double reference_celsius, int32_t threads, double* out_ohm, owd_status* status);

/** Ratios R(late)/R(early) [1]. Status: sound; missing_input; out_of_domain; unknown_bound: +inf. */
OWD_API owd_error owd_resistance_ratio(size_t size, const double* late_ohm, const double* early_ohm, double* out,
                                       owd_status* status);

/* What limits the ratio that a part can show. */
typedef struct owd_attainable {
  double early_second;
  double late_second;
  double loss_factor;
  double absorption_exponent;
} owd_attainable;
/* 60 s and 600 s at the generous end of what insulations lose. */
#define OWD_ATTAINABLE {60, 600, 0.2, 1}

/** The highest ratio that a part of this capacitance can show at this resistance [1]. Status: sound; missing_input;
 * out_of_domain; unknown_bound; not_applicable: nothing limits it. */
OWD_API owd_error owd_attainable_ratio(size_t size, const double* early_ohm, const double* capacitance_farad,
                                       const owd_attainable* of, double* out, owd_status* status);

/* --- Accuracy sheet to quantity ----------------------------------------------------------------------------------- */

/* One line of a sheet: +-(reading_percent of reading + range_percent of range + counts * display_step), in SI units. */
typedef struct owd_range {
  double test_voltage_volt; /* NaN: holds at any test voltage */
  double low;
  double high; /* the ceiling of its range */
  double display_step;
  double reading_percent;
  double counts;
  double range_percent;
  double gain_share; /* share of the reading term that is common to readings on one range, 0 ... 1 */
  int8_t quantity;   /* OWD_QUANTITY_... */
  uint8_t reserved[7];
} owd_range;

/* A hand-held meter. */
typedef struct owd_instrument {
  uint32_t size;
  uint32_t range_count;
  const owd_range* ranges;
  double statement_value;         /* k, or the level in 0 ... 1; of a bound not used */
  double temperature_coefficient; /* fraction of the accuracy per kelvin outside the reference range */
  double reads_zero_below;        /* shows 0 below this value (a two-pole tester) */
  double correction;              /* fraction to add to every reading */
  int8_t statement;               /* OWD_SHEET_... */
  uint8_t reserved[23];
} owd_instrument;
#define OWD_INSTRUMENT {sizeof(owd_instrument), 0, NULL, OWD_UNKNOWN, 0, 0, 0, OWD_SHEET_BOUND, {0}}

/* A reading as the display showed it. */
typedef struct owd_reading {
  uint32_t size;
  int8_t quantity; /* OWD_QUANTITY_... */
  owd_censoring censoring;
  uint8_t reserved[2];
  double value;             /* SI; the bound where censored */
  double resolution;        /* size of the last digit written down; NaN: not known */
  double test_voltage_volt; /* set voltage of an insulation tester */
  double ambient_celsius;   /* NaN: taken to lie inside the reference range */
  double decision_value;    /* limit that the reading will be compared with, as read; NaN: none */
} owd_reading;
#define OWD_READING \
  {sizeof(owd_reading), OWD_QUANTITY_INSULATION_RESISTANCE, \
   OWD_EXACT,           {0, 0}, \
   OWD_UNKNOWN,         OWD_UNKNOWN, \
   OWD_UNKNOWN,         OWD_UNKNOWN, \
   OWD_UNKNOWN}

/* A value with its standard uncertainty in parts; on the log scale the parts are those of ln(value). */
typedef struct owd_quantity {
  double value;
  double standard_uncertainty; /* of all parts; written by the library, not read */
  double part[16];             /* by OWD_PART_...; those without a name are 0 */
  double degrees_of_freedom;
  int8_t scale; /* OWD_SCALE_... */
  owd_censoring censoring;
  owd_status status;
  uint8_t reserved[5];
} owd_quantity;

/** Reading to quantity. `findings`: bits by OWD_FINDING_...; may be NULL. An instrument of NULL is not known: the class
 * bound holds where there is one. */
OWD_API owd_error owd_quantity_of(const owd_instrument* instrument, const owd_reading* reading, owd_quantity* quantity,
                                  uint64_t* findings);

/* Temperature of what was tested, never that of the air. NaN in an uncertainty: the library's default. */
typedef struct owd_conditions {
  double part_celsius;
  double standard_uncertainty_kelvin;
  double reference_celsius;
} owd_conditions;

/** Refers a resistance to the reference temperature of its limit; the uncertainties of the temperature and of the law
 * join its parts. `corrected` may be `quantity`. */
OWD_API owd_error owd_quantity_to_reference(const owd_quantity* quantity, const owd_law* law,
                                            const owd_conditions* conditions, owd_quantity* corrected);

/* --- Limit and verdict -------------------------------------------------------------------------------------------- */

/* A limit with its decision rule: the guard band is multiple * coverage_factor * u. */
typedef struct owd_limit {
  uint32_t size;
  int8_t rule;    /* OWD_RULE_... */
  uint8_t strict; /* 1: a reading equal to the limit is on the worse side */
  uint8_t reserved[2];
  double lower; /* NaN: none */
  double upper; /* NaN: none */
  double multiple;
  double coverage_factor;
} owd_limit;
#define OWD_LIMIT {sizeof(owd_limit), OWD_RULE_GUARDED, 0, {0, 0}, OWD_UNKNOWN, OWD_UNKNOWN, 1, 2}

typedef struct owd_judgement {
  double acceptance_lower; /* least accepted reading; NaN where there is no lower limit */
  double acceptance_upper;
  double probability_of_conformity; /* NaN for a censored reading */
  int8_t verdict;                   /* OWD_VERDICT_... */
  int8_t undecided;                 /* OWD_UNDECIDED_... */
  int8_t reason;                    /* OWD_REASON_... */
  uint8_t reserved[5];
} owd_judgement;

/** Judges a quantity. What has no value or no known uncertainty never passes. */
OWD_API owd_error owd_judge(const owd_quantity* quantity, const owd_limit* limit, owd_judgement* judgement);

/** English texts; "unknown ..." for another number. */
OWD_API const char* owd_verdict_text(int8_t verdict);
OWD_API const char* owd_reason_text(int8_t reason);

#ifdef __cplusplus
}
#endif

#endif
