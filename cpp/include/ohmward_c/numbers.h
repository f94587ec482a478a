#ifndef OHMWARD_C_NUMBERS_H
#define OHMWARD_C_NUMBERS_H

/**
 * @file
 * Every number that the interface hands out. Numbers never change meaning; new ones are appended.
 *
 * The tables are for the preprocessor, so that a vendor can make texts in another language of them:
 *
 *     #define CASE(name, number, text) case number: return my_text_of_##name;
 *
 * They equal the tables of the C++ library and of Python; the build fails where they do not.
 */

/* What became of a call: the first thing to look at. Everything below OWD_OK did nothing but what its line says. */
#define OWD_ERROR_TABLE(entry) \
  entry(OK, 0, "the call was carried out") \
  entry(ERROR_NULL, -1, "a pointer that is needed is null") \
  entry(ERROR_SIZE, -2, "a size is not the one of this version, or the memory is too small") \
  entry(ERROR_NOT_INITIALISED, -3, "the object was not initialised, or is of another kind") \
  entry(ERROR_CONFIG, -4, "the configuration makes no sense; the object answers so from now on") \
  entry(ERROR_RESERVED, -5, "reserved bytes are not zero") \
  entry(ERROR_PARAMETER, -6, "a parameter makes no sense") \
  entry(ERROR_MEMORY, -7, "no memory") \
  entry(ERROR_INTERNAL, -8, "an error of the library") \
  entry(ERROR_SELF_TEST, -9, "the self-test found other numbers than the library was built with")

/* Outcome of one value. 0: sound; above 0: usable but doubtful; below 0: no value, the number beside it is NaN. */
#define OWD_STATUS_TABLE(entry) \
  entry(SOUND, 0, "sound") \
  entry(OUTSIDE_FITTED_RANGE, 1, "outside the range that the law or curve was fitted for") \
  entry(BOUND_ONLY, 2, "only a bound is known") \
  entry(FEW_POINTS, 3, "rests on few points") \
  entry(ASSUMED_INPUT, 4, "an input was assumed, not measured") \
  entry(AT_REDUCED_VOLTAGE, 5, "test voltage not reached") \
  entry(NOT_CONVERGED, 6, "iteration stopped early; the value is the best found") \
  entry(INTERVAL_SCALED, 7, "interval scaled from another level") \
  entry(WIDE, 8, "the data can not know; the interval is wide") \
  entry(SEVERAL_MODES, 9, "several separate values are possible") \
  entry(DRIFT_PRESENT, 10, "the readings drift") \
  entry(RUN_CUT, 11, "power was lost during the run; what was known then") \
  entry(MISSING_INPUT, -1, "an input is missing") \
  entry(OUT_OF_DOMAIN, -2, "an input is impossible") \
  entry(NO_LAW, -3, "no temperature law holds for this part") \
  entry(AMBIGUOUS_TEXT, -4, "the text can be read in more than one way") \
  entry(UNREADABLE_TEXT, -5, "the text is no reading") \
  entry(UNKNOWN_BOUND, -6, "over-range without a known ceiling") \
  entry(TOO_FEW_POINTS, -7, "too few points") \
  entry(OUTSIDE_TABLE, -8, "outside the table") \
  entry(INSIDE_NOISE, -9, "inside the meter's noise") \
  entry(NO_SOLUTION, -10, "no solution") \
  entry(OUTSIDE_CURVE, -11, "outside the curve; no value") \
  entry(CONTRADICTION, -12, "inputs contradict each other") \
  entry(NOT_APPLICABLE, -13, "the quantity does not apply to this part") \
  entry(BELOW_SMALLEST, -14, "result below the smallest normal number") \
  entry(NOT_CONFIGURED, -15, "the object was not set up") \
  entry(RECORD_DAMAGED, -16, "the saved record is damaged or of another kind")

