#include "ohmward/logging/resting_voltage_log.hpp"

#include "c/embedded/handle.hpp"
#include "c/embedded/voltage_sample.hpp"

namespace ohmward::c {
namespace {

using logging::Fault, logging::RestingVoltageConfig, logging::RestingVoltageLog;

RestingVoltageConfig from_c(const owd_resting_voltage_log_config& c) noexcept {
  return {.cells = c.cells,
          .standard_uncertainty_volt = c.standard_uncertainty_volt,
          .tolerance_cell_volt = c.tolerance_cell_volt,
          .time_base = static_cast<logging::TimeBase>(c.time_base)};
}
Fault fault_of(const owd_resting_voltage_log_config& c) noexcept { return logging::check(from_c(c)); }
void start(RestingVoltageLog& log, const owd_resting_voltage_log_config& c) noexcept {
  static_cast<void>(log.init(from_c(c), c.start_tick_millisecond));
}

}  // namespace

template <>
struct Holds<owd_resting_voltage_log> {
  using Object = RestingVoltageLog;
  static constexpr std::uint64_t tag = tag_of(logging::RecordKind::resting_voltage);
};

}  // namespace ohmward::c

using namespace ohmward::c;

owd_error owd_resting_voltage_log_init(owd_resting_voltage_log* log, size_t size,
                                       const owd_resting_voltage_log_config* config) {
  return init(log, size, config, fault_of, start);
}

owd_error owd_resting_voltage_log_check(const owd_resting_voltage_log_config* config, owd_fault* fault) {
  return check(config, fault, fault_of);
}

owd_error owd_resting_voltage_log_reset(owd_resting_voltage_log* log, uint32_t start_tick_millisecond) {
  return act(log, [=](RestingVoltageLog& of) { of.reset(start_tick_millisecond); });
}

owd_error owd_resting_voltage_log_push(owd_resting_voltage_log* log, const owd_voltage_sample* sample,
                                       owd_status* status) {
  return push(log, sample, status,
              [](RestingVoltageLog& of, const owd_voltage_sample& s) { return of.push(from_c(s)); });
}

owd_error owd_resting_voltage_log_state(const owd_resting_voltage_log* log, owd_resting* state) {
  return read(log, state, [](const RestingVoltageLog& of) {
    const ohmward::formula::RestingState s = of.state();
    return owd_resting{.voltage_volt = s.voltage_volt,
                       .standard_uncertainty_volt = s.standard_uncertainty_volt,
                       .slope_volt_per_hour = s.slope_volt_per_hour,
                       .slope_standard_uncertainty_volt_per_hour = s.slope_standard_uncertainty_volt_per_hour,
                       .change_volt = s.change_volt,
                       .rest_second = s.rest_second,
                       .status = number(s.status),
                       .state = static_cast<std::int8_t>(s.state),
                       .reserved = {}};
  });
}

owd_error owd_resting_voltage_log_counts(const owd_resting_voltage_log* log, owd_counts* out) {
  return counts(log, out);
}

owd_error owd_resting_voltage_log_save(const owd_resting_voltage_log* log, uint8_t* record, size_t size,
                                       size_t* written) {
  return save(log, record, size, written);
}

owd_error owd_resting_voltage_log_resume(owd_resting_voltage_log* log, size_t log_size, const uint8_t* record,
                                         size_t size, uint8_t how, uint32_t, owd_status* status) {
  return resume(log, log_size, record, how, status,
                [=](RestingVoltageLog& of, ohmward::logging::Resume as) { return of.resume(record, size, as); });
}
