#pragma once

namespace ohmward::screening {

/// What counts as suspicious. All figures are trade judgement unless a line says otherwise, never limits, and every one
/// may be changed. A decade is a factor of ten.
/// Source: `screening-practice`.
struct Settings {
  // Unit slips: a mixture of sound readings, readings off for other reasons, and slips.
  double slip_probability = 0.05;   ///< least probability of a slip that is marked: a look costs less than a miss
  double slip_share = 0.004;        ///< share of readings written in a unit 1000 times too large or too small
  double outlier_share = 0.0002;    ///< share of readings that are off for another reason, anywhere
  double outlier_span_decade = 12;  ///< over how many decades those spread
  double own_spread_decade = 0.15;  ///< least standard deviation of a point about its own history
  double kind_spread_decade = 0.6;  ///< standard deviation of a kind of part where the rows do not tell it
  double tail_share = 0.1;          ///< of readings with own history that spread more widely
  double tail_decade = 0.6;         ///< with this standard deviation: warm, damp, half of it unplugged
  double agreeing_decade = 0.5;     ///< a visit before or after this close: both are as they are written
  double agreeing_day = 120;        ///< and not further away in time

  // Copied vectors: evidence in bits, beyond what the number of comparisons explains.
  double copy_margin_bit = 10;  ///< one chance match in 1000 jobs
  double copy_fidelity = 0.98;  ///< share of the fields of a copied job that are equal

  // A monitor that was left on.
  double monitor_warm_celsius = 35;  ///< a part that warm explains a low reading by itself
  double monitor_low_ohm = 0.45e6;
  double monitor_high_ohm = 1.3e6;
  double monitor_ohm = 1.2e6;           ///< where the rows do not tell it
  double monitor_fit_decade = 0.08;     ///< about what own history and monitor in parallel give
  double monitor_drop_decade = 0.3;     ///< below the own history, or the type
  double monitor_spread_decade = 0.12;  ///< largest spread of an object that is always measured with it

  // Sessions of a low-ohm meter and of an insulation tester.
  double null_raised_ohm = 0.03;    ///< all readings of a session above their points' usual values
  double null_lowered_ohm = 0.018;  ///< the same, below, half of them negative
  double negative_ohm = 0.025;      ///< a reading at or below minus this

  // The whole against its parts and its history.
  double open_jump_decade = 1.0;  ///< above own history
  double whole_above_part = 3.0;  ///< factor above a part that it contains
  double clip_rows = 4;           ///< over-range readings of wholes in one session that show no contact together

  double class_bound = 0.30;    ///< allowed deviation of a meter without a sheet. Source: `iec-61557`.
  double settling_ratio = 1.2;  ///< second reading over first of one point that was read before it settled
  double settling_second = 5;   ///< beyond the time to charge the part's capacitance

  // Like against like.
  double unlike_deviations = 4.5;         ///< robust standard deviations of a single reading
  double unlike_object_deviations = 3.5;  ///< of an object's median. Source: `iglewicz-hoaglin`.
  double joint_jump_ohm = 0.05;           ///< of a joint above its own history
  double pair_drift_volt = 0.15;          ///< difference of a pair in three readings running
  double pair_jump_volt = 0.5;            ///< difference of a pair in one reading
  double unlike_part_decade = 0.3;        ///< least standard deviation between parts of a kind
  double unlike_battery_share = 0.008;    ///< least standard deviation between batteries, share of the voltage
  double low_battery_share = 0.016;       ///< the same of single readings
};

}  // namespace ohmward::screening