/* Findings of a judged reading: name, bit of a set, text. */
#define OWD_FINDING_TABLE(entry) \
  entry(NO_LIMIT_APPLIES, 0, "no limit applies") \
  entry(CONTACT_NOT_SHOWN, 1, "contact not shown: an over-range reading may be a reading of nothing") \
  entry(OPEN_CONTACTOR_SUSPECTED, 2, "whole reads above one of its parts: measured through an open contactor?") \
  entry(WRONG_FUNCTION_SUSPECTED, 3, "value outside every range of the meter: wrong function or range?") \
  entry(COPIED_SUSPECTED, 4, "the same vector of readings as in another job") \
  entry(SOURCE_CHECK_MISSING, 5, "meter not proven on a known source before and after") \
  entry(NULL_BELOW_ZERO, 6, "null taken on a bad contact: the session's floor lies below zero") \
  entry(WHOLE_VEHICLE_MINIMUM, 7, "only a minimum of the whole vehicle applies; it can not pass a part") \
  entry(OUT_OF_CALIBRATION_DATE, 8, "instrument outside its calibration dates") \
  entry(AT_REDUCED_VOLTAGE, 9, "test voltage not reached: the source current limits it") \
  entry(TEST_VOLTAGE_TOO_LOW, 10, "test voltage below the one required") \
  entry(TEST_CURRENT_TOO_LOW, 11, "test current below the one required") \
  entry(CAN_NOT_SHOW_MORE, 12, "this part can not show a higher ratio") \
  entry(RATIO_TIMES_MISSING, 13, "ratio without its two times: not read as polarisation index") \
  entry(UNIT_SLIP_SUSPECTED, 14, "a power of 1000 away from its like: unit slip?") \
  entry(OBJECT_MISTYPED_SUSPECTED, 15, "fits another vehicle's history better: mistyped?") \
  entry(CEILING_AS_NUMBER_SUSPECTED, 16, "equals the meter's ceiling: over-range written as a number?") \
  entry(MONITOR_CONNECTED_SUSPECTED, 17, "one value on all vehicles of a type: isolation monitor left on?") \
  entry(NULL_NOT_TAKEN_SUSPECTED, 18, "the session's floor is raised: leads not nulled?") \
  entry(METER_DRIFT_SUSPECTED, 19, "meter differs from its check rows") \
  entry(UNLIKE_ITS_LIKE, 20, "stands out from like readings") \
  entry(TEMPERATURE_ASSUMED, 21, "part temperature missing: judged at both ends of the stated range") \
  entry(TEMPERATURE_UNCERTAINTY_ASSUMED, 22, "uncertainty of the part temperature assumed") \
  entry(LAW_UNCERTAINTY_ASSUMED, 23, "uncertainty of the temperature law assumed") \
  entry(OUTSIDE_FITTED_RANGE, 24, "outside the fitted range of the temperature law") \
  entry(NO_LAW_FOR_REFERENCE, 25, "limit at a reference temperature, but no law holds for this part") \
  entry(CORRECTED, 26, "corrected to the limit's reference temperature") \
  entry(INSTRUMENT_MISSING, 27, "instrument not named: class bound, where there is one") \
  entry(SHEET_MISSING, 28, "no accuracy sheet for this reading: class bound, where there is one") \
  entry(OUTSIDE_SHEET_RANGE, 29, "outside the ranges of the accuracy sheet") \
  entry(TEST_VOLTAGE_MISSING, 30, "test voltage not written down") \
  entry(CEILING_UNKNOWN, 31, "over-range without a known ceiling") \
  entry(IN_DOUBT, 32, "marked by a person: do not use") \
  entry(STRICTER_OF_TWO, 33, "two limits fit equally; the stricter one decided") \
  entry(NULL_MISSING, 34, "null value not written down") \
  entry(REST_TIME_MISSING, 35, "time at rest missing") \
  entry(TYPE_MISSING, 36, "battery type missing: judged as a mixture of types") \
  entry(PAIR_NOT_EXAMINED, 37, "only the sum of a pair: one weak battery stays hidden") \
  entry(BEING_CHARGED, 38, "voltage of a battery that is being charged or was just charged") \
  entry(LOADING_CORRECTED, 39, "corrected for the meter's input resistance") \
  entry(ABOVE_5_GIGAOHM, 40, "polarisation index is no criterion above 5 gigaohm") \
  entry(POLES_JOINED, 41, "both poles read the same: joined on the load side, one reading, not two") \
  entry(SURFACE_BELOW_DEW_POINT, 42, "surface at or below the dew point") \
  entry(REPEAT_COMBINED, 43, "judged from several readings") \
  entry(SUPERSEDED, 44, "superseded by a later reading of the same point") \
  entry(AMBIENT_OUTSIDE_REFERENCE, 45, "ambient outside the meter's reference range: uncertainty widened") \
  entry(LEAKAGE_OF_LEADS_SUSPECTED, 46, "the session's ceiling is low: leads or hands in the path?") \
  entry(NOT_SETTLED, 47, "read before it settled") \
  entry(IMBALANCE, 48, "the two batteries of a pair differ") \
  entry(WRONG_TEST_VOLTAGE_SUSPECTED, 49, "test voltage differs from the part's own") \
  entry(RATIO_ABOVE_ATTAINABLE, 50, \
        "rises more than this part's own absorption can: cooling, drying or leftover charge?") \
  entry(RATIO_ALONE, 51, "ratio without its resistances or the part's capacitance: what the part can show stays open") \
  entry(METER_DRIFT_TOLERATED, 52, \
        "meter differs from its check rows; the verdict holds with its uncertainty widened by as much") \
  entry(PAIR_NOT_NAMED, 53, "voltage without the two points it was read between: one row does not stand for every pair")

