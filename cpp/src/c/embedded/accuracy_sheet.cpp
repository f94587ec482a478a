#include "ohmward/logging/accuracy_sheet.hpp"

#include "c/embedded/handle.hpp"

namespace ohmward::c {
namespace {

using logging::AccuracyAt, logging::AccuracyLine, logging::AccuracySheet, logging::Fault;

// The table stays where it is, in read-only memory: both languages must see the same lines.
static_assert(sizeof(owd_accuracy_line) == sizeof(AccuracyLine));
static_assert(alignof(owd_accuracy_line) == alignof(AccuracyLine));
#define OHMWARD_SAME_PLACE(field) static_assert(offsetof(owd_accuracy_line, field) == offsetof(AccuracyLine, field))
OHMWARD_SAME_PLACE(low);
OHMWARD_SAME_PLACE(high);
OHMWARD_SAME_PLACE(display_step);
OHMWARD_SAME_PLACE(reading_percent);
OHMWARD_SAME_PLACE(counts);
OHMWARD_SAME_PLACE(range_percent);
OHMWARD_SAME_PLACE(gain_share);
#undef OHMWARD_SAME_PLACE

AccuracySheet from_c(const owd_accuracy_sheet& s) noexcept {
  return {.lines = reinterpret_cast<const AccuracyLine*>(s.lines),
          .test_voltages_volt = s.test_voltages_volt,
          .ranges = s.ranges,
          .voltages = s.voltages,
          .log_scale = s.log_scale != 0,
          .divisor = s.divisor};
}
Fault fault_of(const owd_accuracy_sheet& s) noexcept {
  if (const Fault fault = switch_fault("log_scale", s.log_scale)) return fault;
  return logging::check(from_c(s));
}

owd_accuracy to_c(const AccuracyAt& at) noexcept {
  return {.standard_uncertainty = at.standard_uncertainty,
          .gain = at.gain,
          .reading = at.reading,
          .status = number(at.status),
          .reserved = {}};
}

}  // namespace
}  // namespace ohmward::c

using namespace ohmward::c;

owd_error owd_accuracy_sheet_check(const owd_accuracy_sheet* sheet, owd_fault* fault) {
  return check(sheet, fault, fault_of);
}

owd_error owd_accuracy_sheet_at(const owd_accuracy_sheet* sheet, uint16_t range, uint16_t voltage, double reading,
                                double decision_value, owd_accuracy* accuracy) {
  if (accuracy == nullptr) return OWD_ERROR_NULL;
  if (const owd_error error = readable(sheet); error != OWD_OK) return error;
  *accuracy = to_c(from_c(*sheet).at({.range = range, .voltage = voltage}, reading, decision_value));
  return OWD_OK;
}

owd_error owd_accuracy_sheet_find(const owd_accuracy_sheet* sheet, double test_voltage_volt, double reading,
                                  double decision_value, owd_accuracy* accuracy) {
  if (accuracy == nullptr) return OWD_ERROR_NULL;
  if (const owd_error error = readable(sheet); error != OWD_OK) return error;
  *accuracy = to_c(from_c(*sheet).find(test_voltage_volt, reading, decision_value));
  return OWD_OK;
}

owd_error owd_accuracy_sheet_ceiling(const owd_accuracy_sheet* sheet, double test_voltage_volt, double* ceiling) {
  if (ceiling == nullptr) return OWD_ERROR_NULL;
  if (const owd_error error = readable(sheet); error != OWD_OK) return error;
  *ceiling = from_c(*sheet).ceiling(test_voltage_volt);
  return OWD_OK;
}
