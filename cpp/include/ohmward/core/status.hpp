#pragma once

#include <cstdint>

/// Every status: name, number, text. Numbers never change meaning; new ones are appended at their end.
/// The same table makes the C enum, the Python enum and the texts.
#define OHMWARD_STATUS_TABLE(entry) \
  entry(sound, 0, "sound") \
  entry(outside_fitted_range, 1, "outside the range that the law or curve was fitted for") \
  entry(bound_only, 2, "only a bound is known") \
  entry(few_points, 3, "rests on few points") \
  entry(assumed_input, 4, "an input was assumed, not measured") \
  entry(at_reduced_voltage, 5, "test voltage not reached") \
  entry(not_converged, 6, "iteration stopped early; the value is the best found") \
  entry(interval_scaled, 7, "interval scaled from another level") \
  entry(wide, 8, "the data can not know; the interval is wide") \
  entry(several_modes, 9, "several separate values are possible") \
  entry(drift_present, 10, "the readings drift") \
  entry(run_cut, 11, "power was lost during the run; what was known then") \
  entry(missing_input, -1, "an input is missing") \
  entry(out_of_domain, -2, "an input is impossible") \
  entry(no_law, -3, "no temperature law holds for this part") \
  entry(ambiguous_text, -4, "the text can be read in more than one way") \
  entry(unreadable_text, -5, "the text is no reading") \
  entry(unknown_bound, -6, "over-range without a known ceiling") \
  entry(too_few_points, -7, "too few points") \
  entry(outside_table, -8, "outside the table") \
  entry(inside_noise, -9, "inside the meter's noise") \
  entry(no_solution, -10, "no solution") \
  entry(outside_curve, -11, "outside the curve; no value") \
  entry(contradiction, -12, "inputs contradict each other") \
  entry(not_applicable, -13, "the quantity does not apply to this part") \
  entry(below_smallest, -14, "result below the smallest normal number") \
  entry(not_configured, -15, "the object was not set up") \
  entry(record_damaged, -16, "the saved record is damaged or of another kind")

namespace ohmward {

/// Outcome of one value. Zero is sound, positive is usable but doubtful, negative means that there is no value
/// and the result is NaN.
enum class Status : std::int8_t {
#define OHMWARD_STATUS_ENTRY(name, number, text) name = number,
  OHMWARD_STATUS_TABLE(OHMWARD_STATUS_ENTRY)
#undef OHMWARD_STATUS_ENTRY
};

[[nodiscard]] constexpr bool has_value(Status status) noexcept { return static_cast<std::int8_t>(status) >= 0; }

/// The worse of two: no value before doubtful before sound; of two of a kind the first.
[[nodiscard]] constexpr Status worse(Status first, Status second) noexcept {
  if (!has_value(first)) return first;
  if (!has_value(second)) return second;
  return first != Status::sound ? first : second;
}

/// English text of a status; an unknown number gives "unknown status".
[[nodiscard]] constexpr const char* text(Status status) noexcept {
  switch (status) {
#define OHMWARD_STATUS_ENTRY(name, number, text) \
  case Status::name: return text;
    OHMWARD_STATUS_TABLE(OHMWARD_STATUS_ENTRY)
#undef OHMWARD_STATUS_ENTRY
  }
  return "unknown status";
}

}  // namespace ohmward
