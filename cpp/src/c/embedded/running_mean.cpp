#include "ohmward/logging/running_mean.hpp"

#include "c/embedded/handle.hpp"

namespace ohmward::c {
namespace {

using logging::Fault, logging::RunningMean, logging::RunningMeanConfig;

RunningMeanConfig from_c(const owd_running_mean_config& c) noexcept { return {.display_step = c.display_step}; }
Fault fault_of(const owd_running_mean_config& c) noexcept { return logging::check(from_c(c)); }
void start(RunningMean& mean, const owd_running_mean_config& c) noexcept { static_cast<void>(mean.init(from_c(c))); }

}  // namespace

template <>
struct Holds<owd_running_mean> {
  using Object = RunningMean;
  static constexpr std::uint64_t tag = tag_of(logging::RecordKind::running_mean);
};

}  // namespace ohmward::c

using namespace ohmward::c;

owd_error owd_running_mean_init(owd_running_mean* mean, size_t size, const owd_running_mean_config* config) {
  return init(mean, size, config, fault_of, start);
}

owd_error owd_running_mean_check(const owd_running_mean_config* config, owd_fault* fault) {
  return check(config, fault, fault_of);
}

owd_error owd_running_mean_reset(owd_running_mean* mean) {
  return act(mean, [](RunningMean& of) { of.reset(); });
}

owd_error owd_running_mean_push(owd_running_mean* mean, double value, owd_status* status) {
  return push(mean, &value, status, [](RunningMean& of, double x) { return of.push(x); });
}

owd_error owd_running_mean_merge(owd_running_mean* mean, const owd_running_mean* other, owd_status* status) {
  if (const owd_error error = known(other); error != OWD_OK) return error;
  return push(mean, &object(other), status, [](RunningMean& of, const RunningMean& with) { return of.merge(with); });
}

owd_error owd_running_mean_state(const owd_running_mean* mean, owd_mean* state) {
  return read(mean, state, [](const RunningMean& of) {
    const ohmward::numerics::MeanEstimate s = of.state();
    return owd_mean{.mean = s.mean,
                    .standard_deviation = s.standard_deviation,
                    .standard_uncertainty = s.standard_uncertainty,
                    .degrees_of_freedom = s.degrees_of_freedom,
                    .readings = of.readings(),
                    .status = number(s.status),
                    .reserved = {}};
  });
}

owd_error owd_running_mean_counts(const owd_running_mean* mean, owd_counts* out) { return counts(mean, out); }

owd_error owd_running_mean_save(const owd_running_mean* mean, uint8_t* record, size_t size, size_t* written) {
  return save(mean, record, size, written);
}

owd_error owd_running_mean_resume(owd_running_mean* mean, size_t mean_size, const uint8_t* record, size_t size,
                                  uint8_t how, owd_status* status) {
  return resume(mean, mean_size, record, how, status,
                [=](RunningMean& of, ohmward::logging::Resume as) { return of.resume(record, size, as); });
}