/* What a reading measures: name, number, SI unit. */
#define OWD_QUANTITY_KIND_TABLE(entry) \
  entry(INSULATION_RESISTANCE, 0, "ohm") \
  entry(INSULATION_RATIO, 1, "") \
  entry(BONDING_RESISTANCE, 2, "ohm") \
  entry(WINDING_RESISTANCE, 3, "ohm") \
  entry(DC_VOLTAGE, 4, "volt") \
  entry(AC_VOLTAGE, 5, "volt") \
  entry(RESTING_VOLTAGE, 6, "volt") \
  entry(MODULE_VOLTAGE, 7, "volt") \
  entry(CAPACITANCE, 8, "farad") \
  entry(TEMPERATURE, 9, "celsius") \
  entry(LOOP_RESISTANCE, 10, "ohm")

/* Where a part of a standard uncertainty comes from. */
#define OWD_PART_TABLE(entry) \
  entry(READING, 0, "meter, independent from reading to reading") \
  entry(GAIN, 1, "meter, common share of its gain") \
  entry(CERTIFICATE, 2, "calibration certificate") \
  entry(NULL, 3, "lead null") \
  entry(LOADING, 4, "meter's input resistance") \
  entry(TEMPERATURE, 5, "temperature of the part") \
  entry(LAW, 6, "constants of the temperature law") \
  entry(REPEAT, 7, "scatter of repeats") \
  entry(RESISTOR, 8, "known resistor") \
  entry(REST, 9, "not yet at rest") \
  entry(CURVE, 10, "spread of curves") \
  entry(OTHER, 11, "other")

/* Remarks on a joint: name, bit, text. */
#define OWD_BONDING_REMARK_TABLE(entry) \
  entry(NULL_OLD, 0, "lead null older than a shift") \
  entry(NULL_AGE_UNKNOWN, 1, "age of the lead null not written down") \
  entry(NULL_IMPLAUSIBLE, 2, "lead null outside what two leads show: was a bad contact nulled?") \
  entry(ONE_POLARITY, 3, "one polarity only: a constant voltage in the loop is not excluded") \
  entry(POLARITIES_DIFFER, 4, "polarities differ: a voltage in the loop, or an unsteady contact") \
  entry(CURRENT_UNKNOWN, 5, "test current not written down") \
  entry(BELOW_ZERO, 6, "below zero with its uncertainty: the null is too large")

