#include "ohmward/logging/bonding_log.hpp"

#include "c/embedded/handle.hpp"

namespace ohmward::c {
namespace {

using logging::BondingConfig, logging::BondingLog, logging::Fault;

BondingConfig from_c(const owd_bonding_log_config& c) noexcept {
  return {.standard_uncertainty_ohm = c.standard_uncertainty_ohm,
          .null_standard_uncertainty_ohm = c.null_standard_uncertainty_ohm,
          .gain_relative_standard_uncertainty = c.gain_relative_standard_uncertainty,
          .settings = {.least_test_ampere = c.least_test_ampere,
                       .null_low_ohm = c.null_low_ohm,
                       .null_high_ohm = c.null_high_ohm,
                       .greatest_age_second = c.greatest_age_second,
                       .polarity_factor = c.polarity_factor},
          .time_base = static_cast<logging::TimeBase>(c.time_base),
          .four_wire = c.four_wire != 0,
          .null_subtracted = c.null_subtracted != 0};
}
Fault fault_of(const owd_bonding_log_config& c) noexcept {
  if (const Fault fault = switch_fault("four_wire", c.four_wire)) return fault;
  if (const Fault fault = switch_fault("null_subtracted", c.null_subtracted)) return fault;
  return logging::check(from_c(c));
}
void start(BondingLog& log, const owd_bonding_log_config& c) noexcept {
  static_cast<void>(log.init(from_c(c), c.start_tick_millisecond));
}

logging::JointSample from_c(const owd_joint_sample& s) noexcept {
  return {.time_second = s.time_second,
          .tick_millisecond = s.tick_millisecond,
          .resistance_ohm = s.resistance_ohm,
          .test_ampere = s.test_ampere,
          .flags = s.flags};
}

}  // namespace

template <>
struct Holds<owd_bonding_log> {
  using Object = BondingLog;
  static constexpr std::uint64_t tag = tag_of(logging::RecordKind::bonding);
};

}  // namespace ohmward::c

using namespace ohmward::c;

owd_error owd_bonding_log_init(owd_bonding_log* log, size_t size, const owd_bonding_log_config* config) {
  return init(log, size, config, fault_of, start);
}

owd_error owd_bonding_log_check(const owd_bonding_log_config* config, owd_fault* fault) {
  return check(config, fault, fault_of);
}

owd_error owd_bonding_log_reset(owd_bonding_log* log, uint32_t start_tick_millisecond) {
  return act(log, [=](BondingLog& of) { of.reset(start_tick_millisecond); });
}

owd_error owd_bonding_log_forget_null(owd_bonding_log* log) {
  return act(log, [](BondingLog& of) { of.forget_null(); });
}

owd_error owd_bonding_log_next_joint(owd_bonding_log* log) {
  return act(log, [](BondingLog& of) { of.next_joint(); });
}

owd_error owd_bonding_log_push_null(owd_bonding_log* log, const owd_joint_sample* sample, owd_status* status) {
  return push(log, sample, status, [](BondingLog& of, const owd_joint_sample& s) { return of.push_null(from_c(s)); });
}

owd_error owd_bonding_log_push(owd_bonding_log* log, const owd_joint_sample* sample, owd_status* status) {
  return push(log, sample, status, [](BondingLog& of, const owd_joint_sample& s) { return of.push(from_c(s)); });
}

owd_error owd_bonding_log_joint(const owd_bonding_log* log, owd_joint* joint) {
  return read(log, joint, [](const BondingLog& of) {
    const ohmward::formula::JointState s = of.joint();
    return owd_joint{.resistance_ohm = s.resistance_ohm,
                     .standard_uncertainty_ohm = ohmward::formula::joint_standard_uncertainty_ohm(s),
                     .reading_standard_uncertainty_ohm = s.reading_standard_uncertainty_ohm,
                     .null_standard_uncertainty_ohm = s.null_standard_uncertainty_ohm,
                     .gain_standard_uncertainty_ohm = s.gain_standard_uncertainty_ohm,
                     .remarks = s.remarks,
                     .status = number(s.status),
                     .censoring = number(s.censoring),
                     .null_missing = static_cast<std::uint8_t>(s.null_missing ? 1 : 0),
                     .current_too_low = static_cast<std::uint8_t>(s.current_too_low ? 1 : 0)};
  });
}

owd_error owd_bonding_log_counts(const owd_bonding_log* log, owd_counts* out) { return counts(log, out); }

owd_error owd_bonding_log_save(const owd_bonding_log* log, uint8_t* record, size_t size, size_t* written) {
  return save(log, record, size, written);
}

owd_error owd_bonding_log_resume(owd_bonding_log* log, size_t log_size, const uint8_t* record, size_t size, uint8_t how,
                                 uint32_t start_tick_millisecond, owd_status* status) {
  return resume(log, log_size, record, how, status, [=](BondingLog& of, ohmward::logging::Resume as) {
    return of.resume(record, size, as, start_tick_millisecond);
  });
}
