#include "ohmward/logging/absorption_log.hpp"

#include "c/embedded/handle.hpp"
#include "c/embedded/self_test.hpp"

namespace ohmward::c {
namespace {

using logging::AbsorptionConfig, logging::AbsorptionLog, logging::Fault;

/// The curves with the grid that they are made on.
struct Library {
  logging::ForecastLibrary curves = {};
  formula::ForecastGrid grid = {};
  formula::ForecastTarget target = {};
};

AbsorptionConfig from_c(const owd_absorption_log_config& c) noexcept {
  return {.test_voltage_volt = c.test_voltage_volt,
          .early_second = c.early_second,
          .late_second = c.late_second,
          .source_ampere = c.source_ampere,
          .relative_standard_uncertainty = c.relative_standard_uncertainty,
          .gain_relative_standard_uncertainty = c.gain_relative_standard_uncertainty,
          .capacitance_farad = c.capacitance_farad,
          .least_visible_change = c.least_visible_change,
          .loss_factor = c.loss_factor,
          .drift_kelvin = c.drift_kelvin,
          .current_per_kelvin = c.current_per_kelvin,
          .time_base = static_cast<logging::TimeBase>(c.time_base),
          .forecast = c.forecast != 0};
}
Fault fault_of(const owd_absorption_log_config& c) noexcept {
  if (const Fault fault = switch_fault("forecast", c.forecast)) return fault;
  return logging::check(from_c(c));
}
void start(AbsorptionLog& log, const owd_absorption_log_config& c) noexcept {
  static_cast<void>(log.init(from_c(c), c.start_tick_millisecond));
}

logging::Sample from_c(const owd_sample& s) noexcept {
  return {.time_second = s.time_second,
          .tick_millisecond = s.tick_millisecond,
          .applied_volt = s.applied_volt,
          .current_ampere = s.current_ampere,
          .resistance_ohm = s.resistance_ohm,
          .flags = s.flags};
}

owd_spot to_c(const logging::RunSpot& s, double second) noexcept {
  return {
      .value = s.value, .second = second, .status = number(s.status), .censoring = number(s.censoring), .reserved = {}};
}

owd_forecast to_c(const formula::Forecast& f) noexcept {
  owd_forecast out{.value = f.value,
                   .low = f.low,
                   .high = f.high,
                   .noise = f.noise,
                   .kernel_width = f.kernel_width,
                   .least_distance = f.least_distance,
                   .steepening = f.steepening,
                   .mechanism = {},
                   .status = number(f.status),
                   .reserved = {}};
  static_assert(sizeof out.mechanism / sizeof out.mechanism[0] == formula::forecast_mechanisms);
  for (int i = 0; i < formula::forecast_mechanisms; ++i) out.mechanism[i] = f.mechanism[i];
  return out;
}

}  // namespace

template <>
struct Holds<owd_absorption_log> {
  using Object = AbsorptionLog;
  static constexpr std::uint64_t tag = tag_of(logging::RecordKind::absorption);
};
template <>
struct Holds<owd_forecast_library> {
  using Object = Library;
  static constexpr std::uint64_t tag = tag_of(logging::RecordKind{0x40});
};

void self_test::add_curves(Sum& sum, const owd_absorption_log& log, formula::ForecastGrid& grid) noexcept {
  const AbsorptionLog& of = object(&log);
  of.forecast_grid(grid);
  for (std::int32_t k = 0; k < logging::ForecastLibrary::curves; k += 512) {
    const formula::ForecastCurve curve = formula::forecast_curve(k, grid, of.forecast_target());
    for (const float feature : curve.feature) sum.add(static_cast<double>(feature));
    sum.add(static_cast<double>(curve.log_ratio));
  }
}

static_assert(sizeof(logging::ForecastMemory) <= sizeof(owd_forecast_memory));
static_assert(alignof(logging::ForecastMemory) <= alignof(owd_forecast_memory));

}  // namespace ohmward::c

using namespace ohmward::c;

owd_error owd_absorption_log_init(owd_absorption_log* log, size_t size, const owd_absorption_log_config* config) {
  return init(log, size, config, fault_of, start);
}

owd_error owd_absorption_log_check(const owd_absorption_log_config* config, owd_fault* fault) {
  return check(config, fault, fault_of);
}

owd_error owd_absorption_log_reset(owd_absorption_log* log, uint32_t start_tick_millisecond) {
  return act(log, [=](AbsorptionLog& of) { of.reset(start_tick_millisecond); });
}

owd_error owd_absorption_log_push(owd_absorption_log* log, const owd_sample* sample, owd_status* status) {
  return push(log, sample, status, [](AbsorptionLog& of, const owd_sample& s) { return of.push(from_c(s)); });
}