#define OWD_ENTRY_ERROR(name, number, text) OWD_##name = (number),
#define OWD_ENTRY_STATUS(name, number, text) OWD_STATUS_##name = (number),
#define OWD_ENTRY_FINDING(name, number, text) OWD_FINDING_##name = (number),
#define OWD_ENTRY_QUANTITY_KIND(name, number, unit) OWD_QUANTITY_##name = (number),
#define OWD_ENTRY_PART(name, number, text) OWD_PART_##name = (number),
#define OWD_ENTRY_BONDING_REMARK(name, number, text) OWD_BONDING_##name = (number),

/* clang-format off */
enum { OWD_ERROR_TABLE(OWD_ENTRY_ERROR) OWD_ERROR_END_ = 1 };
enum { OWD_STATUS_TABLE(OWD_ENTRY_STATUS) OWD_STATUS_END_ = 127 };
enum { OWD_FINDING_TABLE(OWD_ENTRY_FINDING) OWD_FINDING_END_ = 64 };
enum { OWD_QUANTITY_KIND_TABLE(OWD_ENTRY_QUANTITY_KIND) OWD_QUANTITY_END_ = 127 };
enum { OWD_PART_TABLE(OWD_ENTRY_PART) OWD_PART_END_ = 127 };
enum { OWD_BONDING_REMARK_TABLE(OWD_ENTRY_BONDING_REMARK) OWD_BONDING_END_ = 32 };
/* clang-format on */

#undef OWD_ENTRY_ERROR
#undef OWD_ENTRY_STATUS
#undef OWD_ENTRY_FINDING
#undef OWD_ENTRY_QUANTITY_KIND
#undef OWD_ENTRY_PART
#undef OWD_ENTRY_BONDING_REMARK

/* What a reading says of the value. */
enum {
  OWD_EXACT = 0,
  OWD_ABOVE = 1,    /* the value is a lower bound: the display was over range */
  OWD_BELOW = 2,    /* the value is an upper bound */
  OWD_OVERLOAD = 3, /* over range, no bound known */
};

/* What a log counts time by. */
enum {
  OWD_TIME_SECOND = 0,           /* time_second */
  OWD_TIME_TICK_MILLISECOND = 1, /* tick_millisecond, which may wrap */
};

/* Bits of a sample's flags. */
enum {
  OWD_OVER_RANGE = 1,        /* the value is its bound; NaN: no bound known */
  OWD_UNDER_RANGE = 2,       /* the value is its upper bound */
  OWD_RANGE_CHANGED = 4,     /* another range of the meter from this sample on */
  OWD_POLARITY_REVERSED = 8, /* bonding only */
};

/* Bits of what became of a sample of an insulation test. */
enum {
  OWD_MARK_MISSING = 1,
  OWD_MARK_IMPOSSIBLE = 2,
  OWD_MARK_TIME_NOT_RISING = 4,
  OWD_MARK_OVER_RANGE = 8,
  OWD_MARK_AFTER_GAP = 16,
  OWD_MARK_SAGGING = 32,
  OWD_MARK_SLIP = 64,
  OWD_MARK_JUMP = 128,
  OWD_MARK_RANGE_CHANGE = 256,
};

/* How a saved log goes on. */
enum {
  OWD_RESUME_CONTINUED = 0, /* nothing was lost: voltage and clock went on */
  OWD_RESUME_CUT = 1,       /* power was lost: what was learnt stays and says so */
};

