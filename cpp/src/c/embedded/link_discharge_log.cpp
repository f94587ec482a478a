#include "ohmward/logging/link_discharge_log.hpp"

#include "c/embedded/handle.hpp"
#include "c/embedded/voltage_sample.hpp"

namespace ohmward::c {
namespace {

using logging::Fault, logging::LinkDischargeConfig, logging::LinkDischargeLog;

LinkDischargeConfig from_c(const owd_link_discharge_log_config& c) noexcept {
  return {.standard_uncertainty_volt = c.standard_uncertainty_volt,
          .threshold_volt = c.threshold_volt,
          .gain_relative_standard_uncertainty = c.gain_relative_standard_uncertainty,
          .coverage_factor = c.coverage_factor,
          .time_base = static_cast<logging::TimeBase>(c.time_base)};
}
Fault fault_of(const owd_link_discharge_log_config& c) noexcept { return logging::check(from_c(c)); }
void start(LinkDischargeLog& log, const owd_link_discharge_log_config& c) noexcept {
  static_cast<void>(log.init(from_c(c), c.start_tick_millisecond));
}

}  // namespace

template <>
struct Holds<owd_link_discharge_log> {
  using Object = LinkDischargeLog;
  static constexpr std::uint64_t tag = tag_of(logging::RecordKind::link_discharge);
};

}  // namespace ohmward::c

using namespace ohmward::c;

owd_error owd_link_discharge_log_init(owd_link_discharge_log* log, size_t size,
                                      const owd_link_discharge_log_config* config) {
  return init(log, size, config, fault_of, start);
}

owd_error owd_link_discharge_log_check(const owd_link_discharge_log_config* config, owd_fault* fault) {
  return check(config, fault, fault_of);
}

owd_error owd_link_discharge_log_reset(owd_link_discharge_log* log, uint32_t start_tick_millisecond) {
  return act(log, [=](LinkDischargeLog& of) { of.reset(start_tick_millisecond); });
}

owd_error owd_link_discharge_log_push(owd_link_discharge_log* log, const owd_voltage_sample* sample,
                                      owd_status* status) {
  return push(log, sample, status,
              [](LinkDischargeLog& of, const owd_voltage_sample& s) { return of.push(from_c(s)); });
}

owd_error owd_link_discharge_log_state(const owd_link_discharge_log* log, owd_decay* state) {
  return read(log, state, [](const LinkDischargeLog& of) {
    const ohmward::formula::DecayState s = of.state();
    return owd_decay{.initial_volt = s.initial_volt,
                     .time_constant_second = s.time_constant_second,
                     .time_constant_standard_uncertainty_second = s.time_constant_standard_uncertainty_second,
                     .threshold_second = s.threshold_second,
                     .threshold_low_second = s.threshold_low_second,
                     .threshold_high_second = s.threshold_high_second,
                     .chi_square = s.chi_square,
                     .degrees_of_freedom = s.degrees_of_freedom,
                     .remarks = s.remarks,
                     .status = number(s.status),
                     .reserved = {}};
  });
}

owd_error owd_link_discharge_log_counts(const owd_link_discharge_log* log, owd_counts* out) { return counts(log, out); }

owd_error owd_link_discharge_log_save(const owd_link_discharge_log* log, uint8_t* record, size_t size,
                                      size_t* written) {
  return save(log, record, size, written);
}

owd_error owd_link_discharge_log_resume(owd_link_discharge_log* log, size_t log_size, const uint8_t* record,
                                        size_t size, uint8_t how, uint32_t, owd_status* status) {
  return resume(log, log_size, record, how, status,
                [=](LinkDischargeLog& of, ohmward::logging::Resume as) { return of.resume(record, size, as); });
}