owd_error owd_absorption_log_marks(const owd_absorption_log* log, uint16_t* marks) {
  return read(log, marks, [](const AbsorptionLog& of) { return of.marks(); });
}

owd_error owd_absorption_log_ratio(const owd_absorption_log* log, owd_ratio* ratio) {
  return read(log, ratio, [](const AbsorptionLog& of) {
    const ohmward::logging::RunRatio r = of.ratio();
    return owd_ratio{.value = r.value,
                     .relative_standard_uncertainty = r.relative_standard_uncertainty,
                     .status = number(r.status),
                     .censoring = number(r.censoring),
                     .reserved = {}};
  });
}

owd_error owd_absorption_log_early(const owd_absorption_log* log, owd_spot* spot) {
  return read(log, spot, [](const AbsorptionLog& of) { return to_c(of.early(), of.config().early_second); });
}

owd_error owd_absorption_log_late(const owd_absorption_log* log, owd_spot* spot) {
  return read(log, spot, [](const AbsorptionLog& of) { return to_c(of.late(), of.config().late_second); });
}

owd_error owd_absorption_log_latest(const owd_absorption_log* log, owd_spot* spot) {
  return read(log, spot, [](const AbsorptionLog& of) { return to_c(of.latest(), of.latest_second()); });
}

owd_error owd_absorption_log_settling(const owd_absorption_log* log, owd_settling* settling) {
  return read(log, settling, [](const AbsorptionLog& of) {
    const ohmward::formula::SettlingState s = of.settling();
    return owd_settling{.slope = s.slope,
                        .slope_standard_uncertainty = s.slope_standard_uncertainty,
                        .charging_until_second = s.charging_until_second,
                        .absorption_until_second = s.absorption_until_second,
                        .may_stop_second = s.may_stop_second,
                        .status = number(s.status),
                        .state = static_cast<std::int8_t>(s.state),
                        .reserved = {}};
  });
}

owd_error owd_absorption_log_charging(const owd_absorption_log* log, owd_charging* charging) {
  return read(log, charging, [](const AbsorptionLog& of) {
    const ohmward::formula::ChargingState s = of.charging();
    return owd_charging{.capacitance_farad = s.capacitance_farad,
                        .low_farad = s.low_farad,
                        .high_farad = s.high_farad,
                        .reached_second = s.reached_second,
                        .readings = s.readings,
                        .status = number(s.status),
                        .reserved = {}};
  });
}

owd_error owd_absorption_log_contact(const owd_absorption_log* log, int8_t* contact) {
  return read(log, contact, [](const AbsorptionLog& of) { return static_cast<std::int8_t>(of.contact()); });
}

owd_error owd_absorption_log_forecast(const owd_absorption_log* log, double level, owd_forecast_memory* memory,
                                      size_t memory_size, const owd_forecast_library* library, owd_forecast* forecast) {
  if (memory == nullptr) return OWD_ERROR_NULL;
  if (memory_size < sizeof *memory) return OWD_ERROR_SIZE;
  if (library != nullptr) {
    if (const owd_error error = known(library); error != OWD_OK) return error;
  }
  return read(log, forecast, [=](const AbsorptionLog& of) {
    auto& lent = *new (Place{memory}) ohmward::logging::ForecastMemory;
    return to_c(of.forecast(level, lent, library != nullptr ? &object(library).curves : nullptr));
  });
}

owd_error owd_forecast_library_begin(owd_forecast_library* library, size_t size, const owd_absorption_log* log) {
  if (const owd_error error = known(log); error != OWD_OK) return error;
  if (const owd_error error = place(library, size); error != OWD_OK) return error;
  Library& of = object(library);
  of.target = object(log).forecast_target();
  object(log).begin_library(of.curves, of.grid);
  return OWD_OK;
}

owd_error owd_forecast_library_fill(owd_forecast_library* library, uint32_t curves, uint8_t* more) {
  if (more == nullptr) return OWD_ERROR_NULL;
  return act(library, [=](Library& of) {
    const uint32_t most = ohmward::logging::ForecastLibrary::curves;
    const auto count = static_cast<std::int32_t>(curves < most ? curves : most);
    *more = of.curves.fill(of.grid, of.target, count) ? 1 : 0;
  });
}

owd_error owd_absorption_log_counts(const owd_absorption_log* log, owd_counts* out) { return counts(log, out); }

owd_error owd_absorption_log_save(const owd_absorption_log* log, uint8_t* record, size_t size, size_t* written) {
  return save(log, record, size, written);
}

owd_error owd_absorption_log_resume(owd_absorption_log* log, size_t log_size, const uint8_t* record, size_t size,
                                    uint8_t how, uint32_t, owd_status* status) {
  return resume(log, log_size, record, how, status,
                [=](AbsorptionLog& of, ohmward::logging::Resume as) { return of.resume(record, size, as); });
}