/* Where an insulation test stands. */
enum {
  OWD_SETTLING_UNKNOWN = 0,
  OWD_SETTLING_CHARGING = 1,  /* the tester still charges the capacitance */
  OWD_SETTLING_ABSORBING = 2, /* the resistance still rises with time */
  OWD_SETTLING_SETTLED = 3,   /* it changes by less than the meter can show */
  OWD_SETTLING_NOTHING_MORE_TO_LEARN = 4,
};

/* What shows that the leads touch the part. */
enum {
  OWD_CONTACT_NOT_SHOWN = 0,
  OWD_CONTACT_BY_READING = 1,
  OWD_CONTACT_BY_CHARGING = 5,
};

/* Where a battery stands. */
enum {
  OWD_RESTING_UNKNOWN = 0,
  OWD_RESTING_MOVING = 1,
  OWD_RESTING_AT_REST = 2,
};

/* Bits of the remarks on a discharge. */
enum {
  OWD_DECAY_STUCK = 0,           /* no decay shown, and the last reading may still reach the threshold */
  OWD_DECAY_SLOWS_DOWN = 1,      /* second slope: another capacitor or path feeds it */
  OWD_DECAY_SPEEDS_UP = 2,       /* a tester of low input resistance, or active discharge, joined in */
  OWD_DECAY_BELOW_THRESHOLD = 3, /* the last reading lies below the threshold with its uncertainty */
  OWD_DECAY_SOME_IN_NOISE = 4,   /* readings within 3 u of zero were left out */
};

/* On which scale values are compared and carry their uncertainty: that of ln(value) on the log scale. */
enum { OWD_SCALE_LINEAR = 0, OWD_SCALE_LOG = 1 };

/* What the figures of an accuracy sheet mean. */
enum {
  OWD_SHEET_BOUND = 0, /* a bound without a density */
  OWD_SHEET_K = 1,     /* an expanded uncertainty with its coverage factor */
  OWD_SHEET_LEVEL = 2, /* one with its level of confidence */
};

/* How a resistance depends on temperature. */
enum {
  OWD_LAW_NONE = 0,          /* no law holds: converters, chargers, whole systems */
  OWD_LAW_HALVING = 1,       /* constant: step [K] */
  OWD_LAW_THERMOSETTING = 2, /* constants of IEEE Std 43-2013, which are from memory; no constant */
  OWD_LAW_ARRHENIUS = 3,     /* constant: activation energy [eV] */
  OWD_LAW_CONDUCTOR = 5,     /* constant: tau [K]; copper 234.5 */
};

/* How measurement uncertainty enters a decision. */
enum { OWD_RULE_SIMPLE = 0, OWD_RULE_GUARDED = 1 };

/* Statement about a reading and its limit. */
enum {
  OWD_VERDICT_NONE = 0,
  OWD_VERDICT_PASS = 1,
  OWD_VERDICT_CONDITIONAL_PASS = 2,
  OWD_VERDICT_CONDITIONAL_FAIL = 3,
  OWD_VERDICT_FAIL = 4,
  OWD_VERDICT_UNDETERMINED = 5,
};

/* What would settle an undetermined verdict. */
enum {
  OWD_UNDECIDED_NO = 0,
  OWD_UNDECIDED_ONE_MORE_READING = 1,
  OWD_UNDECIDED_BETTER_METER = 2,
  OWD_UNDECIDED_NOT_DECIDABLE = 3,
  OWD_UNDECIDED_MISSING_CONTEXT = 4,
};

/* Why a verdict came out as it did. */
enum {
  OWD_REASON_COMPARED = 0,
  OWD_REASON_BOUND_MEETS_LIMIT = 1,
  OWD_REASON_BOUND_MISSES_LIMIT = 2,
  OWD_REASON_BOUND_LEAVES_OPEN = 3,
  OWD_REASON_NO_VALUE = 4,
  OWD_REASON_UNCERTAINTY_UNKNOWN = 5,
  OWD_REASON_NO_LIMIT = 6,
  OWD_REASON_UNKNOWN_CEILING = 7,
};

#endif
